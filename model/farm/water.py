"""What happens to the farm's water in a month?

Its own account goes through the valley's own account functions, with its own use and its own
headroom: too full an account takes no more credit, and a spill takes carried water. The crop is
watered from uncontrolled flow, high security, the farm storage, the account and a bore, in the
plan's order. Arrays are (strategy, sequence); accounts in ML per share, all other water in ML at
the farm gate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.farm.drought import HiredMonth, after_hired, take_hired
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import WaterRules
from model.farm.state import FarmState
from model.record.record import FloatArray
from model.units import ML_PER_MM_HA
from model.valley import access, accounts, capacity, high_security
from model.valley.accounts import usable_ml_per_share as usable_ml_per_share
from model.valley.accounts import use_left_ml_per_share as use_left_ml_per_share


@dataclass(frozen=True, slots=True)
class Taken:
    """Where the crop's water came from, ML, each (strategy, sequence)."""

    supplementary_ml: FloatArray
    high_security_ml: FloatArray
    storage_ml: FloatArray
    general_security_ml: FloatArray
    bore_ml: FloatArray
    hired: HiredMonth | None = None  # bores hired in a drought; None: no strategy may

    @property
    def total_ml(self) -> FloatArray:
        """All of it."""
        own_ml = self.river_ml + self.storage_ml + self.bore_ml
        return own_ml if self.hired is None else own_ml + self.hired.total_ml

    @property
    def groundwater_ml(self) -> FloatArray:
        """What came from bores, the farm's own and hired."""
        return self.bore_ml if self.hired is None else self.bore_ml + self.hired.total_ml

    @property
    def river_ml(self) -> FloatArray:
        """What came from the river this month."""
        return self.supplementary_ml + self.high_security_ml + self.general_security_ml


def turn_water_year(
    state: FarmState, river: RiverMonth, rules: WaterRules
) -> tuple[FarmState, FloatArray]:
    """Carry the account over 1 July; return also what that took from it, ML per share."""
    over = accounts.carried_over(state.account_ml_per_share, rules)
    carried = over.carried_ml_per_share
    none = nothing_like(carried)
    turned = replace(
        state,
        account_ml_per_share=carried,
        carried_ml_per_share=carried,
        used_this_year_ml_per_share=none,
        used_last_year_ml_per_share=state.used_this_year_ml_per_share,
        used_year_before_ml_per_share=state.used_last_year_ml_per_share,
        high_security_used_ml=none,
        high_security_carried_ml=_high_security_carried_over_ml(state, river, rules),
        bore_used_ml=none,
        supplementary_used_ml=none,
        bought_ml=none,
        sold_ml=none,
    )
    return turned, over.forfeited_ml_per_share + over.lost_ml_per_share


def _high_security_carried_over_ml(
    state: FarmState, river: RiverMonth, rules: WaterRules
) -> FloatArray:
    """Return what of the farm's own high security goes into a new year."""
    if rules.high_security_carryover_frac is None:
        return state.high_security_carried_ml
    return high_security.carried_over_ml(
        state.high_security_carried_ml,
        river.high_security_ended_frac * rules.high_security_shares_ml,
        state.high_security_used_ml,
        rules.high_security_shares_ml,
        rules.high_security_carryover_frac,
    )


def credited_ml_per_share(state: FarmState, river: RiverMonth, rules: WaterRules) -> FloatArray:
    """Return what is announced and fits into the account; where capacity is shared, nothing is."""
    if river.shared is not None:
        return nothing_like(state.account_ml_per_share)
    return accounts.credited_ml_per_share(
        river.announced_ml_per_share, state.account_ml_per_share, rules
    )


def frozen_ml_per_share(
    state: FarmState, account: FloatArray, river: RiverMonth, rules: WaterRules
) -> FloatArray:
    """Return what a restriction freezes: a fraction when it begins, never more after."""
    return access.frozen_ml_per_share(
        state.frozen_ml_per_share, account, state.carried_ml_per_share, river.access, rules
    )


