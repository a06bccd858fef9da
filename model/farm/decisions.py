"""How much land is made ready, planted and finished, and is water bought or sold?

Every decision is made on what is known in its month, after the month's announcement: own water, and
the further allocation expected on that date. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import FarmState, Settings
from model.farm.water import drawn, usable_ml_per_share, use_left_ml_per_share
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Traded:
    """Water bought and sold in a month, ML, each (strategy, sequence)."""

    bought_ml: FloatArray
    sold_ml: FloatArray


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
    return drawn(state, sold, river), sold * water.shares_ml
