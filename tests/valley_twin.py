"""What one valley does, month by month, worked out the slow and obvious way.

A scalar twin of the valley model: plain floats, one sequence, one month after another, each rule of
the scheme on a line of its own. It shares no code with the model, so that an error would have to be
made twice to pass unseen.

Source: model/valley/SCHEME.md. Owns the dam's storage, the average general-security
account and the high-security year. Assumes that the plan and the record have been checked.

Units: `ml` is megalitre; 1 mm over 1 ha is 0.01 ML. Lists of twelve run July to June.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

Plan = dict[str, Any]
Row = dict[str, Any]

ML_PER_MM_HA = 0.01
MONTHS = 12
DUST = 1e-12  # of the largest volume at hand: what rounding leaves in an emptied dam

LEDGER_COLUMNS = (
    "month",
    "storage_start_ml",
    "inflow_ml",
    "tributary_ml",
    "net_evaporation_ml",
    "essential_ml",
    "river_loss_ml",
    "base_flow_ml",
    "high_security_ml",
    "general_security_ml",
    "delivery_loss_ml",
    "spill_ml",
    "storage_end_ml",
    "assured_inflow_ml",
    "committed_ml",
    "high_security_allocation_frac",
    "announced_ml_per_share",
    "announced_to_date_ml_per_share",
    "credited_ml_per_share",
    "forfeited_ml_per_share",
    "account_loss_ml_per_share",
    "frozen_ml_per_share",
    "account_ml_per_share",
    "uncontrolled_ml",
)


@dataclass(frozen=True)
class State:
    """What one month hands to the next."""

    storage_ml: float
    account_ml_per_share: float
    carried_ml_per_share: float  # part of the account brought over 1 July and not yet used
    announced_ml_per_share: float  # this water year, to date
    used_ml_per_share: float  # this water year, to date
    used_last_year_ml_per_share: float
    used_year_before_ml_per_share: float
    high_security_used_ml: float  # this water year, to date
    high_security_allocation_frac: float
    frozen_ml_per_share: float = 0.0
    restricted: bool = False  # whether the month before was restricted
    stage: int = 0  # of restriction, the month before
    environment_ml: float = 0.0  # the environmental allowance, at the dam
    high_security_carried_ml: float = 0.0
    lock_closed: bool = False  # whether carried water waits for the spill lock


def replay(plan: Plan, record: list[Row], first: str, last: str) -> list[Row]:
    """Ledger of the observed months `first` to `last`, both "YYYY-MM" and both included."""
    months = [row["month"] for row in record]
    rows = list(range(months.index(first), months.index(last) + 1))
    return run(plan, record, rows, first)


def run(
    plan: Plan, record: list[Row], rows: list[int], first_month: str, *, flow_factor: float = 1.0
) -> list[Row]:
    """Ledger of a run that meets these rows of the record, in this order, from `first_month`.

    `flow_factor` scales the inflow and tributary that the run meets. The assured inflow is a rule
    of the scheme: it always comes from the record as observed.
    """
    assured_inflow_ml = [assured_inflow(plan, record, k) for k in range(MONTHS)]
    state = opening_state(plan)
    columns = (*LEDGER_COLUMNS, *further_columns(plan))
    ledger = []
    for i, row in enumerate(rows):
        month = month_after(first_month, i)
        k = month_of_water_year(month)
        turns = k == 0 and i > 0
        if turns:
            state, forfeited_ml_per_share, carryover_loss_ml_per_share = first_of_july(plan, state)
        else:
            forfeited_ml_per_share = carryover_loss_ml_per_share = 0.0
        weather = weather_of(plan, record[row], k, flow_factor)
        state, entry = one_month(plan, state, weather, k, assured_inflow_ml[k], turns=turns)
        entry["month"] = month
        entry["forfeited_ml_per_share"] = forfeited_ml_per_share
        entry["account_loss_ml_per_share"] += carryover_loss_ml_per_share
        ledger.append({column: entry[column] for column in columns})
    return ledger


def further_columns(plan: Plan) -> tuple[str, ...]:
    """Ledger columns that the plan's further rules add."""
    valley = plan["valley"]
    rules = (
        (
            "capacity_sharing" in valley,
            ("internal_spill_in_ml", "internal_spill_out_ml", "higher_classes_water_ml"),
        ),
        ("delivery_loss_fixed_ml" in valley, ("fixed_delivery_loss_ml",)),
        ("block_release" in valley, ("deferred_ml",)),
        ("stages" in valley.get("access", {}), ("restriction_stage",)),
        (
            "environment" in valley,
            ("environment_ml", "environment_credit_ml", "environment_account_ml"),
        ),
        ("carryover_frac" in valley["high_security"], ("high_security_carried_ml",)),
        (has_spill_lock(plan), ("locked_ml_per_share",)),
    )
    return tuple(column for given, columns in rules if given for column in columns)