def high_security_left_ml(state: FarmState, river: RiverMonth, rules: WaterRules) -> FloatArray:
    """Return what is allocated to high security, or carried over, and not yet used."""
    allocated_ml = river.high_security_allocation_frac * rules.high_security_shares_ml
    this_years_ml = allocated_ml - state.high_security_used_ml
    return np.maximum(0.0, this_years_ml + state.high_security_carried_ml)


def bore_left_ml(state: FarmState, months: float, rules: WaterRules) -> FloatArray:
    """Return what the bore can bring in so many months."""
    left_ml = np.maximum(0.0, rules.bore_ml_per_year - state.bore_used_ml)
    return np.minimum(left_ml, rules.bore_ml_per_month * months)


def bore_in_a_year_ml(months: float, rules: WaterRules) -> float:
    """Return what the bore can bring in so many months of a water year that is still to begin."""
    return min(rules.bore_ml_per_year, rules.bore_ml_per_month * months)


def supplementary_left_ml(
    state: FarmState, river: RiverMonth, rules: WaterRules, taken_ml: FloatArray | float = 0.0
) -> FloatArray:
    """Return the uncontrolled flow that may be taken: pumps, days of access, share and licence."""
    month_ml = np.minimum(
        river.uncontrolled_ml * rules.flow_share_frac, rules.supplementary_ml_per_month
    )
    share_ml = np.maximum(0.0, month_ml - taken_ml)
    left_ml = np.maximum(0.0, rules.supplementary_ml_per_year - state.supplementary_used_ml)
    return np.minimum(share_ml, left_ml)


def take_water(
    need_ml: FloatArray,
    state: FarmState,
    usable_ml_per_share: FloatArray,
    river: RiverMonth,
    rules: WaterRules,
) -> Taken:
    """Meet a need from the sources in the plan's order, each as far as it goes.

    Parameters
    ----------
    need_ml
        At the farm gate.
    state
        The farm before it.
    usable_ml_per_share
        Of the account, before it.
    river, rules
        The month, and the farm's water.
    """
    left_ml, taken = need_ml, {}
    none, hired = nothing_like(need_ml), None
    for source in rules.source_order:
        if source == "general_security":
            order_ml = np.minimum(left_ml, usable_ml_per_share * rules.shares_ml)
            got_ml = order_ml * river.general_security_delivered_frac
        elif source == "storage" and rules.storage_capacity_ml > 0.0:
            got_ml = np.minimum(left_ml, state.storage_ml)
        elif source == "high_security" and rules.high_security_shares_ml > 0.0:
            order_ml = np.minimum(left_ml, high_security_left_ml(state, river, rules))
            got_ml = order_ml * river.high_security_delivered_frac
        elif source == "supplementary" and rules.supplementary_ml_per_month > 0.0:
            got_ml = np.minimum(left_ml, supplementary_left_ml(state, river, rules))
        elif source == "bore" and rules.bore_ml_per_month > 0.0:
            got_ml = np.minimum(left_ml, bore_left_ml(state, 1.0, rules))
        else:
            got_ml = none
        taken[f"{source}_ml"] = got_ml
        left_ml = left_ml if got_ml is none else left_ml - got_ml
        if source == "bore" and state.drought is not None:
            hired = take_hired(left_ml, state.drought)
            left_ml = left_ml - hired.total_ml
    return Taken(**taken, hired=hired)


def after_taking(state: FarmState, taken: Taken, river: RiverMonth, rules: WaterRules) -> FarmState:
    """Book what was taken; carried water is used first."""
    used = taken.general_security_ml / rules.shares_ml
    carried_ml, high_used_ml = high_security.after_delivery(
        state.high_security_carried_ml, state.high_security_used_ml, taken.high_security_ml
    )
    drought = state.drought
    if drought is not None and taken.hired is not None:
        drought = after_hired(drought, taken.hired)
    return replace(
        drawn(state, used, river),
        drought=drought,
        high_security_used_ml=high_used_ml,
        high_security_carried_ml=carried_ml,
        storage_ml=state.storage_ml - taken.storage_ml,
        bore_used_ml=state.bore_used_ml + taken.bore_ml,
        supplementary_used_ml=state.supplementary_used_ml + taken.supplementary_ml,
    )


