"""What do a season's results come to: margins, debt, cover, equity?

Worked out from what each season brought; all (strategy, sequence, season). A measure with nothing
to divide by is not a number, and is shown blank. The formulas of lender measures are in `finance`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from model.farm.by_layout import name_of
from model.farm.finance import (
    debt_service_cover,
    equity_frac,
    interest_cover,
    loan_to_value_frac,
    ratio,
    repayment_capacity_aud,
    term_debt_cover,
)
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.farm.sow import SetBy
from model.farm.state import BoolArray
from model.outlook.lazy import LazyResults
from model.plan.money import District
from model.record.record import FloatArray
from model.sequences.draw import Calendar

WATER_SHORT_FRAC = 0.01
"""A crop that lacked less than this part of its water did not run short."""

NO_LAND_HA = 1e-9
"""An area at or below this is none: rounding, not land."""


def measures_of(results: FarmResults, rules: FarmRules, calendar: Calendar) -> FarmResults:
    """Add to what each season brought what it comes to.

    Parameters
    ----------
    results
        What each season brought.
    rules, calendar
        Of the farm and the run.
    """
    found = _margins(results) | _debts(results, rules, calendar)
    if rules.district is not None:
        found |= _in_district(results, rules.district, rules, calendar)
    cash_aud = results["closing_cash_aud"] - results["arrears_aud"]
    past_aud = results["lowest_cash_aud"] + rules.cash.overdraft_limit_aud
    found["past_limit_aud"] = np.maximum(0.0, -past_aud)
    found["worth_left_aud"] = results["standing_aud"] - cash_aud
    names = (*results.values, *found)
    return FarmResults(
        LazyResults(names, lambda name: found[name] if name in found else results[name])
    )


def of_layout(results: FarmResults, column: str, at: int) -> FloatArray:
    """Return a column of `crops.csv` for a crop in a row layout, each (..., sequence, season).

    Parameters
    ----------
    results
        What each season brought.
    column
        A column of `by_layout`; or `yield_units_per_ha`, not a number where nothing was harvested;
        or `margin_aud_per_ml` of the season's water, not a number without harvest or water.
    at
        Place of the crop and row layout.
    """
    if column == "yield_units_per_ha":
        units = of_layout(results, "production_units", at)
        return ratio(units, of_layout(results, "area_harvested_ha", at))
    if column == "margin_aud_per_ml":
        harvested = of_layout(results, "area_harvested_ha", at) > 0.0
        used_ml = np.where(harvested, of_layout(results, "water_used_ml", at), 0.0)
        return ratio(of_layout(results, "margin_aud", at), used_ml)
    return results[name_of(column, at)]


def season_sums(by_month: FloatArray, calendar: Calendar) -> FloatArray:
    """(season,) sums over the months of each season that are in the run."""
    firsts = [calendar.first_t(season) for season in range(calendar.seasons)]
    sums: FloatArray = np.add.reduceat(by_month, firsts)
    return sums


def _margins(r: FarmResults) -> dict[str, FloatArray]:
    """Return water carried, yield, and the margin of the season's crop, per hectare and per ML."""
    planted_ha = np.nan_to_num(r["area_planted_ha"])
    return {
        "water_carried_ml": r["account_carried_ml"] + r["storage_carried_ml"],
        "yield_bales_per_ha": ratio(r["bales"], r["area_picked_ha"]),
        "margin_aud": r["crop_margin_aud"] + r["other_land_aud"] + r["trade_aud"],
        "margin_aud_per_ha": ratio(r["crop_margin_aud"], planted_ha),
        "margin_aud_per_ml": ratio(r["crop_margin_aud"], r["water_used_ml"]),
        "peak_overdraft_aud": np.maximum(0.0, -r["lowest_cash_aud"]),
    }


def due_in_seasons(
    r: FarmResults, name: str, by_month: FloatArray, calendar: Calendar
) -> FloatArray:
    """Return what falls due in each season: as the plan has it, or as drought steps changed it."""
    return r[name] if name in r.values else season_sums(by_month, calendar)


def _at_season_ends(
    r: FarmResults, rules: FarmRules, calendar: Calendar
) -> tuple[FloatArray, FloatArray | float]:
    """Return what is owed on loans and what is owned when a season ends, arrears and cash apart."""
    if "owned_aud" in r.values:
        return r["loan_balance_aud"], r["owned_aud"]
    last_ts = [calendar.last_t(season) for season in range(calendar.seasons)]
    return rules.cash.loan_balance_aud[last_ts], rules.cash.assets_aud