def has_spill_lock(plan: Plan) -> bool:
    """Whether the plan has a spill lock, by level or by month."""
    accounts = plan["valley"]["accounts"]
    return "spill_lock_below_frac" in accounts or "spill_lock_until_month" in accounts


# --- Calendar, record and plan ---------------------------------------------------------------


def month_after(month: str, count: int) -> str:
    """The month `count` months after "YYYY-MM"."""
    year, number = int(month[:4]), int(month[5:])
    total = year * MONTHS + number - 1 + count
    return f"{total // MONTHS:04d}-{total % MONTHS + 1:02d}"


def month_of_water_year(month: str) -> int:
    """0 for July to 11 for June."""
    return (int(month[5:]) + 5) % MONTHS


def opening_state(plan: Plan) -> State:
    """The state that the plan says the run starts from."""
    opening = plan["opening"]
    return State(
        storage_ml=opening["storage_ml"],
        account_ml_per_share=opening["account_ml_per_share"],
        carried_ml_per_share=opening.get("carried_ml_per_share", 0.0),
        announced_ml_per_share=opening["announced_to_date_ml_per_share"],
        used_ml_per_share=opening["used_this_year_ml_per_share"],
        used_last_year_ml_per_share=opening["used_last_year_ml_per_share"],
        used_year_before_ml_per_share=opening["used_year_before_ml_per_share"],
        high_security_used_ml=opening["high_security_used_ml"],
        high_security_allocation_frac=opening["high_security_allocation_frac"],
        environment_ml=opening.get("environment_ml", 0.0),
        high_security_carried_ml=opening.get("high_security_carried_ml", 0.0),
        lock_closed=has_spill_lock(plan) and opening.get("carried_locked", True),
    )


def weather_of(plan: Plan, row: Row, k: int, flow_factor: float = 1.0) -> Row:
    """Flows, rain and evaporation of the month, from the plan's calendar if not recorded."""
    valley = plan["valley"]
    no_tributary_ml = [0.0] * MONTHS

    def observed_or_calendar(name: str, calendar: list[float]) -> float:
        return row[name] if name in row else calendar[k]

    tributary_ml = observed_or_calendar("tributary_ml", valley.get("tributary_ml", no_tributary_ml))
    return {
        "inflow_ml": flow_factor * row["inflow_ml"],
        "tributary_ml": flow_factor * tributary_ml,
        "lake_rain_mm": observed_or_calendar("lake_rain_mm", valley["lake_rain_mm"]),
        "lake_evaporation_mm": observed_or_calendar(
            "lake_evaporation_mm", valley["lake_evaporation_mm"]
        ),
    }


def surface_area(plan: Plan, storage_ml: float) -> float:
    """Lake area [ha]: straight lines between the table's points, flat beyond its ends."""
    storages_ml: list[float] = plan["valley"]["surface_storage_ml"]
    areas_ha: list[float] = plan["valley"]["surface_area_ha"]
    if storage_ml <= storages_ml[0]:
        return areas_ha[0]
    for i in range(1, len(storages_ml)):
        if storage_ml <= storages_ml[i]:
            share = (storage_ml - storages_ml[i - 1]) / (storages_ml[i] - storages_ml[i - 1])
            return areas_ha[i - 1] + share * (areas_ha[i] - areas_ha[i - 1])
    return areas_ha[-1]


