"""What does one month do to the valley?

The month in the order of the scheme: the water year turns, the dam is assessed and water announced,
access is set, orders are placed, the dam is run, and the accounts bear what came of it. A pure
function on arrays, all sequences at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from model.record.record import FloatArray
from model.valley import accounts, capacity, environment, high_security
from model.valley.access import (
    Access,
    carried_after_use,
    frozen_ml_per_share,
    out_of_reach_ml_per_share,
)
from model.valley.assessment import Assessed, assess, first_claims
from model.valley.capacity import Sharing
from model.valley.dam import Released, release
from model.valley.delivery import of_block, waiting
from model.valley.level import at_least, at_most, level
from model.valley.others import order_ml_per_share
from model.valley.rules import Rules
from model.valley.spill_lock import closed_this_month
from model.valley.stages import BoolArray, StageArray, stage_of, staged
from model.valley.state import State, Weather


@dataclass(frozen=True, slots=True)
class Fluxes:
    """All that moved in a month, each (sequence,)."""

    start: State  # as the month began, before any turn of the water year
    opening: State  # after the turn of the water year, before the assessment
    weather: Weather
    assessed: Assessed
    released: Released
    access: Access
    account_before_orders_ml_per_share: FloatArray
    usable_ml_per_share: FloatArray  # of it, before the month's order
    locked_ml_per_share: FloatArray  # carried, and not to be used yet
    high_security_order_ml: FloatArray  # at the farm gate
    general_security_order_ml: FloatArray  # at the farm gate
    deferred_ml: FloatArray  # put off to a block release
    put_off: BoolArray | None  # where small orders wait for one; None: they never do
    forfeited_ml_per_share: FloatArray
    carryover_loss_ml_per_share: FloatArray
    credited_ml_per_share: FloatArray  # announced and credited, or shared out
    account_drawn_ml_per_share: FloatArray  # after use, before evaporation and spill
    account_end_ml_per_share: FloatArray
    evaporation_share_frac: FloatArray  # of the account
    spill: accounts.SpillTerms | None  # what a spill takes of accounts
    sharing: Sharing | None  # where capacity is shared
    environment_credit_ml: FloatArray

    @property
    def new_water_ml_per_share(self) -> FloatArray:
        """What came to a share: announced, or credited where capacity is shared."""
        if self.sharing is not None:
            return self.credited_ml_per_share
        return self.assessed.announced_ml_per_share

    @property
    def known_to_date_ml_per_share(self) -> FloatArray:
        """Water to date that accounts hold after this month's credit, or have used."""
        if self.sharing is not None:
            return self.opening.water_to_date_ml_per_share
        return self.opening.announced_to_date_ml_per_share + self.assessed.announced_ml_per_share

    @property
    def account_loss_ml_per_share(self) -> FloatArray:
        """What the account lost to carryover, evaporation, spill and higher classes."""
        fell = self.account_drawn_ml_per_share - self.account_end_ml_per_share
        if self.sharing is not None:
            fell = fell + self.credited_ml_per_share
        return self.carryover_loss_ml_per_share + fell


