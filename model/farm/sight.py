"""How much water may a crop count on, on the day it is planted or cut back?

Every decision is made on what is known in its month, after the month's announcement: the own
account less what will evaporate, the part counted on of what is expected to be announced by the end
of watering, high security left, farm storage after its losses, and the bore. At planting a strategy
may hold some of the account over for the next season.

How long a crop is watered is its own: bore and storage are counted until its own last watering. One
that is watered past 30 June counts on what of the account is carried over and on the limits on use
of the water year to come, on the bore of both years, and on no high security of the year that ends.
Arrays are (strategy, sequence).
"""

from __future__ import annotations

import numpy as np

from model.farm.drought import hired_left_ml
from model.farm.expected import Expectation
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules, WaterRules
from model.farm.state import FarmState, Settings
from model.farm.water import (
    bore_in_a_year_ml,
    bore_left_ml,
    high_security_left_ml,
    use_left_ml_per_share,
)
from model.farm.water_ahead import WaterAhead
from model.record.record import FloatArray
from model.valley.accounts import carried_over


def account_in_sight_ml_per_share(
    state: FarmState,
    frozen: FloatArray,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation | None,
    rules: FarmRules,
    *,
    crosses_july: bool = False,
) -> FloatArray:
    """Return what the account is counted on to give a crop, within the limits on use.

    Nothing further is counted on where nothing is known to be expected (None).
    """
    expected: FloatArray | float = 0.0
    if expectation is not None:
        further = expectation.ml_per_share(river, settings.expected_chance_frac)
        expected = settings.count_on_frac * further
    own = np.maximum(0.0, state.account_ml_per_share - frozen)
    own = own * (1.0 - river.account_loss_ahead_frac)
    use_left = use_left_ml_per_share(state, rules.water)
    if crosses_july:
        own = carried_over(own, rules.water).carried_ml_per_share
        use_left = use_left_next_year_ml_per_share(state, rules.water)
    return np.minimum(own + expected, use_left)


def use_left_next_year_ml_per_share(state: FarmState, rules: WaterRules) -> FloatArray:
    """Return what the limits on use will leave of the water year to come, by use until now."""
    three_years = state.used_this_year_ml_per_share + state.used_last_year_ml_per_share
    left: FloatArray = np.minimum(
        rules.use_limit_1yr_ml_per_share, rules.use_limit_3yr_ml_per_share - three_years
    )
    return np.maximum(0.0, left)


def held_ml_per_share(
    account_in_sight: FloatArray,
    hold_back_ml_per_share: FloatArray | float,
    hold_above_ml_per_share: FloatArray | float,
) -> FloatArray:
    """Return what is held over at planting: released in a lean season, whatever it was meant to be.

    Parameters
    ----------
    account_in_sight
        ML per share.
    hold_back_ml_per_share
        The most that is held.
    hold_above_ml_per_share
        Only what is in sight above this is held.

    Examples
    --------
    >>> held_ml_per_share(np.array([0.2, 0.5, 0.9]), 0.4, 0.35).round(9).tolist()
    [0.0, 0.15, 0.4]
    """
    above = np.maximum(0.0, account_in_sight - hold_above_ml_per_share)
    return np.minimum(hold_back_ml_per_share, above)


def water_in_sight_ml(
    state: FarmState,
    frozen: FloatArray,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation | None,
    rules: FarmRules,
    *,
    ahead: WaterAhead,
    holding: bool,
) -> FloatArray:
    """Add up the water that a crop may count on, at the farm gate.

    Parameters
    ----------
    state, frozen
        The farm after the month's credit, and what of its account is frozen.
    settings, river, expectation, rules
        The strategies, the month, what is expected, and the farm.
    ahead
        The months in which the crop is still watered.
    holding
        Whether water is held over: at planting only. What stands in the account after that is the
        crop's.
    """
    water, k = rules.water, river.k
    crosses_july = ahead.crosses_july(k)
    account = account_in_sight_ml_per_share(
        state, frozen, settings, river, expectation, rules, crosses_july=crosses_july
    )
    if holding:
        account = account - held_ml_per_share(
            account, settings.hold_back_ml_per_share, settings.hold_above_ml_per_share
        )
    stored_ml = np.maximum(0.0, state.storage_ml - ahead.storage_loss_ml[k])
    bore_ml = bore_left_ml(state, float(ahead.months_this_year[k]), water)
    if crosses_july:
        bore_ml = bore_ml + bore_in_a_year_ml(float(ahead.months_next_year[k]), water)
    if state.drought is not None and ahead.months_this_year[k] > 0.0:
        bore_ml = bore_ml + hired_left_ml(state.drought)
    in_sight_ml: FloatArray = account * water.shares_ml + stored_ml + bore_ml
    if crosses_july:
        return in_sight_ml
    return in_sight_ml + high_security_left_ml(state, river, water)