def drawn(state: FarmState, used: FloatArray, river: RiverMonth) -> FarmState:
    """Return the farm after it drew on its account, ML per share."""
    return replace(
        state,
        account_ml_per_share=np.maximum(0.0, state.account_ml_per_share - used),
        carried_ml_per_share=access.carried_after_use(
            state.carried_ml_per_share, used, state.frozen_ml_per_share, river.access
        ),
        used_this_year_ml_per_share=state.used_this_year_ml_per_share + used,
    )


def out_of_reach_ml_per_share(
    state: FarmState, frozen: FloatArray, river: RiverMonth
) -> FloatArray:
    """Return what may not be ordered of the account: frozen, or carried and locked."""
    return access.out_of_reach_ml_per_share(frozen, state.carried_ml_per_share, river.access)


@dataclass(frozen=True, slots=True)
class AccountEnd:
    """What an account bore at a month's end, ML per share, each (strategy, sequence)."""

    evaporated: FloatArray
    spilled: FloatArray
    drawn_on: FloatArray  # by higher classes, where capacity is shared
    shared: FloatArray  # credited then, where capacity is shared

    @property
    def lost(self) -> FloatArray:
        """All that the account lost."""
        return self.evaporated + self.spilled + self.drawn_on


def account_after(state: FarmState, river: RiverMonth) -> tuple[FarmState, AccountEnd]:
    """Return the farm after evaporation and a spill took their parts, or the dam was shared out."""
    before, kept_frac = state.account_ml_per_share, 1.0 - river.evaporation_share_frac
    held = before * kept_frac
    account, carried = accounts.after_spill(
        held, state.carried_ml_per_share * kept_frac, river.spill
    )
    evaporated, spilled = before - held, held - account
    shared = drawn_on = nothing_like(account)
    if river.shared is not None:
        shared, drawn_on = capacity.after_sharing(account, river.shared)
        account = account + shared - drawn_on
        carried = np.minimum(carried, account)
    after = replace(state, account_ml_per_share=account, carried_ml_per_share=carried)
    return after, AccountEnd(evaporated, spilled, drawn_on, shared)


@dataclass(frozen=True, slots=True)
class StorageMonth:
    """What moved in the farm storage, ML, each (strategy, sequence)."""

    pumped_in_ml: FloatArray  # uncontrolled flow
    net_loss_ml: FloatArray  # evaporation and seepage less rain; below 0 in a wet month


def storage_after(
    state: FarmState, taken: Taken, river: RiverMonth, rules: WaterRules
) -> tuple[FarmState, StorageMonth]:
    """Fill the farm storage from uncontrolled flow, and let it evaporate and seep."""
    if rules.storage_capacity_ml == 0.0:
        none = nothing_like(state.storage_ml)
        return state, StorageMonth(none, none)
    room_ml = rules.storage_capacity_ml - state.storage_ml
    left_ml = supplementary_left_ml(state, river, rules, taken.supplementary_ml)
    pumped_ml = np.minimum(left_ml, np.maximum(0.0, room_ml))
    filled_ml = state.storage_ml + pumped_ml
    gain_ml = river.storage_gain_mm * (rules.storage_surface_ha * ML_PER_MM_HA)
    end_ml = np.clip(filled_ml + gain_ml, 0.0, rules.storage_capacity_ml)
    after = replace(
        state,
        storage_ml=end_ml,
        supplementary_used_ml=state.supplementary_used_ml + pumped_ml,
    )
    return after, StorageMonth(pumped_ml, filled_ml - end_ml)
