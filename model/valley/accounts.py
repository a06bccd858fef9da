"""What happens to a general-security account through a month?

On 1 July it is carried over, within a limit and less a loss; in a month it is credited as far as
there is room, may be frozen in part (`access`), is drawn on, bears evaporation where the rules say
so, and gives way to a spill. Carried water is used first.

One set of functions for every account in the valley, the average holder's and a farm's own alike:
amounts are ML per share in arrays of any shape that ends in the sequence; what the month brings,
which is the same for all holders, is (sequence,).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.record.record import FloatArray
from model.valley.level import at_least, at_most, level
from model.valley.rules import AccountRules, Rules
from model.valley.state import Account

_NEARLY_NONE = 1e-300
"""Keeps a share of nothing a number, not 0 / 0."""


@dataclass(frozen=True, slots=True)
class CarriedOver:
    """What 1 July left of an account and took from it, ML per share."""

    carried_ml_per_share: FloatArray
    forfeited_ml_per_share: FloatArray
    lost_ml_per_share: FloatArray


def carried_over(account: FloatArray, rules: AccountRules) -> CarriedOver:
    """Carry an account over 1 July."""
    kept = at_most(rules.carryover_limit_ml_per_share, account)
    lost = kept * rules.carryover_loss_frac
    return CarriedOver(kept - lost, account - kept, lost)


def credited_ml_per_share(
    announced: FloatArray, account: FloatArray, rules: AccountRules
) -> FloatArray:
    """Return what of an announcement fits into an account."""
    headroom = at_least(0.0, rules.account_limit_ml_per_share - account)
    return np.minimum(announced, headroom)


def use_left_ml_per_share(holder: Account, rules: AccountRules) -> FloatArray:
    """Return what may still be used within the limits of one and of three years."""
    return at_least(0.0, _within_limits(holder, rules))


def usable_ml_per_share(
    holder: Account, account: FloatArray, frozen: FloatArray, rules: AccountRules
) -> FloatArray:
    """Return what may be ordered: not frozen, and within the limits of one and of three years."""
    return at_least(0.0, np.minimum(account - frozen, _within_limits(holder, rules)))


def _within_limits(holder: Account, rules: AccountRules) -> FloatArray:
    """Return what the limits on use leave, below 0 where they are passed."""
    this_year = holder.used_this_year_ml_per_share
    three_years = (
        this_year + holder.used_last_year_ml_per_share + holder.used_year_before_ml_per_share
    )
    return np.minimum(
        rules.use_limit_1yr_ml_per_share - this_year, rules.use_limit_3yr_ml_per_share - three_years
    )


def evaporation_share_frac(
    net_evaporation_ml: FloatArray, storage_ml: FloatArray, rules: Rules
) -> FloatArray:
    """Return the fraction of each account that evaporates: the dam's own, or nothing."""
    if not rules.lose_by_balance:
        return level(0.0, storage_ml.size)
    evaporated_ml = np.minimum(at_least(0.0, net_evaporation_ml), storage_ml)
    return evaporated_ml / at_least(_NEARLY_NONE, storage_ml)


@dataclass(frozen=True, slots=True)
class SpillTerms:
    """What a spill takes of any account, (sequence,); None where the rule asks nothing of it."""

    account_frac: FloatArray | None = None  # of the account
    carried_frac: FloatArray | None = None  # of its carried part
    reset_ml_per_share: FloatArray | None = None  # the level it resets to; infinite: no spill


def spill_terms(carried: FloatArray, spill_ml: FloatArray, rules: Rules) -> SpillTerms | None:
    """Return what a spill takes of accounts; None where it takes nothing.

    Of carried water every holder loses the fraction that the average holder does: all of it, where
    the average holder has none left.

    Parameters
    ----------
    carried
        (sequence,) the average holder's, before the spill.
    spill_ml
        (sequence,) from the dam.
    rules
        The valley's.
    """
    if rules.spill_rule == "none" or not spill_ml.any():
        return None
    if rules.spill_rule == "proportional":
        return SpillTerms(account_frac=at_most(1.0, spill_ml / rules.capacity_ml))
    if rules.spill_rule == "reset":
        reset = np.where(spill_ml > 0.0, rules.reset_ml_per_share, np.inf)
        return SpillTerms(reset_ml_per_share=reset)
    at_farm_gate = spill_ml * ((1.0 - rules.delivery_loss_frac) / rules.general_security_shares_ml)
    return SpillTerms(carried_frac=at_most(1.0, at_farm_gate / at_least(_NEARLY_NONE, carried)))


def after_spill(
    account: FloatArray, carried: FloatArray, terms: SpillTerms | None
) -> tuple[FloatArray, FloatArray]:
    """Return an account and its carried part after a spill took its due."""
    if terms is None:
        return account, np.minimum(carried, account)
    if terms.account_frac is not None:
        account = account - account * terms.account_frac
    if terms.carried_frac is not None:
        taken = carried * terms.carried_frac
        account, carried = at_least(0.0, account - taken), carried - taken
    if terms.reset_ml_per_share is not None:
        account = np.minimum(account, terms.reset_ml_per_share)
    return account, np.minimum(carried, account)
