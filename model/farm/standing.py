"""Where does the farm stand, with what is left over valued?

Cash at the bank less arrears, and beside it what cash does not show: water that will still stand
after 1 July, land prepared and crops in the ground at cost, harvests not yet paid at their price;
less the tax on profit that is still to be paid.
It is inside every objective, so that no way of running the farm wins by draining the account in the
last season. All AUD, arrays (strategy, sequence).
"""

from __future__ import annotations

import numpy as np

from model.farm.cash import tax_book
from model.farm.drought import changed_aud
from model.farm.end_value import worth_left_aud
from model.farm.harvest import receivable_aud
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules, WaterRules
from model.farm.state import FarmState
from model.farm.tax import owing_aud
from model.record.record import FloatArray


def standing_aud(end: FarmState, river: RiverMonth, rules: FarmRules) -> FloatArray:
    """Return cash less arrears, with all that is left valued."""
    return dry_standing_aud(end, river, rules) + water_left_aud(end, river, rules)


def dry_standing_aud(end: FarmState, river: RiverMonth, rules: FarmRules) -> FloatArray:
    """Return cash less arrears, with all that is left valued but water."""
    standing: FloatArray = (
        end.bank_aud
        - end.arrears_aud
        - tax_owing_aud(end, rules)
        + end.spent_on_land_aud
        + spent_on_crops_aud(end)
        + receivable_aud(end, river.k, rules)
    )
    return standing + steps_aud(end, river, rules)


def steps_aud(end: FarmState, river: RiverMonth, rules: FarmRules) -> FloatArray | float:
    """Return what drought steps have changed of debts and of what is owned; see `changed_aud`.

    Principal put off is still owed, and what was sold is owned no more: no way of running the farm
    wins by selling it.
    """
    return 0.0 if end.drought is None else changed_aud(end.drought, river.t, rules.cash)


def tax_owing_aud(end: FarmState, rules: FarmRules) -> FloatArray:
    """Return the tax on the farm's profits that is not yet paid, this year's included."""
    if rules.cash.tax_rate_frac is None:
        return nothing_like(end.bank_aud)
    return owing_aud(tax_book(end), rules.cash.tax_rate_frac)


def spent_on_crops_aud(state: FarmState) -> FloatArray:
    """Return what was spent on the crops in the ground."""
    spent = (field.spent_aud for field in state.fields if field is not None)
    return sum(spent, nothing_like(state.bank_aud))


def water_left_aud(end: FarmState, river: RiverMonth, rules: FarmRules) -> FloatArray:
    """Return what the water left at the end of June is worth.

    By the farm's own curve (see `end_value`), or as the plan states it.

    Parameters
    ----------
    end, river
        The farm after June, and that month.
    rules
        Of the farm.
    """
    left = left_ml_per_share(end, rules.water)
    stated = rules.cash.end_value_aud_per_ml
    if stated is not None:
        return left * (rules.water.shares_ml * stated)
    if rules.water_worth is None or river.year_end is None:
        return nothing_like(left)
    turn = river.year_end
    return worth_left_aud(left, turn.dam_frac, turn.floor_aud_per_share, rules.water_worth)


def left_ml_per_share(end: FarmState, rules: WaterRules) -> FloatArray:
    """Return the water that will stand after 1 July, all of it over the shares a run opens with.

    Of the account what may be carried, less what that costs, without what is frozen; of the farm
    storage what it will not lose.
    """
    free = np.maximum(0.0, end.account_ml_per_share - end.frozen_ml_per_share)
    kept = np.minimum(free, rules.carryover_limit_ml_per_share) * (1.0 - rules.carryover_loss_frac)
    if end.drought is not None:
        kept = kept * (end.drought.shares_ml / rules.shares_ml)
    stored_ml = np.maximum(0.0, end.storage_ml - rules.july_storage_loss_ml)
    left: FloatArray = kept + stored_ml / rules.shares_ml
    return left


def left_aud_per_ml(rules: FarmRules) -> float:
    """Return what a megalitre left is worth in the middle of the curve, or as the plan states."""
    if rules.cash.end_value_aud_per_ml is not None:
        return rules.cash.end_value_aud_per_ml
    if rules.water_worth is None:
        return 0.0
    worth = rules.water_worth
    most, middle = worth.account_ml_per_share[-1], len(worth.dam_frac) // 2
    if most == 0.0:
        return 0.0
    return float(worth.worth_aud[middle, -1] / (most * rules.water.shares_ml))