def horizon_months(plan: Plan, k: int) -> int:
    """Months from this one to the end of the horizon year, this one included."""
    years_ahead: int = plan["valley"]["assessment"]["years_ahead"]
    return MONTHS - k + MONTHS * years_ahead


def sum_ahead(calendar: list[float], k: int, count: int) -> float:
    """Sum of `count` months of a July-June list, from month `k` on, year after year."""
    return sum(calendar[(k + i) % MONTHS] for i in range(count))


def calendar_month(k: int) -> int:
    """Calendar number, 1 to 12, of a month of the water year."""
    return (k + 6) % MONTHS + 1


def fixed_losses_ahead(plan: Plan, k: int) -> tuple[float, float]:
    """Fixed delivery loss [ML] to the end of the horizon: of high security, then the rest."""
    valley = plan["valley"]
    fixed_ml = valley.get("delivery_loss_fixed_ml", [0.0] * MONTHS)
    of_high_ml = of_general_ml = 0.0
    for i in range(horizon_months(plan, k)):
        m = (k + i) % MONTHS
        runs_high = valley["high_security"]["shares_ml"] > 0.0
        runs_high = runs_high and valley["high_security"]["pattern"][m] > 0.0
        if "block_release" in valley:
            runs_general = calendar_month(m) in valley["block_release"]["months"]
        else:
            runs_general = valley["general_security"]["pattern"][m] > 0.0
        if runs_high:
            of_high_ml += fixed_ml[m]
        elif runs_general:
            of_general_ml += fixed_ml[m]
    return of_high_ml, of_general_ml


def assured_inflow(plan: Plan, record: list[Row], k: int) -> float:
    """Inflow [ML] that the rules count on from month `k` to the end of the horizon year."""
    assessment = plan["valley"]["assessment"]
    horizon = horizon_months(plan, k)
    if assessment["assured_inflow"] == "fixed":
        fixed_ml_per_month: float = assessment["assured_fixed_ml_per_month"]
        return fixed_ml_per_month * horizon
    before = assessment.get("assured_before", "9999-12")
    sums_ml: list[float] = sorted(
        sum(record[start + i]["inflow_ml"] for i in range(horizon))
        for start in range(len(record) - horizon + 1)
        if month_of_water_year(record[start]["month"]) == k
        and record[start + horizon - 1]["month"] < before
    )
    if not sums_ml:
        raise ValueError(f"the record holds no run of {horizon} months from month {k} on")
    if assessment["assured_inflow"] == "worst":
        return sums_ml[0]
    return quantile_type_7(sums_ml, assessment["assured_percentile_frac"])


def quantile_type_7(ascending: list[float], frac: float) -> float:
    """Quantile of non-exceedance by Hyndman and Fan's definition 7 (1996)."""
    position = (len(ascending) - 1) * frac
    below = math.floor(position)
    above = min(below + 1, len(ascending) - 1)
    return ascending[below] + (position - below) * (ascending[above] - ascending[below])


# --- The scheme ------------------------------------------------------------------------------