def step(
    state: State, weather: Weather, k: int, rules: Rules, *, opens_run: bool
) -> tuple[State, Fluxes]:
    """Take the valley through one month.

    Parameters
    ----------
    state
        The valley at the start of the month, each (sequence,).
    weather
        What comes in the month, each (sequence,).
    k
        Month of the water year, 0 = July.
    rules
        The valley's rules.
    opens_run
        Whether it is the run's first month: then the state already stands in this water year.

    Returns
    -------
    State, Fluxes
        The valley at the start of the next month; what moved. The arguments stay as they are.
    """
    start, shares_ml = state, rules.general_security_shares_ml
    turns_year = k == 0 and not opens_run

    # 1 July: the account is carried over.
    forfeited = carryover_loss = yearly_credit_ml = level(0.0, state.storage_ml.size)
    if turns_year:
        state, over = open_water_year(state, rules)
        forfeited, carryover_loss = over.forfeited_ml_per_share, over.lost_ml_per_share
        yearly_credit_ml = over.environment_credit_ml

    # Assessment: what is free of commitments is announced, and credited where there is room.
    surface_ha = rules.surface.at_ha(state.storage_ml)
    assessed = assess(state, surface_ha, k, rules)
    account = state.account_ml_per_share + assessed.credited_ml_per_share
    announced_to_date = state.announced_to_date_ml_per_share + assessed.announced_ml_per_share
    allowance_ml = state.environment_ml
    if rules.environment is not None:
        allowance_ml = allowance_ml + assessed.environment_credit_ml

    # Access: a low dam freezes part of the account, a full one locks what is carried.
    reach = _reach(state, account, k, rules, turns_year=turns_year)
    usable = accounts.usable_ml_per_share(state, account, reach.barred, rules)

    # Orders, at the farm gate.
    high_security_order_ml = _high_security_order_ml(state, assessed, k, rules)
    ordered = _general_security_order(state, account, usable, k, rules)

    # The dam: served in order, then it spills.
    released = release(
        state.storage_ml,
        surface_ha,
        weather,
        allowance_ml,
        high_security_order_ml,
        ordered.order_ml,
        k,
        rules,
    )

    # Accounts after: use, evaporation, spill; or space and inflow are shared out.
    used = released.general_security_ml / shares_ml
    drawn = at_least(0.0, account - used)
    carried = carried_after_use(state.carried_ml_per_share, used, reach.frozen, reach.access)
    evaporated_frac = accounts.evaporation_share_frac(
        released.lake_evaporation_ml, state.storage_ml, rules
    )
    kept_frac = 1.0 - evaporated_frac
    carried = carried * kept_frac
    spill = accounts.spill_terms(carried, released.spill_ml, rules)
    account_end, carried_end = accounts.after_spill(drawn * kept_frac, carried, spill)
    credited, sharing = assessed.credited_ml_per_share, None
    if rules.capacity_share is not None:
        sharing = _shared(account_end, weather, released, rules)
        credited, drawn_on = capacity.after_sharing(account_end, sharing.met)
        account_end = account_end + credited - drawn_on
        carried_end = np.minimum(carried_end, account_end)
    allowance = _allowance_after(allowance_ml, released, weather, kept_frac, rules)
    if rules.environment is not None:
        credit_ml = yearly_credit_ml + assessed.environment_credit_ml
        allowance = allowance._replace(credit_ml=credit_ml + allowance.credit_ml)
    high_carried_ml, high_used_ml = _high_security_after(state, released, rules)

    end = State(
        storage_ml=released.storage_ml,
        account_ml_per_share=account_end,
        carried_ml_per_share=carried_end,
        announced_to_date_ml_per_share=announced_to_date,
        water_to_date_ml_per_share=announced_to_date
        if sharing is None
        else state.water_to_date_ml_per_share + credited,
        used_this_year_ml_per_share=state.used_this_year_ml_per_share + used,
        used_last_year_ml_per_share=state.used_last_year_ml_per_share,
        used_year_before_ml_per_share=state.used_year_before_ml_per_share,
        high_security_used_ml=high_used_ml,
        high_security_allocation_frac=assessed.high_security_allocation_frac,
        restricted=reach.access.restricted,
        frozen_ml_per_share=reach.frozen,
        restriction_stage=reach.stage,
        lock_closed=reach.lock_closed,
        environment_ml=allowance.end_ml,
        high_security_carried_ml=high_carried_ml,
    )
    return end, Fluxes(
        start=start,
        opening=state,
        weather=weather,
        assessed=assessed,
        released=released,
        access=reach.access,
        account_before_orders_ml_per_share=account,
        usable_ml_per_share=usable,
        locked_ml_per_share=reach.locked,
        high_security_order_ml=high_security_order_ml,
        general_security_order_ml=ordered.order_ml,
        deferred_ml=ordered.deferred_ml,
        put_off=ordered.put_off,
        forfeited_ml_per_share=forfeited,
        carryover_loss_ml_per_share=carryover_loss,
        credited_ml_per_share=credited,
        account_drawn_ml_per_share=drawn,
        account_end_ml_per_share=account_end,
        evaporation_share_frac=evaporated_frac,
        spill=spill,
        sharing=sharing,
        environment_credit_ml=allowance.credit_ml,
    )


