"""What are the rules of this valley, as numbers ready for a month's step?

The plan states the rules in the words of the trade; here they become arrays by month of the water
year, `k` (0 = July), so that a step need not look ahead. Two kinds of sum are made once: what is
set aside from each month to the end of the horizon, and the inflow that the record assures over it.

The horizon runs from month `k` to June of the water year `years_ahead` after this one, so it is
`12 - k + 12 years_ahead` months long.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any, Literal

import numpy as np

from model.errors import Fault, PlanError
from model.plan.valley import Assessment, Valley
from model.record.record import FloatArray, Record
from model.valley.capacity import CapacityShare
from model.valley.delivery import BlockRelease, FixedLoss
from model.valley.environment import Environment
from model.valley.further import (
    block_release_of,
    capacity_share_of,
    environment_of,
    fixed_loss_of,
    spill_lock_of,
    stages_of,
)
from model.valley.horizon import ByMonth, months_of_horizon, or_infinite, sums_ahead
from model.valley.spill_lock import SpillLock
from model.valley.stages import Stage
from model.valley.surface import Surface, surface_of
from model.water_year import MONTHS_IN_YEAR, month_of_water_year, parse_month

SpillRule = Literal["none", "proportional", "carried_first", "reset"]


@dataclass(frozen=True, slots=True)
class AccountRules:
    """What holds for every account, the average holder's and a farm's; infinite: no limit."""

    account_limit_ml_per_share: float
    carryover_limit_ml_per_share: float
    carryover_loss_frac: float
    use_limit_1yr_ml_per_share: float
    use_limit_3yr_ml_per_share: float
    restriction_access_frac: float
    high_security_carryover_frac: float | None  # of what is left unused; None: nothing is carried

    def of_accounts(self) -> dict[str, Any]:
        """Return these rules alone, by name, for whoever else holds an account."""
        return {each.name: getattr(self, each.name) for each in fields(AccountRules)}


@dataclass(frozen=True, slots=True)
class Rules(AccountRules):
    """The valley's rules."""

    # the dam
    capacity_ml: float
    dead_storage_ml: float
    dead_storage_area_ha: float
    surface: Surface

    # what the dam supplies first
    essential_ml: ByMonth
    river_loss_ml: ByMonth
    base_flow_ml: ByMonth
    delivery_loss_frac: float

    # the two classes of licence
    high_security_shares_ml: float
    high_security_pattern: ByMonth
    general_security_shares_ml: float
    general_security_pattern: ByMonth  # this month's share of what is used from it to June
    others_keep_ml_per_share: float
    others_keep_above_ml_per_share: float

    # assessment
    essential_reserve_ml: ByMonth
    horizon_river_loss_ml: ByMonth
    horizon_net_evaporation_mm: ByMonth
    horizon_base_flow_ml: ByMonth
    high_security_years_ahead_ml: float
    assured_inflow_ml: ByMonth

    # access
    restriction_storage_ml: float  # restricted at or below it; minus infinity: never

    # accounts
    allocation_cap_ml_per_share: float  # infinite: no limit
    lose_by_balance: bool
    spill_rule: SpillRule
    reset_ml_per_share: float

    # further rules, each where the plan states it
    stages: tuple[Stage, ...]
    spill_lock: SpillLock | None
    fixed_loss: FixedLoss | None
    block_release: BlockRelease | None
    environment: Environment | None
    capacity_share: CapacityShare | None


