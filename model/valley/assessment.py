"""How much may be announced this month, and what is set aside before it?

The resource is the water above dead storage and the inflow that the record assures to the end of
the horizon. From it come, in this order: a reserve of essential supplies; losses (river and lake)
and the base flow to the end of the horizon; high security, this year's need and the years ahead;
and what already stands in general-security accounts. What is left over, after delivery loss, may be
announced to general security.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.record.record import FloatArray
from model.units import ML_PER_MM_HA
from model.valley.accounts import credited_ml_per_share
from model.valley.level import at_least, at_most
from model.valley.rules import Rules
from model.valley.state import State


@dataclass(frozen=True, slots=True)
class Assessed:
    """What an assessment finds, each (sequence,) but for the parts that are the same for all."""

    assured_inflow_ml: float
    essential_reserve_ml: float
    losses_reserve_ml: FloatArray
    base_flow_reserve_ml: float
    high_security_reserve_ml: FloatArray
    account_reserve_ml: FloatArray
    committed_ml: FloatArray
    high_security_allocation_frac: FloatArray
    announced_ml_per_share: FloatArray
    credited_ml_per_share: FloatArray


def assess(state: State, surface_ha: FloatArray, k: int, rules: Rules) -> Assessed:
    """Assess the dam at the start of a month.

    Parameters
    ----------
    state
        The valley at the start of the month, each (sequence,).
    surface_ha
        (sequence,) water surface at that storage.
    k
        Month of the water year, 0 = July.
    rules
        The valley's rules.
    """
    deliverable_frac = 1.0 - rules.delivery_loss_frac
    shares_ml = rules.general_security_shares_ml
    high_security_ml = rules.high_security_shares_ml
    account, announced_to_date = state.account_ml_per_share, state.announced_to_date_ml_per_share

    assured_ml = rules.assured_inflow_ml[k]
    resource_ml = at_least(0.0, state.storage_ml - rules.dead_storage_ml) + assured_ml

    essential_ml = rules.essential_reserve_ml[k]
    losses_ml = rules.horizon_river_loss_ml[k] + (surface_ha + rules.dead_storage_area_ha) * (
        rules.horizon_net_evaporation_mm[k] / 2.0 * ML_PER_MM_HA
    )
    base_flow_ml = rules.horizon_base_flow_ml[k]
    set_aside_ml = essential_ml + base_flow_ml + losses_ml

    need_ml = high_security_ml - state.high_security_used_ml
    within_reach_ml = at_least(0.0, (resource_ml - set_aside_ml) * deliverable_frac)
    allocation_frac = _high_security_allocation(state, need_ml, within_reach_ml, high_security_ml)
    high_security_reserve_ml = (need_ml + rules.high_security_years_ahead_ml) / deliverable_frac
    account_reserve_ml = account * (shares_ml / deliverable_frac)

    committed_ml = set_aside_ml + high_security_reserve_ml + account_reserve_ml
    free_ml = at_least(0.0, resource_ml - committed_ml)
    announced = np.minimum(
        at_most(rules.account_limit_ml_per_share, free_ml * (deliverable_frac / shares_ml)),
        at_least(0.0, rules.allocation_cap_ml_per_share - announced_to_date),
    )
    return Assessed(
        assured_inflow_ml=assured_ml,
        essential_reserve_ml=essential_ml,
        losses_reserve_ml=losses_ml,
        base_flow_reserve_ml=base_flow_ml,
        high_security_reserve_ml=high_security_reserve_ml,
        account_reserve_ml=account_reserve_ml,
        committed_ml=committed_ml,
        high_security_allocation_frac=allocation_frac,
        announced_ml_per_share=announced,
        credited_ml_per_share=credited_ml_per_share(announced, account, rules),
    )


def _high_security_allocation(
    state: State, need_ml: FloatArray, within_reach_ml: FloatArray, shares_ml: float
) -> FloatArray:
    """Give the high-security allocation: what is used and what can be met, never revised down."""
    if shares_ml == 0.0:
        return np.ones_like(need_ml)
    met_ml = state.high_security_used_ml + np.minimum(need_ml, within_reach_ml)
    return np.maximum(state.high_security_allocation_frac, at_most(1.0, met_ml / shares_ml))