class Turned(NamedTuple):
    """What 1 July moved, each (sequence,)."""

    forfeited_ml_per_share: FloatArray
    lost_ml_per_share: FloatArray
    environment_credit_ml: FloatArray


def open_water_year(state: State, rules: Rules) -> tuple[State, Turned]:
    """Carry what may be carried into a new water year, and begin the year's counts."""
    over = accounts.carried_over(state.account_ml_per_share, rules)
    none = credit_ml = level(0.0, state.storage_ml.size)
    opened = replace(
        state,
        account_ml_per_share=over.carried_ml_per_share,
        carried_ml_per_share=over.carried_ml_per_share,
        announced_to_date_ml_per_share=none,
        water_to_date_ml_per_share=none,
        used_this_year_ml_per_share=none,
        used_last_year_ml_per_share=state.used_this_year_ml_per_share,
        used_year_before_ml_per_share=state.used_last_year_ml_per_share,
        high_security_used_ml=none,
        high_security_allocation_frac=none,
    )
    if rules.high_security_carryover_frac is not None:
        carried_ml = high_security.carried_over_ml(
            state.high_security_carried_ml,
            state.high_security_allocation_frac * rules.high_security_shares_ml,
            state.high_security_used_ml,
            rules.high_security_shares_ml,
            rules.high_security_carryover_frac,
        )
        opened = replace(opened, high_security_carried_ml=carried_ml)
    if rules.environment is not None:
        allowance_ml = at_most(rules.environment.carryover_limit_ml, state.environment_ml)
        first = first_claims(state, rules.surface.at_ha(state.storage_ml), 0, rules)
        unset_ml = first.resource_ml - first.set_aside_ml
        credit_ml = environment.yearly_credit_ml(allowance_ml, unset_ml, rules.environment)
        opened = replace(opened, environment_ml=allowance_ml + credit_ml)
    if rules.spill_lock is not None:
        opened = replace(opened, lock_closed=np.ones_like(state.lock_closed))
    return opened, Turned(over.forfeited_ml_per_share, over.lost_ml_per_share, credit_ml)


class _Reach(NamedTuple):
    """What of accounts is out of reach, and why."""

    access: Access
    frozen: FloatArray  # ML per share
    locked: FloatArray  # ML per share
    barred: FloatArray  # ML per share: frozen or locked
    stage: StageArray
    lock_closed: BoolArray


def _reach(state: State, account: FloatArray, k: int, rules: Rules, *, turns_year: bool) -> _Reach:
    """Find what is frozen and what is locked of the average account."""
    carried, stage, of_stages = state.carried_ml_per_share, state.restriction_stage, None
    if rules.stages:
        stage = stage_of(state.storage_ml, rules.stages)
        frozen, of_stages = staged(
            stage,
            state.restriction_stage,
            state.frozen_ml_per_share,
            account,
            carried,
            rules.stages,
            turns_year=turns_year,
        )
        restricted = stage > 0
    else:
        restricted = state.storage_ml <= rules.restriction_storage_ml
    closed, locked = state.lock_closed, level(0.0, account.size)
    access = Access(restricted, state.restricted, of_stages)
    if rules.spill_lock is not None:
        closed = closed_this_month(state.lock_closed, state.storage_ml, k, rules.spill_lock)
        if closed.any():
            access = replace(access, carried_locked=closed)
            locked = carried * closed
    if of_stages is None:
        before = state.frozen_ml_per_share
        frozen = frozen_ml_per_share(before, account, carried, access, rules)
    barred = out_of_reach_ml_per_share(frozen, carried, access)
    return _Reach(access, frozen, locked, barred, stage, closed)


