/* How fast is the valley scheme as a plain C loop: one sequence after another, month by month?
 *
 * Source: DEVELOPERS.md, The valley scheme. Owns the same state as the model, in doubles. Whatever
 * depends on the month of the water year alone comes in as a vector of twelve, July first.
 * Assumes checked inputs: every row number lies within the record, storages of the table ascend,
 * general-security shares are above 0. A limit that the plan leaves out is INFINITY.
 *
 * Units: ml is megalitre; 1 mm over 1 ha is 0.01 ML.
 */

#include <stdint.h>

#define DUST 1e-12 /* of the largest volume at hand: what rounding leaves in an emptied dam */

enum spill_rule { SPILL_NONE, SPILL_PROPORTIONAL, SPILL_RESET, SPILL_CARRIED_FIRST };

/* Mirrored field by field in c_loop.py. */
struct rules {
    double capacity_ml, dead_ml, dead_area_ha, delivery_loss_frac;
    double high_shares_ml, high_next_years_ml; /* all later years of the horizon together */
    double general_shares_ml, keep_ml_per_share, keep_above_ml_per_share;
    double trigger_ml, frozen_frac; /* trigger below 0: never restricted */
    double account_limit_ml_per_share, carryover_limit_ml_per_share, carryover_loss_frac;
    double use_limit_1yr_ml_per_share, use_limit_3yr_ml_per_share, cap_ml_per_share;
    double reset_ml_per_share;
    double opening_storage_ml, opening_account_ml_per_share, opening_carried_ml_per_share;
    double opening_announced_ml_per_share, opening_used_ml_per_share;
    double opening_used_last_year_ml_per_share, opening_used_year_before_ml_per_share;
    double opening_high_used_ml, opening_high_frac;
    int32_t loss_by_balance, spill_rule;
};

/* Vectors of twelve, July to June: sums over the horizon or reserve first, then the month alone. */
struct calendar {
    const double *assured_inflow_ml, *essential_reserve_ml, *river_loss_reserve_ml;
    const double *net_evaporation_reserve_mm, *base_flow_reserve_ml;
    const double *essential_ml, *river_loss_ml, *base_flow_ml;
    const double *high_pattern, *general_share_of_rest;
};

struct surface {
    const double *storage_ml, *area_ha;
    int64_t points;
};

/* One value per row of the record. */
struct record {
    const double *inflow_ml, *tributary_ml, *net_evaporation_mm;
};

/* Shape (sequences, seasons). */
struct seasons {
    double *announced_to_date_ml_per_share, *credited_ml_per_share, *high_security_allocation_frac;
    double *account_ml_per_share, *storage_end_ml;
};

static inline double least(double a, double b) { return a < b ? a : b; }
static inline double most(double a, double b) { return a > b ? a : b; }

static inline double surface_area_ha(const struct surface *table, double storage_ml)
{
    const double *s = table->storage_ml, *a = table->area_ha;
    if (storage_ml <= s[0])
        return a[0];
    for (int64_t i = 1; i < table->points; i++)
        if (storage_ml <= s[i])
            return a[i - 1] + (storage_ml - s[i - 1]) * (a[i] - a[i - 1]) / (s[i] - s[i - 1]);
    return a[table->points - 1];
}