def _debts(r: FarmResults, rules: FarmRules, calendar: Calendar) -> dict[str, FloatArray]:
    """Return debt service, covers, equity and loan to value."""
    cash, due = rules.cash, partial(due_in_seasons, r, calendar=calendar)
    term_interest_aud = due("loan_interest_aud", cash.loan_interest_aud)
    principal_aud = due("loan_principal_aud", cash.loan_principal_aud)
    depreciation_aud = season_sums(cash.depreciation_aud, calendar)
    interest_aud = term_interest_aud + r["overdraft_interest_aud"] + r["arrears_interest_aud"]
    operating_aud = r["income_aud"] - r["costs_aud"]
    earned_aud = operating_aud - depreciation_aud
    capacity_aud = repayment_capacity_aud(
        earned_aud - interest_aud,
        due("off_farm_aud", cash.off_farm_aud),
        depreciation_aud,
        term_interest_aud,
        due("drawings_aud", cash.drawings_aud),
        r["tax_aud"],
    )
    loans_aud, assets_aud = _at_season_ends(r, rules, calendar)
    overdrawn_aud = np.maximum(0.0, -r["closing_cash_aud"])
    debt_aud = loans_aud + r["arrears_aud"] + overdrawn_aud
    owned_aud = assets_aud + r["receivable_aud"] + np.maximum(0.0, r["closing_cash_aud"])
    no_debt = debt_aud * 0.0
    return {
        "operating_income_aud": operating_aud,
        "interest_aud": interest_aud,
        "debt_service_aud": interest_aud + principal_aud,
        "cover": debt_service_cover(operating_aud, interest_aud, principal_aud),
        "interest_cover": interest_cover(earned_aud, interest_aud),
        "term_debt_cover": term_debt_cover(
            capacity_aud, principal_aud + no_debt, term_interest_aud + no_debt
        ),
        "debt_aud": debt_aud,
        "equity_frac": equity_frac(owned_aud, debt_aud),
        "loan_to_value_frac": loan_to_value_frac(debt_aud, assets_aud + no_debt),
    }


def _in_district(
    r: FarmResults, shares: District, rules: FarmRules, calendar: Calendar
) -> dict[str, FloatArray]:
    """Return what is spent in the district: a stated share of each cost, and no multiplier.

    Water bought is none of it: it is paid to another holder for what that one then does not grow.
    """
    cash, due = rules.cash, partial(due_in_seasons, r, calendar=calendar)
    overheads_aud = due("overheads_aud", cash.overheads_aud)
    crops_aud = r["costs_aud"] - r["water_paid_aud"] - overheads_aud
    spent_aud = (
        shares.crops_frac * crops_aud
        + shares.overheads_frac * overheads_aud
        + shares.drawings_frac * due("drawings_aud", cash.drawings_aud)
        + shares.machinery_frac * season_sums(cash.machinery_aud, calendar)
    )
    return {
        "district_aud": spent_aud,
        "district_aud_per_ml": ratio(spent_aud, r["water_used_ml"]),
    }


Event = Callable[[FarmResults, FarmRules], BoolArray]


def ran_short(r: FarmResults, rules: FarmRules) -> BoolArray:
    """Return where a crop was cut back, or lacked water."""
    cut: BoolArray = np.nan_to_num(r["area_finished_ha"] - r["area_planted_ha"]) < -NO_LAND_HA
    return cut | lacks_water(r)


def lacks_water(r: FarmResults, frac: float = WATER_SHORT_FRAC) -> BoolArray:
    """Return where crops lacked more than a part of the water that they needed."""
    lacking_ml = r["water_needed_ml"] - r["water_used_ml"]
    lacks: BoolArray = lacking_ml > frac * r["water_needed_ml"] + NO_LAND_HA
    return lacks


EVENTS: dict[str, Event] = {
    "no_planting": lambda r, rules: np.nan_to_num(r["area_planted_ha"], nan=1.0) <= NO_LAND_HA,
    "ran_short": ran_short,
    "payment_missed": lambda r, rules: r["payments_missed"] > 0.0,
    "cover_below_1": lambda r, rules: r["cover"] < 1.0,
    "cover_below_1_25": lambda r, rules: r["cover"] < 1.25,
    "past_overdraft_limit": lambda r, rules: r["lowest_cash_aud"] < -rules.cash.overdraft_limit_aud,
    "set_by_land": lambda r, rules: r["area_set_by"] == SetBy.LAND,
    "set_by_water": lambda r, rules: r["area_set_by"] == SetBy.WATER,
    "set_by_money": lambda r, rules: r["area_set_by"] == SetBy.MONEY,
}
"""What may happen in a season, each (strategy, sequence, season)."""