def first_of_july(plan: Plan, state: State) -> tuple[State, float, float]:
    """Carry accounts into the new water year; also what was forfeited and lost [ML per share]."""
    accounts = plan["valley"]["accounts"]
    limit_ml_per_share = accounts.get("carryover_limit_ml_per_share", math.inf)
    carried_ml_per_share = min(state.account_ml_per_share, limit_ml_per_share)
    forfeited_ml_per_share = state.account_ml_per_share - carried_ml_per_share
    loss_ml_per_share = carried_ml_per_share * accounts.get("carryover_loss_frac", 0.0)
    high = plan["valley"]["high_security"]
    unused_high_ml = (
        state.high_security_carried_ml
        + state.high_security_allocation_frac * high["shares_ml"]
        - state.high_security_used_ml
    )
    carried_high_ml = min(
        high["shares_ml"], high.get("carryover_frac", 0.0) * max(0.0, unused_high_ml)
    )
    environment = plan["valley"].get("environment", {})
    new_state = replace(
        state,
        environment_ml=min(state.environment_ml, environment.get("carryover_limit_ml", math.inf)),
        high_security_carried_ml=carried_high_ml,
        lock_closed=has_spill_lock(plan),
        account_ml_per_share=carried_ml_per_share - loss_ml_per_share,
        carried_ml_per_share=carried_ml_per_share - loss_ml_per_share,
        announced_ml_per_share=0.0,
        used_ml_per_share=0.0,
        used_last_year_ml_per_share=state.used_ml_per_share,
        used_year_before_ml_per_share=state.used_last_year_ml_per_share,
        high_security_used_ml=0.0,
        high_security_allocation_frac=0.0,
    )
    return new_state, forfeited_ml_per_share, loss_ml_per_share


def frozen_by_stage(
    stages: list[dict[str, Any]],
    stage: int,
    state: State,
    account_ml_per_share: float,
    *,
    turns: bool,
) -> float:
    """Frozen water [ML per share] of a month of staged restriction; `state` is last month's."""
    if stage == 0:
        return 0.0
    rule = stages[stage - 1]
    freezes_carried = rule["freezes"] == "carried"
    to_freeze = state.carried_ml_per_share if freezes_carried else account_ml_per_share
    fresh = (1.0 - rule["access_frac"]) * to_freeze
    frozen = state.frozen_ml_per_share
    if stage < state.stage:
        frozen = min(frozen, fresh)
    elif stage > state.stage or (turns and freezes_carried):
        frozen = max(frozen, fresh)
    return min(frozen, to_freeze)