/* rows has shape (sequences, months); k0 is the month of the water year that each run opens in. */
void valley_loop(const struct rules *r, const struct calendar *cal, const struct surface *table,
                 const struct record *rec, const int32_t *rows, int64_t sequences, int64_t months,
                 int64_t k0, const struct seasons *out)
{
    const double arrives = 1.0 - r->delivery_loss_frac;
    const int64_t seasons = (k0 + months + 11) / 12;

    for (int64_t i = 0; i < sequences; i++) {
        double storage = r->opening_storage_ml;
        double account = r->opening_account_ml_per_share;
        double carried = r->opening_carried_ml_per_share;
        double announced_to_date = r->opening_announced_ml_per_share;
        double used = r->opening_used_ml_per_share;
        double used_last_year = r->opening_used_last_year_ml_per_share;
        double used_year_before = r->opening_used_year_before_ml_per_share;
        double high_used = r->opening_high_used_ml;
        double high_frac = r->opening_high_frac;
        double frozen = 0.0, credited_in_season = 0.0;
        int restricted_before = 0;
        int64_t season = i * seasons;

        for (int64_t t = 0, k = k0; t < months; t++) {
            const int32_t row = rows[i * months + t];

            /* 1 July. */
            if (k == 0 && t > 0) {
                carried = least(account, r->carryover_limit_ml_per_share);
                carried -= carried * r->carryover_loss_frac;
                account = carried;
                used_year_before = used_last_year;
                used_last_year = used;
                announced_to_date = used = high_used = high_frac = 0.0;
            }

            /* Assessment. */
            const double area_ha = surface_area_ha(table, storage);
            const double resource = most(0.0, storage - r->dead_ml) + cal->assured_inflow_ml[k];
            const double first_claims = cal->essential_reserve_ml[k] + cal->river_loss_reserve_ml[k]
                + cal->net_evaporation_reserve_mm[k] * (area_ha + r->dead_area_ha) / 200.0
                + cal->base_flow_reserve_ml[k];
            const double need = r->high_shares_ml - high_used;
            if (r->high_shares_ml > 0.0) {
                const double can_meet = most(0.0, (resource - first_claims) * arrives);
                const double met_frac = (high_used + least(need, can_meet)) / r->high_shares_ml;
                high_frac = most(high_frac, least(1.0, met_frac));
            } else {
                high_frac = 1.0;
            }
            const double licences = need + r->high_next_years_ml + account * r->general_shares_ml;
            const double free = resource - first_claims - licences / arrives;
            const double can_announce = least(
                least(most(0.0, free) * arrives / r->general_shares_ml,
                      r->account_limit_ml_per_share),
                r->cap_ml_per_share - announced_to_date);
            const double announced = most(0.0, can_announce);
            announced_to_date += announced;
            const double credited =
                most(0.0, least(announced, r->account_limit_ml_per_share - account));
            account += credited;
            credited_in_season += credited;

            /* Access. */
            const int restricted = storage <= r->trigger_ml;
            if (!restricted)
                frozen = 0.0;
            else if (restricted_before)
                frozen = least(frozen, account);
            else
                frozen = r->frozen_frac * account;
            restricted_before = restricted;

            /* Orders. */
            const double high_order = most(0.0, least(r->high_shares_ml * cal->high_pattern[k],
                                                      high_frac * r->high_shares_ml - high_used));
            const double kept = least(r->keep_ml_per_share,
                                      most(0.0, account + used - r->keep_above_ml_per_share));
            const double wanted = most(0.0, account - kept) * cal->general_share_of_rest[k];
            const double in_reach = least(wanted, account - frozen);
            const double left_of_year = r->use_limit_1yr_ml_per_share - used;
            const double left_of_3yr =
                r->use_limit_3yr_ml_per_share - used - used_last_year - used_year_before;
            const double general_order = r->general_shares_ml
                * most(0.0, least(in_reach, least(left_of_year, left_of_3yr)));

            /* The dam. */
            const double evaporation = rec->net_evaporation_mm[row] * area_ha / 100.0;
            const double filled = most(0.0, storage + rec->inflow_ml[row] - evaporation);
            double water = most(0.0, filled - r->dead_ml);
            const double top = water;
            double tributary = rec->tributary_ml[row];

            water -= least(water, cal->essential_ml[k]);
            const double river_loss = most(0.0, cal->river_loss_ml[k] - tributary);
            tributary = most(0.0, tributary - cal->river_loss_ml[k]);
            water -= least(water, river_loss);
            water -= least(water, most(0.0, cal->base_flow_ml[k] - tributary));
            const double high_release = least(water, high_order / arrives);
            water -= high_release;
            const double general_release = least(water, general_order / arrives);
            water -= general_release;

            double after_release = filled - (top - water);
            if (after_release < DUST * most(most(r->capacity_ml, storage + rec->inflow_ml[row]),
                                            filled))
                after_release = 0.0;
            const double spill = most(0.0, after_release - r->capacity_ml);
            const double storage_start = storage;
            storage = after_release - spill;

            /* Accounts after. */
            const double used_now = general_release * arrives / r->general_shares_ml;
            account -= used_now;
            carried = most(0.0, carried - used_now);
            used += used_now;
            high_used += high_release * arrives;
            if (r->loss_by_balance && storage_start > 0.0) {
                const double kept = 1.0 - least(1.0, most(0.0, evaporation) / storage_start);
                account *= kept;
                carried *= kept;
            }
            if (spill > 0.0) {
                if (r->spill_rule == SPILL_PROPORTIONAL) {
                    account -= account * least(1.0, spill / r->capacity_ml);
                } else if (r->spill_rule == SPILL_RESET) {
                    account = least(account, r->reset_ml_per_share);
                } else if (r->spill_rule == SPILL_CARRIED_FIRST) {
                    const double lost = least(carried, spill * arrives / r->general_shares_ml);
                    account -= lost;
                    carried -= lost;
                }
            }
            carried = least(carried, account);

            /* The season ends in June, or with the run. */
            if (k == 11 || t == months - 1) {
                out->announced_to_date_ml_per_share[season] = announced_to_date;
                out->credited_ml_per_share[season] = credited_in_season;
                out->high_security_allocation_frac[season] = high_frac;
                out->account_ml_per_share[season] = account;
                out->storage_end_ml[season] = storage;
                credited_in_season = 0.0;
                season++;
            }
            k = k == 11 ? 0 : k + 1;
        }
    }
}
