"""How much may be announced this month, and what is set aside before it?

The resource is the water above dead storage and the inflow that the record assures to the end of
the horizon. From it come, in this order: a reserve of essential supplies; losses (river and lake)
and the base flow to the end of the horizon; the environment's allowance; the fixed loss of
delivering; high security, this year's need and the years ahead; and what already stands in
general-security accounts. What is left over, after delivery loss, may be announced to general
security.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from model.record.record import FloatArray
from model.units import ML_PER_MM_HA
from model.valley import environment, high_security
from model.valley.accounts import credited_ml_per_share
from model.valley.level import at_least, at_most, level
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
    environment_reserve_ml: FloatArray  # the allowance, its 1 July credit counted
    fixed_loss_reserve_ml: float
    committed_ml: FloatArray
    high_security_allocation_frac: FloatArray
    announced_ml_per_share: FloatArray
    credited_ml_per_share: FloatArray
    environment_credit_ml: FloatArray  # beside what general security is credited


@dataclass(frozen=True, slots=True)
class FirstClaims:
    """What is there and assured, and what comes before any licence or allowance, ML."""

    resource_ml: FloatArray
    essential_ml: float
    losses_ml: FloatArray
    base_flow_ml: float

    @property
    def set_aside_ml(self) -> FloatArray:
        """What comes first."""
        return self.essential_ml + self.base_flow_ml + self.losses_ml


def first_claims(state: State, surface_ha: FloatArray, k: int, rules: Rules) -> FirstClaims:
    """Return the resource of a month and the first claims on it; see `assess`."""
    above_dead_ml = at_least(0.0, state.storage_ml - rules.dead_storage_ml)
    return FirstClaims(
        resource_ml=above_dead_ml + rules.assured_inflow_ml[k],
        essential_ml=rules.essential_reserve_ml[k],
        losses_ml=rules.horizon_river_loss_ml[k]
        + (surface_ha + rules.dead_storage_area_ha)
        * (rules.horizon_net_evaporation_mm[k] / 2.0 * ML_PER_MM_HA),
        base_flow_ml=rules.horizon_base_flow_ml[k],
    )


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
    account, announced_to_date = state.account_ml_per_share, state.announced_to_date_ml_per_share

    first = first_claims(state, surface_ha, k, rules)
    resource_ml, set_aside_ml = first.resource_ml, first.set_aside_ml
    allowance_ml, credit_ml = state.environment_ml, level(0.0, account.size)
    if rules.environment is not None:
        set_aside_ml = set_aside_ml + allowance_ml
    fixed_ml = later_fixed_ml = 0.0
    if rules.fixed_loss is not None:
        fixed_ml = rules.fixed_loss.high_security_ahead_ml[k]
        later_fixed_ml = rules.fixed_loss.general_security_ahead_ml[k]
        set_aside_ml = set_aside_ml + fixed_ml

    within_reach_ml = (resource_ml - set_aside_ml) * deliverable_frac
    high = _high_security(state, within_reach_ml, rules)
    account_reserve_ml = account * (shares_ml / deliverable_frac)

    committed_ml = set_aside_ml + high.reserve_ml + account_reserve_ml
    if rules.fixed_loss is not None:
        committed_ml = committed_ml + later_fixed_ml
    free_ml = at_least(0.0, resource_ml - committed_ml)
    announced = _announced(free_ml, allowance_ml, announced_to_date, rules)
    credited = credited_ml_per_share(announced, account, rules)
    if rules.environment is not None:
        credit_ml = environment.credit_beside_ml(
            allowance_ml, credited * shares_ml, rules.environment
        )
    return Assessed(
        assured_inflow_ml=rules.assured_inflow_ml[k],
        essential_reserve_ml=first.essential_ml,
        losses_reserve_ml=first.losses_ml,
        base_flow_reserve_ml=first.base_flow_ml,
        high_security_reserve_ml=high.reserve_ml,
        account_reserve_ml=account_reserve_ml,
        environment_reserve_ml=allowance_ml,
        fixed_loss_reserve_ml=fixed_ml + later_fixed_ml,
        committed_ml=committed_ml,
        high_security_allocation_frac=high.allocation_frac,
        announced_ml_per_share=announced,
        credited_ml_per_share=credited,
        environment_credit_ml=credit_ml,
    )


class _HighSecurity(NamedTuple):
    """What high security is allocated, and what is set aside for it."""

    allocation_frac: FloatArray
    reserve_ml: FloatArray


def _high_security(state: State, within_reach_ml: FloatArray, rules: Rules) -> _HighSecurity:
    """Assess high security; what it carries comes before its new water."""
    shares_ml, carried_ml = rules.high_security_shares_ml, state.high_security_carried_ml
    if rules.high_security_carryover_frac is not None:
        within_reach_ml = within_reach_ml - carried_ml
    need_ml = shares_ml - state.high_security_used_ml
    frac = high_security.allocation_frac(
        state.high_security_allocation_frac,
        state.high_security_used_ml,
        need_ml,
        at_least(0.0, within_reach_ml),
        shares_ml,
    )
    if shares_ml == 0.0:
        return _HighSecurity(frac, level(0.0, frac.size))
    needed_ml = need_ml + rules.high_security_years_ahead_ml
    if rules.high_security_carryover_frac is not None:
        needed_ml = needed_ml + carried_ml
    return _HighSecurity(frac, needed_ml / (1.0 - rules.delivery_loss_frac))


def _announced(
    free_ml: FloatArray, allowance_ml: FloatArray, announced_to_date: FloatArray, rules: Rules
) -> FloatArray:
    """Return what is announced of what is free, ML per share."""
    if rules.capacity_share is not None:
        return level(0.0, free_ml.size)
    deliverable_frac = 1.0 - rules.delivery_loss_frac
    gate_frac_per_ml = deliverable_frac / rules.general_security_shares_ml
    beside = rules.environment
    if beside is not None and beside.credit_frac > 0.0:
        free = environment.announced_beside(
            free_ml, allowance_ml, gate_frac_per_ml, deliverable_frac, beside
        )
    else:
        free = free_ml * gate_frac_per_ml
    return np.minimum(
        at_most(rules.account_limit_ml_per_share, free),
        at_least(0.0, rules.allocation_cap_ml_per_share - announced_to_date),
    )