def _high_security_order_ml(state: State, assessed: Assessed, k: int, rules: Rules) -> FloatArray:
    """Return high security's order: the month's pattern, within what is allocated or carried."""
    entitled_ml = (
        assessed.high_security_allocation_frac * rules.high_security_shares_ml
        - state.high_security_used_ml
    )
    if rules.high_security_carryover_frac is not None:
        entitled_ml = entitled_ml + state.high_security_carried_ml
    pattern_ml = rules.high_security_shares_ml * rules.high_security_pattern[k]
    return at_least(0.0, at_most(pattern_ml, entitled_ml))


class _Ordered(NamedTuple):
    """General security's order, ML at the farm gate."""

    order_ml: FloatArray
    deferred_ml: FloatArray
    put_off: BoolArray | None


def _general_security_order(
    state: State, account: FloatArray, usable: FloatArray, k: int, rules: Rules
) -> _Ordered:
    """Return what the average holder orders, times the shares; small orders wait for a block."""
    used, shares_ml = state.used_this_year_ml_per_share, rules.general_security_shares_ml
    pattern = rules.general_security_pattern[k]
    order_ml = order_ml_per_share(account, used, usable, pattern, rules) * shares_ml
    blocks = rules.block_release
    if blocks is None:
        return _Ordered(order_ml, level(0.0, order_ml.size), None)
    if not blocks.listed[k]:
        put_off = waiting(order_ml, blocks)
        placed_ml = order_ml * ~put_off
        return _Ordered(placed_ml, order_ml - placed_ml, put_off)
    block = order_ml_per_share(account, used, usable, blocks.pattern[k], rules)
    placed_ml = of_block(order_ml, block * shares_ml, blocks)
    none = level(0.0, order_ml.size)
    return _Ordered(placed_ml, none, np.zeros(order_ml.shape, dtype=np.bool_))


def _shared(account: FloatArray, weather: Weather, released: Released, rules: Rules) -> Sharing:
    """Share out the dam at the month's end."""
    assert rules.capacity_share is not None  # as called
    others_took_ml = (
        released.essential_ml
        + released.river_loss_ml
        + released.base_flow_ml
        + released.environment_ml
        + released.fixed_loss_ml
        + released.high_security_release_ml
    )
    return capacity.share_out(
        account,
        weather.inflow_ml + at_least(0.0, -released.lake_evaporation_ml),
        others_took_ml,
        at_least(0.0, released.storage_ml - rules.dead_storage_ml),
        rules.capacity_share,
    )


class _Allowance(NamedTuple):
    """The environment's allowance at a month's end, ML."""

    end_ml: FloatArray
    credit_ml: FloatArray  # from inflow


def _allowance_after(
    allowance_ml: FloatArray,
    released: Released,
    weather: Weather,
    kept_frac: FloatArray,
    rules: Rules,
) -> _Allowance:
    """Return the allowance after release, evaporation and inflow: never more than the dam holds."""
    if rules.environment is None:
        return _Allowance(allowance_ml, level(0.0, kept_frac.size))
    left_ml = (allowance_ml - released.environment_ml) * kept_frac
    credit_ml = environment.inflow_credit_ml(left_ml, weather.inflow_ml, rules.environment)
    above_dead_ml = at_least(0.0, released.storage_ml - rules.dead_storage_ml)
    return _Allowance(np.minimum(left_ml + credit_ml, above_dead_ml), credit_ml)


def _high_security_after(
    state: State, released: Released, rules: Rules
) -> tuple[FloatArray, FloatArray]:
    """Return what high security still carries, and its use of this year's water."""
    carried_ml, delivered_ml = state.high_security_carried_ml, released.high_security_ml
    if rules.high_security_carryover_frac is None:
        return carried_ml, state.high_security_used_ml + delivered_ml
    return high_security.after_delivery(carried_ml, state.high_security_used_ml, delivered_ml)