def one_month(
    plan: Plan, state: State, weather: Row, k: int, assured_inflow_ml: float, *, turns: bool = False
) -> tuple[State, Row]:
    """One month in the order of the scheme: assess, restrict, order, release, settle accounts."""
    valley = plan["valley"]
    accounts = valley["accounts"]
    assessment = valley["assessment"]
    dead_ml = valley["dead_storage_ml"]
    capacity_ml = valley["capacity_ml"]
    arrives_frac = 1.0 - valley["delivery_loss_frac"]
    high_shares_ml = valley["high_security"]["shares_ml"]
    general_shares_ml = valley["general_security"]["shares_ml"]
    account_limit_ml_per_share = accounts.get("account_limit_ml_per_share", math.inf)
    cap_ml_per_share = accounts.get("allocation_cap_ml_per_share", account_limit_ml_per_share)
    sharing = valley.get("capacity_sharing")
    environment = valley.get("environment", {"release_ml": [0.0] * MONTHS})
    environment_limit_ml = environment.get("limit_ml", math.inf)
    environment_ml = state.environment_ml
    environment_credit_ml = 0.0
    high_carried_ml = state.high_security_carried_ml if high_shares_ml > 0.0 else 0.0
    high_used_ml = state.high_security_used_ml if high_shares_ml > 0.0 else 0.0

    storage_ml = state.storage_ml
    account_ml_per_share = state.account_ml_per_share
    carried_ml_per_share = state.carried_ml_per_share
    area_ha = surface_area(plan, storage_ml)

    # Assessment: what is there and sure to come.
    horizon = horizon_months(plan, k)
    resource_ml = max(0.0, storage_ml - dead_ml) + assured_inflow_ml

    # Assessment: what comes before any licence.
    reserve_months = assessment["essential_reserve_months"]
    essential_reserve_ml = sum_ahead(valley["essential_ml"], k, reserve_months)
    calendar_net_mm = [
        max(0.0, evaporation_mm - rain_mm)
        for evaporation_mm, rain_mm in zip(
            valley["lake_evaporation_mm"], valley["lake_rain_mm"], strict=True
        )
    ]
    mean_area_ha = (area_ha + surface_area(plan, dead_ml)) / 2.0
    losses_ml = sum_ahead(valley["river_loss_ml"], k, horizon)
    losses_ml += sum_ahead(calendar_net_mm, k, horizon) * mean_area_ha * ML_PER_MM_HA
    base_flow_reserve_ml = sum_ahead(valley["base_flow_ml"], k, horizon)
    first_claims_ml = essential_reserve_ml + losses_ml + base_flow_reserve_ml

    # Assessment: on 1 July the environment is credited from what is then there.
    if turns:
        environment_credit_ml = max(
            0.0,
            min(
                environment.get("yearly_ml", 0.0),
                environment_limit_ml - environment_ml,
                resource_ml - first_claims_ml - environment_ml,
            ),
        )
        environment_ml += environment_credit_ml
    fixed_high_ml, fixed_general_ml = fixed_losses_ahead(plan, k)

    # Assessment: high security, never revised down within the water year.
    need_ml = high_shares_ml - high_used_ml
    can_meet_ml = resource_ml - first_claims_ml - environment_ml - fixed_high_ml
    can_meet_ml = max(0.0, can_meet_ml * arrives_frac - high_carried_ml)
    if high_shares_ml > 0.0:
        met_ml = high_used_ml + min(need_ml, can_meet_ml)
        high_frac = max(state.high_security_allocation_frac, min(1.0, met_ml / high_shares_ml))
    else:
        high_frac = 1.0
    next_year_ml = (
        assessment["high_security_next_year_frac"] * high_shares_ml * assessment["years_ahead"]
    )
    high_claim_ml = (need_ml + high_carried_ml + next_year_ml) / arrives_frac

    # Assessment: general security takes what is left, and a full account takes no more.
    account_claim_ml = account_ml_per_share * general_shares_ml / arrives_frac
    committed_ml = first_claims_ml + high_claim_ml + account_claim_ml
    committed_ml += environment_ml + fixed_high_ml + fixed_general_ml
    free_ml = resource_ml - committed_ml
    credit_frac = environment.get("credit_frac", 0.0)
    free_ml_per_share = max(0.0, free_ml) * arrives_frac / general_shares_ml
    if credit_frac > 0.0:
        room_ml = max(0.0, environment_limit_ml - environment_ml)
        free_ml_per_share = max(
            free_ml_per_share / (1.0 + credit_frac * arrives_frac),
            max(0.0, free_ml - room_ml) * arrives_frac / general_shares_ml,
        )
    announced_ml_per_share = max(
        0.0,
        min(
            free_ml_per_share,
            account_limit_ml_per_share,
            cap_ml_per_share - state.announced_ml_per_share,
        ),
    )
    if sharing is not None:
        announced_ml_per_share = 0.0
    announced_to_date_ml_per_share = state.announced_ml_per_share + announced_ml_per_share
    credited_ml_per_share = max(
        0.0, min(announced_ml_per_share, account_limit_ml_per_share - account_ml_per_share)
    )
    account_ml_per_share += credited_ml_per_share
    with_credit_ml = max(
        0.0,
        min(
            credit_frac * credited_ml_per_share * general_shares_ml,
            environment_limit_ml - environment_ml,
        ),
    )
    environment_ml += with_credit_ml
    environment_credit_ml += with_credit_ml

    # Access: part of the account is out of reach while the dam opens the month low.
    access = valley.get("access")
    stages = [] if access is None else access.get("stages", [])
    stage = sum(1 for each in stages if storage_ml <= each["trigger_frac"] * capacity_ml)
    freezes_carried = stage > 0 and stages[stage - 1]["freezes"] == "carried"
    restricted = stage > 0
    if access is not None and not stages:
        restricted = storage_ml <= access["restriction_trigger_frac"] * capacity_ml
    if stages:
        frozen_ml_per_share = frozen_by_stage(
            stages, stage, state, account_ml_per_share, turns=turns
        )
    elif not restricted:
        frozen_ml_per_share = 0.0
    elif not state.restricted:
        frozen_ml_per_share = (1.0 - access["restriction_access_frac"]) * account_ml_per_share
    else:
        frozen_ml_per_share = min(state.frozen_ml_per_share, account_ml_per_share)

    # The spill lock: carried water waits until a spill is unlikely.
    lock_closed = state.lock_closed
    if lock_closed:
        below_frac = accounts.get("spill_lock_below_frac")
        until_month = accounts.get("spill_lock_until_month")
        if below_frac is not None and storage_ml < below_frac * capacity_ml:
            lock_closed = False
        if until_month is not None and k >= (until_month - 7) % MONTHS:
            lock_closed = False
    locked_ml_per_share = carried_ml_per_share if lock_closed else 0.0

    # Orders, at the farm gate.
    high_order_ml = max(
        0.0,
        min(
            high_shares_ml * valley["high_security"]["pattern"][k],
            high_frac * high_shares_ml - high_used_ml + high_carried_ml,
        ),
    )
    pattern = valley["general_security"]["pattern"]
    pattern_left = sum(pattern[k:])
    month_share = pattern[k] / pattern_left if pattern_left > 0.0 else 0.0
    kept_ml_per_share = min(
        valley["general_security"].get("others_keep_ml_per_share", 0.0),
        max(
            0.0,
            account_ml_per_share
            + state.used_ml_per_share
            - valley["general_security"].get("others_keep_above_ml_per_share", 0.0),
        ),
    )
    used_3yr_ml_per_share = (
        state.used_ml_per_share
        + state.used_last_year_ml_per_share
        + state.used_year_before_ml_per_share
    )

    def general_order(month_share: float) -> float:
        return general_shares_ml * max(
            0.0,
            min(
                max(0.0, account_ml_per_share - kept_ml_per_share) * month_share,
                account_ml_per_share - max(frozen_ml_per_share, locked_ml_per_share),
                accounts.get("use_limit_1yr_ml_per_share", math.inf) - state.used_ml_per_share,
                accounts.get("use_limit_3yr_ml_per_share", math.inf) - used_3yr_ml_per_share,
            ),
        )

    general_order_ml = general_order(month_share)
    deferred_ml = 0.0
    block = valley.get("block_release")
    if block is not None and general_order_ml < block["below_ml"]:
        if calendar_month(k) not in block["months"]:
            deferred_ml, general_order_ml = general_order_ml, 0.0
        else:
            later = [m for m in range(k + 1, MONTHS) if calendar_month(m) in block["months"]]
            until = later[0] if later else MONTHS
            covered = sum(pattern[k:until])
            general_order_ml = general_order(covered / pattern_left if pattern_left > 0.0 else 0.0)

    # The dam: weather first, then releases in order of priority, then the spill.
    net_mm = weather["lake_evaporation_mm"] - weather["lake_rain_mm"]
    evaporation_ml = net_mm * area_ha * ML_PER_MM_HA
    filled_ml = max(0.0, storage_ml + weather["inflow_ml"] - evaporation_ml)
    net_evaporation_ml = storage_ml + weather["inflow_ml"] - filled_ml
    water_ml = max(0.0, filled_ml - dead_ml)

    essential_ml = min(water_ml, valley["essential_ml"][k])
    water_ml -= essential_ml

    tributary_left_ml = weather["tributary_ml"]
    from_tributary_ml = min(tributary_left_ml, valley["river_loss_ml"][k])
    tributary_left_ml -= from_tributary_ml
    river_loss_ml = min(water_ml, valley["river_loss_ml"][k] - from_tributary_ml)
    water_ml -= river_loss_ml

    from_tributary_ml = min(tributary_left_ml, valley["base_flow_ml"][k])
    tributary_left_ml -= from_tributary_ml
    base_flow_ml = min(water_ml, valley["base_flow_ml"][k] - from_tributary_ml)
    water_ml -= base_flow_ml

    environment_release_ml = min(water_ml, environment["release_ml"][k], environment_ml)
    water_ml -= environment_release_ml
    environment_ml -= environment_release_ml

    fixed_loss_ml = 0.0
    if "delivery_loss_fixed_ml" in valley:
        asked = high_order_ml + general_order_ml > 1e-9 * capacity_ml
        if asked and water_ml > valley["delivery_loss_fixed_ml"][k]:
            fixed_loss_ml = valley["delivery_loss_fixed_ml"][k]
            water_ml -= fixed_loss_ml
        else:
            high_order_ml = general_order_ml = 0.0

    high_release_ml = min(water_ml, high_order_ml / arrives_frac)
    water_ml -= high_release_ml
    general_release_ml = min(water_ml, general_order_ml / arrives_frac)
    water_ml -= general_release_ml

    released_ml = essential_ml + river_loss_ml + base_flow_ml + high_release_ml + general_release_ml
    released_ml += environment_release_ml + fixed_loss_ml
    after_release_ml = filled_ml - released_ml
    if after_release_ml < DUST * max(capacity_ml, storage_ml + weather["inflow_ml"], filled_ml):
        after_release_ml = 0.0
    spill_ml = max(0.0, after_release_ml - capacity_ml)
    storage_end_ml = after_release_ml - spill_ml

    # Accounts after: use, then the share of evaporation, then the spill.
    high_delivered_ml = high_release_ml * arrives_frac
    general_delivered_ml = general_release_ml * arrives_frac
    used_now_ml_per_share = general_delivered_ml / general_shares_ml
    account_ml_per_share -= used_now_ml_per_share
    after_use_ml_per_share = carried_ml_per_share - used_now_ml_per_share
    if freezes_carried and not lock_closed:
        least_ml_per_share = min(carried_ml_per_share, frozen_ml_per_share)
        carried_ml_per_share = max(least_ml_per_share, after_use_ml_per_share)
    elif not lock_closed:
        carried_ml_per_share = max(0.0, after_use_ml_per_share)
    from_carried_ml = min(high_carried_ml, high_delivered_ml)
    before_losses_ml_per_share = account_ml_per_share

    by_balance = sharing is not None or accounts.get("loss_mode") == "by_balance"
    if by_balance and storage_ml > 0.0:
        evaporated_frac = min(1.0, max(0.0, evaporation_ml) / storage_ml)
        account_ml_per_share -= account_ml_per_share * evaporated_frac
        carried_ml_per_share -= carried_ml_per_share * evaporated_frac
        environment_ml -= environment_ml * evaporated_frac

    above_dead_ml = max(0.0, storage_end_ml - dead_ml)
    inflow_credit_ml = max(
        0.0,
        min(
            environment.get("inflow_frac", 0.0) * weather["inflow_ml"],
            environment_limit_ml - environment_ml,
        ),
    )
    environment_credit_ml += inflow_credit_ml
    environment_ml = min(environment_ml + inflow_credit_ml, above_dead_ml)

    shared = {}
    if sharing is not None:
        space_ml = sharing["space_frac"] * (capacity_ml - dead_ml)
        others_space_ml = (capacity_ml - dead_ml) - space_ml
        before_ml = account_ml_per_share * general_shares_ml / arrives_frac
        others_took_ml = essential_ml + river_loss_ml + base_flow_ml + environment_release_ml
        others_took_ml += fixed_loss_ml + high_release_ml
        to_share_ml = weather["inflow_ml"] + max(0.0, -evaporation_ml) - others_took_ml
        with_inflow_ml = before_ml + sharing["inflow_frac"] * max(0.0, to_share_ml)
        spilled_ml = min(space_ml, max(with_inflow_ml, above_dead_ml - others_space_ml))
        held_ml = min(spilled_ml, above_dead_ml)
        account_ml_per_share = held_ml * arrives_frac / general_shares_ml
        credited_ml_per_share = (spilled_ml - before_ml) * arrives_frac / general_shares_ml
        before_losses_ml_per_share += credited_ml_per_share
        shared = {
            "internal_spill_in_ml": max(0.0, spilled_ml - with_inflow_ml),
            "internal_spill_out_ml": max(0.0, with_inflow_ml - spilled_ml),
            "higher_classes_water_ml": above_dead_ml - held_ml,
        }

    if spill_ml > 0.0:
        spill_rule = accounts.get("spill_rule", "none")
        if spill_rule == "proportional":
            account_ml_per_share -= account_ml_per_share * min(1.0, spill_ml / capacity_ml)
        elif spill_rule == "reset":
            account_ml_per_share = min(account_ml_per_share, accounts["reset_ml_per_share"])
        elif spill_rule == "carried_first":
            spilt_ml_per_share = min(
                carried_ml_per_share, spill_ml * arrives_frac / general_shares_ml
            )
            account_ml_per_share -= spilt_ml_per_share
            carried_ml_per_share -= spilt_ml_per_share
    carried_ml_per_share = min(carried_ml_per_share, account_ml_per_share)

    new_state = State(
        storage_ml=storage_end_ml,
        account_ml_per_share=account_ml_per_share,
        carried_ml_per_share=carried_ml_per_share,
        announced_ml_per_share=announced_to_date_ml_per_share,
        used_ml_per_share=state.used_ml_per_share + used_now_ml_per_share,
        used_last_year_ml_per_share=state.used_last_year_ml_per_share,
        used_year_before_ml_per_share=state.used_year_before_ml_per_share,
        high_security_used_ml=high_used_ml + high_delivered_ml - from_carried_ml,
        high_security_allocation_frac=high_frac,
        frozen_ml_per_share=frozen_ml_per_share,
        restricted=restricted,
        stage=stage,
        environment_ml=environment_ml,
        high_security_carried_ml=high_carried_ml - from_carried_ml,
        lock_closed=lock_closed,
    )
    entry = {
        "storage_start_ml": storage_ml,
        "inflow_ml": weather["inflow_ml"],
        "tributary_ml": weather["tributary_ml"],
        "net_evaporation_ml": net_evaporation_ml,
        "essential_ml": essential_ml,
        "river_loss_ml": river_loss_ml,
        "base_flow_ml": base_flow_ml,
        "high_security_ml": high_delivered_ml,
        "general_security_ml": general_delivered_ml,
        "delivery_loss_ml": valley["delivery_loss_frac"] * (high_release_ml + general_release_ml)
        + fixed_loss_ml,
        "spill_ml": spill_ml,
        "storage_end_ml": storage_end_ml,
        "assured_inflow_ml": assured_inflow_ml,
        "committed_ml": committed_ml,
        "high_security_allocation_frac": high_frac,
        "announced_ml_per_share": announced_ml_per_share,
        "announced_to_date_ml_per_share": announced_to_date_ml_per_share,
        "credited_ml_per_share": credited_ml_per_share,
        "account_loss_ml_per_share": before_losses_ml_per_share - account_ml_per_share,
        "frozen_ml_per_share": frozen_ml_per_share,
        "account_ml_per_share": account_ml_per_share,
        "uncontrolled_ml": spill_ml + tributary_left_ml,
        "fixed_delivery_loss_ml": fixed_loss_ml,
        "deferred_ml": deferred_ml,
        "restriction_stage": stage,
        "environment_ml": environment_release_ml,
        "environment_credit_ml": environment_credit_ml,
        "environment_account_ml": environment_ml,
        "high_security_carried_ml": new_state.high_security_carried_ml,
        "locked_ml_per_share": locked_ml_per_share,
    } | shared
    return new_state, entry
