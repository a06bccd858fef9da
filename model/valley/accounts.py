"""What happens to the average general-security account through a month?

On 1 July it is carried over, within a limit and less a loss; in a month it is credited, may be
frozen in part, is drawn on, bears evaporation where the rules say so, and gives way to a spill.
Carried water is used first. All amounts are ML per share, each (sequence,).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.valley.level import at_least, at_most, level
from model.valley.rules import Rules
from model.valley.state import State

_NEARLY_EMPTY_ML = 1e-300
"""Keeps a share of an empty dam 0, not 0 / 0."""


@dataclass(frozen=True, slots=True)
class CarriedOver:
    """What 1 July took from the account, ML per share."""

    forfeited_ml_per_share: FloatArray
    lost_ml_per_share: FloatArray


def open_water_year(state: State, rules: Rules) -> tuple[State, CarriedOver]:
    """Carry the account into a new water year, and begin its counts of use and announcement."""
    kept = at_most(rules.carryover_limit_ml_per_share, state.account_ml_per_share)
    lost = kept * rules.carryover_loss_frac
    carried = kept - lost
    none = level(0.0, carried.size)
    opened = replace(
        state,
        account_ml_per_share=carried,
        carried_ml_per_share=carried,
        announced_to_date_ml_per_share=none,
        used_this_year_ml_per_share=none,
        used_last_year_ml_per_share=state.used_this_year_ml_per_share,
        used_year_before_ml_per_share=state.used_last_year_ml_per_share,
        high_security_used_ml=none,
        high_security_allocation_frac=none,
    )
    return opened, CarriedOver(state.account_ml_per_share - kept, lost)


def frozen_part(
    state: State, account: FloatArray, rules: Rules
) -> tuple[NDArray[np.bool_], FloatArray]:
    """Say where the valley is restricted, and how much of the account (ML per share) is frozen.

    The first month of a restriction freezes a fraction of the account; later months never more.
    """
    restricted = state.storage_ml <= rules.restriction_storage_ml
    if not restricted.any():
        return restricted, level(0.0, account.size)
    at_first = (1.0 - rules.restriction_access_frac) * account
    frozen = np.where(state.restricted, state.frozen_ml_per_share, at_first)
    return restricted, np.where(restricted, np.minimum(frozen, account), 0.0)


def usable_ml_per_share(
    state: State, account: FloatArray, frozen: FloatArray, rules: Rules
) -> FloatArray:
    """Give what may be ordered: not frozen, and within the limits of one and of three years."""
    this_year = state.used_this_year_ml_per_share
    three_years = (
        this_year + state.used_last_year_ml_per_share + state.used_year_before_ml_per_share
    )
    within_limits = np.minimum(
        rules.use_limit_1yr_ml_per_share - this_year, rules.use_limit_3yr_ml_per_share - three_years
    )
    return at_least(0.0, np.minimum(account - frozen, within_limits))


def kept_ml_per_share(account: FloatArray, used: FloatArray, rules: Rules) -> FloatArray | float:
    """Return what the average holder keeps back: less in a lean season, nothing in a leaner one.

    The season's water so far is the account and what is used of it this year.
    """
    if rules.others_keep_above_ml_per_share == 0.0:
        return rules.others_keep_ml_per_share  # of water used nothing is left to keep
    spared = at_least(0.0, account + used - rules.others_keep_above_ml_per_share)
    return at_most(rules.others_keep_ml_per_share, spared)


def order_ml_per_share(
    state: State, account: FloatArray, usable: FloatArray, k: int, rules: Rules
) -> FloatArray:
    """Return the average holder's order: the month's share of what is not kept, if usable."""
    kept = kept_ml_per_share(account, state.used_this_year_ml_per_share, rules)
    to_use = at_least(0.0, account - kept)
    return np.minimum(to_use * rules.general_security_pattern[k], usable)


def evaporation_share_frac(
    net_evaporation_ml: FloatArray, storage_ml: FloatArray, rules: Rules
) -> FloatArray:
    """Give the fraction of each account that evaporates: the dam's own, or nothing."""
    if not rules.lose_by_balance:
        return level(0.0, storage_ml.size)
    evaporated_ml = np.minimum(at_least(0.0, net_evaporation_ml), storage_ml)
    return evaporated_ml / at_least(_NEARLY_EMPTY_ML, storage_ml)


def after_spill(
    account: FloatArray, carried: FloatArray, spill_ml: FloatArray, rules: Rules
) -> tuple[FloatArray, FloatArray]:
    """Let a spill take what the rules say; give account and carried part after it."""
    if rules.spill_rule == "none" or not spill_ml.any():
        return account, np.minimum(carried, account)
    spills = spill_ml > 0.0
    if rules.spill_rule == "proportional":
        account = account - account * at_most(1.0, spill_ml / rules.capacity_ml)
    elif rules.spill_rule == "reset":
        account = np.where(spills, at_most(rules.reset_ml_per_share, account), account)
    else:
        at_farm_gate = spill_ml * (
            (1.0 - rules.delivery_loss_frac) / rules.general_security_shares_ml
        )
        taken = np.minimum(carried, at_farm_gate)
        account, carried = account - taken, carried - taken
    return account, np.minimum(carried, account)
