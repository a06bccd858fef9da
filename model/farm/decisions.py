"""How much land is made ready, planted and finished, and is water bought or sold?

Every decision is made on what is known in its month, after the month's announcement: own water, and
the further allocation expected on that date. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from model.farm.expected import Expectation
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import FarmState, Settings
from model.farm.water import (
    bore_left_ml,
    drawn,
    high_security_left_ml,
    usable_ml_per_share,
    use_left_ml_per_share,
)
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Traded:
    """Water bought and sold in a month, ML, each (strategy, sequence)."""

    bought_ml: FloatArray
    sold_ml: FloatArray


def water_in_sight_ml(
    state: FarmState,
    frozen: FloatArray,
    hold_back_ml_per_share: FloatArray | float,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation | None,
    rules: FarmRules,
) -> FloatArray:
    """Add up the water that a crop may count on, at the farm gate.

    Own account, less what will evaporate, and the part counted on of what is expected, within the
    limits on use; less what is held back; high security left; farm storage after its losses; bore.
    """
    water, k = rules.water, river.k
    expected = (
        np.zeros_like(frozen)
        if expectation is None
        else settings.count_on_frac * expectation.ml_per_share(river, settings.expected_chance_frac)
    )
    own = np.maximum(0.0, state.account_ml_per_share - frozen)
    own = own * (1.0 - river.account_loss_ahead_frac)
    account = np.minimum(own + expected, use_left_ml_per_share(state, water))
    account = np.maximum(0.0, account - hold_back_ml_per_share)
    stored_ml = np.maximum(0.0, state.storage_ml - water.storage_loss_ahead_ml[k])
    high_security_ml = high_security_left_ml(state, river, water)
    bore_ml = bore_left_ml(state, float(water.months_to_water[k]), water)
    in_sight_ml: FloatArray = account * water.shares_ml + high_security_ml + stored_ml + bore_ml
    return in_sight_ml


def buyable_ml(
    state: FarmState,
    frozen: FloatArray,
    wanted_ml: FloatArray,
    settings: Settings,
    river: RiverMonth,
    rules: FarmRules,
) -> FloatArray:
    """Give what is bought: at the price or less, no more than fits the account or may be used."""
    if not rules.cash.trades or not (settings.buy_up_to_ml > 0.0).any():
        return np.zeros_like(wanted_ml)
    water, account = rules.water, state.account_ml_per_share
    headroom = np.maximum(0.0, water.account_limit_ml_per_share - account)
    usable = usable_ml_per_share(state, account, frozen, water)
    use_left = use_left_ml_per_share(state, water) - usable
    most_ml = np.minimum(headroom, use_left) * water.shares_ml
    bought_ml = np.minimum(np.minimum(wanted_ml, settings.buy_up_to_ml), most_ml)
    return np.where(river.price_aud_per_ml <= settings.buy_below_aud_per_ml, bought_ml, 0.0)


def sell_water(
    state: FarmState,
    frozen: FloatArray,
    for_crops_ml: Callable[[], FloatArray],
    settings: Settings,
    river: RiverMonth,
    rules: FarmRules,
) -> tuple[FarmState, FloatArray]:
    """Sell what is left over, where the price is right; give also how much, ML.

    Kept back: what the crop in the ground may still need, and what the strategy never sells. Water
    sold counts against the limits on use as water used does.
    """
    selling = (settings.sell_k == river.k) & (
        river.price_aud_per_ml >= settings.sell_above_aud_per_ml
    )
    if not rules.cash.trades or not selling.any():
        return state, np.zeros_like(state.account_ml_per_share)
    water = rules.water
    usable = usable_ml_per_share(state, state.account_ml_per_share, frozen, water)
    kept = settings.sell_keep_ml_per_share + for_crops_ml() / water.shares_ml
    sold = np.where(selling, np.maximum(0.0, usable - kept), 0.0)
    return drawn(state, sold), sold * water.shares_ml