def rules_of(valley: Valley, record: Record) -> Rules:
    """Prepare the rules that a plan states.

    Parameters
    ----------
    valley
        The plan's valley.
    record
        The observed record: the inflow that an assessment counts on is taken from it, never from
        drawn sequences and never scaled.

    Raises
    ------
    PlanError
        The part of the record that may be counted on is shorter than the horizon.
    """
    accounts, access, assessment = valley.accounts, valley.access, valley.assessment
    account_limit = or_infinite(accounts.account_limit_ml_per_share)
    cap = accounts.allocation_cap_ml_per_share
    net_evaporation_mm = [
        max(0.0, evaporation_mm - rain_mm)
        for evaporation_mm, rain_mm in zip(
            valley.lake_evaporation_mm, valley.lake_rain_mm, strict=True
        )
    ]
    horizon_months = months_of_horizon(assessment.years_ahead)
    reserve_months = [assessment.essential_reserve_months] * MONTHS_IN_YEAR
    pattern = valley.general_security.pattern
    pattern_to_june = [sum(pattern[k:]) for k in range(MONTHS_IN_YEAR)]
    surface = surface_of(valley.surface_storage_ml, valley.surface_area_ha)
    return Rules(
        capacity_ml=valley.capacity_ml,
        dead_storage_ml=valley.dead_storage_ml,
        dead_storage_area_ha=float(surface.at_ha(np.array([valley.dead_storage_ml]))[0]),
        surface=surface,
        essential_ml=valley.essential_ml,
        river_loss_ml=valley.river_loss_ml,
        base_flow_ml=valley.base_flow_ml,
        delivery_loss_frac=valley.delivery_loss_frac,
        high_security_shares_ml=valley.high_security.shares_ml,
        high_security_pattern=valley.high_security.pattern,
        general_security_shares_ml=valley.general_security.shares_ml,
        general_security_pattern=tuple(
            share / to_june if to_june > 0.0 else 0.0
            for share, to_june in zip(pattern, pattern_to_june, strict=True)
        ),
        others_keep_ml_per_share=valley.general_security.others_keep_ml_per_share,
        others_keep_above_ml_per_share=valley.general_security.others_keep_above_ml_per_share,
        essential_reserve_ml=sums_ahead(valley.essential_ml, reserve_months),
        horizon_river_loss_ml=sums_ahead(valley.river_loss_ml, horizon_months),
        horizon_net_evaporation_mm=sums_ahead(net_evaporation_mm, horizon_months),
        horizon_base_flow_ml=sums_ahead(valley.base_flow_ml, horizon_months),
        high_security_years_ahead_ml=assessment.high_security_next_year_frac
        * valley.high_security.shares_ml
        * assessment.years_ahead,
        assured_inflow_ml=assured_inflow_ml(assessment, record),
        restriction_storage_ml=-math.inf
        if access is None or access.restriction_trigger_frac is None
        else access.restriction_trigger_frac * valley.capacity_ml,
        restriction_access_frac=1.0
        if access is None or access.restriction_access_frac is None
        else access.restriction_access_frac,
        account_limit_ml_per_share=account_limit,
        allocation_cap_ml_per_share=account_limit if cap is None else cap,
        carryover_limit_ml_per_share=or_infinite(accounts.carryover_limit_ml_per_share),
        carryover_loss_frac=accounts.carryover_loss_frac,
        use_limit_1yr_ml_per_share=or_infinite(accounts.use_limit_1yr_ml_per_share),
        use_limit_3yr_ml_per_share=or_infinite(accounts.use_limit_3yr_ml_per_share),
        lose_by_balance=accounts.loss_mode == "by_balance" or valley.capacity_sharing is not None,
        spill_rule=accounts.spill_rule,
        reset_ml_per_share=or_infinite(accounts.reset_ml_per_share),
        high_security_carryover_frac=valley.high_security.carryover_frac,
        stages=stages_of(valley),
        spill_lock=spill_lock_of(valley),
        fixed_loss=fixed_loss_of(valley, horizon_months),
        block_release=block_release_of(valley),
        environment=environment_of(valley),
        capacity_share=capacity_share_of(valley),
    )


def assured_inflow_ml(assessment: Assessment, record: Record) -> ByMonth:
    """Return the inflow (ML) that an assessment counts on, by month of the water year.

    For each calendar month: over the sums of every observed run that starts in it and is as long
    as the horizon, the least (`worst`) or the stated quantile of non-exceedance (`percentile`,
    Hyndman and Fan's type 7); or a stated volume a month (`fixed`). Taken from the whole record,
    or from what lies before `assured_before`. In a replay of observed years the whole record is
    hindsight: rules of this kind do count on it.

    Returns
    -------
    tuple
        ML, July first.

    Raises
    ------
    PlanError
        No observed run is as long as the horizon.
    """
    horizon_months = months_of_horizon(assessment.years_ahead)
    if assessment.assured_inflow == "fixed":
        assert assessment.assured_fixed_ml_per_month is not None  # held by the plan's own check
        return tuple(assessment.assured_fixed_ml_per_month * months for months in horizon_months)
    inflow_ml = _counted_on_ml(assessment, record)
    assured_ml = []
    for k, months in enumerate(horizon_months):
        first = (k - month_of_water_year(record.first_month)) % MONTHS_IN_YEAR
        if first + months > inflow_ml.size:
            raise PlanError("plan", [_nothing_to_count_on(months)])
        runs_ml = np.lib.stride_tricks.sliding_window_view(inflow_ml, months)
        totals_ml = runs_ml[first::MONTHS_IN_YEAR].sum(axis=1)
        assured_ml.append(float(np.quantile(totals_ml, assessment.assured_percentile_frac or 0.0)))
    return tuple(assured_ml)


def _nothing_to_count_on(months: int) -> Fault:
    """Return a fault: the record is too short for the horizon."""
    return Fault(
        "valley.assessment",
        "",
        f"the record counted on has no whole run of {months} months",
        "a longer record, fewer years_ahead, or a later assured_before",
    )


def _counted_on_ml(assessment: Assessment, record: Record) -> FloatArray:
    """Return the months of observed inflow that may be counted on."""
    if assessment.assured_before is None:
        return record.inflow_ml
    months = parse_month(assessment.assured_before) - record.first_month
    return record.inflow_ml[: max(0, months)]
