"""How much yearly water is bought and sold in a month?

The market is thin: buying and selling each have a most for the season. A buyer pays more than the
price and a seller gets less, and both pay a fee. A strategy names its months and the prices at
which it trades; it may also buy or sell a stated volume at once, at any price. To plant it buys
what its land lacks, with a crop in the ground what the crop is likely to lack, in any other month
as much as it may. Water bought must fit the account, and the limits on use may leave it there;
water sold counts against them as water used does. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from model.farm.nothing import nothing_like
from model.farm.price import Market
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import FarmState, Settings
from model.farm.water import drawn, usable_ml_per_share, use_left_ml_per_share
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Traded:
    """Yearly water bought and sold in a month, each (strategy, sequence)."""

    bought_ml: FloatArray
    sold_ml: FloatArray
    paid_aud: FloatArray
    got_aud: FloatArray


def traded_of(
    bought_ml: FloatArray, sold_ml: FloatArray, river: RiverMonth, market: Market | None
) -> Traded:
    """Put a price on what was bought and sold."""
    if market is None:
        return Traded(bought_ml, sold_ml, bought_ml, sold_ml)  # nothing, and for nothing
    return Traded(
        bought_ml,
        sold_ml,
        bought_ml * market.paid_aud_per_ml(river.price_aud_per_ml),
        sold_ml * market.got_aud_per_ml(river.price_aud_per_ml),
    )


def buyable_ml(
    state: FarmState,
    frozen: FloatArray,
    wanted_ml: FloatArray,
    settings: Settings,
    river: RiverMonth,
    rules: FarmRules,
) -> FloatArray:
    """Return what is bought of the water wanted: at the strategy's price or less.

    No more than fits the account or may be used, than the strategy buys in a season, and than the
    market offers in one.
    """
    if rules.market is None or not (settings.buy_up_to_ml > 0.0).any():
        return nothing_like(wanted_ml)
    most_ml = np.minimum(settings.buy_up_to_ml, rules.market.most_ml_per_season) - state.bought_ml
    bought_ml = np.minimum(np.minimum(wanted_ml, most_ml), room_ml(state, frozen, rules))
    cheap = river.price_aud_per_ml <= settings.buy_below_aud_per_ml
    return np.where(cheap, np.maximum(0.0, bought_ml), 0.0)


def room_ml(state: FarmState, frozen: FloatArray, rules: FarmRules) -> FloatArray:
    """Return what may be bought: what fits the account, and may be used beside what is in it."""
    water, account = rules.water, state.account_ml_per_share
    headroom = np.maximum(0.0, water.account_limit_ml_per_share - account)
    usable = usable_ml_per_share(state, account, frozen, water)
    room: FloatArray = np.minimum(headroom, use_left_ml_per_share(state, water) - usable)
    return room * water.shares_ml


def bought(state: FarmState, ml: FloatArray, rules: FarmRules) -> FarmState:
    """Add water bought to the account."""
    account = state.account_ml_per_share + ml / rules.water.shares_ml
    return replace(state, account_ml_per_share=account, bought_ml=state.bought_ml + ml)


def sold(state: FarmState, ml: FloatArray, river: RiverMonth, rules: FarmRules) -> FarmState:
    """Take water sold from the account."""
    return replace(drawn(state, ml / rules.water.shares_ml, river), sold_ml=state.sold_ml + ml)


def trade_now(
    state: FarmState, frozen: FloatArray, settings: Settings, river: RiverMonth, rules: FarmRules
) -> tuple[FarmState, FloatArray, FloatArray]:
    """Buy or sell what a strategy trades at once, in the run's first month; return both, ML."""
    none = nothing_like(state.bank_aud)
    now = (settings.buy_now_ml > 0.0).any() or (settings.sell_now_ml > 0.0).any()
    if rules.market is None or river.t > 0 or not now:
        return state, none, none
    most_ml, shares_ml = rules.market.most_ml_per_season, rules.water.shares_ml
    buy_ml = np.minimum(settings.buy_now_ml, np.maximum(0.0, most_ml - state.bought_ml))
    buy_ml = np.minimum(buy_ml, room_ml(state, frozen, rules))
    state = bought(state, buy_ml, rules)
    usable = usable_ml_per_share(state, state.account_ml_per_share, frozen, rules.water)
    sell_ml = np.minimum(settings.sell_now_ml, np.maximum(0.0, most_ml - state.sold_ml))
    sell_ml = np.minimum(sell_ml, usable * shares_ml)
    return sold(state, sell_ml, river, rules), buy_ml, sell_ml


def buy_water(
    state: FarmState,
    frozen: FloatArray,
    for_crops_ml: Callable[[], FloatArray],
    settings: Settings,
    river: RiverMonth,
    rules: FarmRules,
) -> tuple[FarmState, FloatArray]:
    """Buy in a strategy's months other than that of planting; return also how much, ML.

    Parameters
    ----------
    state, frozen
        The farm, and what of its account is frozen.
    for_crops_ml
        Returns what the crops in the ground may still need, in average weather.
    settings, river, rules
        The strategies, the month and the farm.
    """
    buying = settings.buy_in[:, [river.k]]
    if rules.market is None or river.k == rules.crop.planting_k or not buying.any():
        return state, nothing_like(state.bank_aud)
    wanted_ml = np.full_like(state.bank_aud, np.inf)
    if rules.crop.planting_k <= river.k <= rules.crop.last_watering_k:
        in_account_ml = (
            usable_ml_per_share(state, state.account_ml_per_share, frozen, rules.water)
            * rules.water.shares_ml
        )
        wanted_ml = np.maximum(0.0, for_crops_ml() - in_account_ml - state.storage_ml)
    ml = buyable_ml(state, frozen, np.where(buying, wanted_ml, 0.0), settings, river, rules)
    return bought(state, ml, rules), ml


def sell_water(
    state: FarmState,
    frozen: FloatArray,
    for_crops_ml: Callable[[], FloatArray],
    settings: Settings,
    river: RiverMonth,
    rules: FarmRules,
) -> tuple[FarmState, FloatArray]:
    """Sell what is left over, at the strategy's price or more; return also how much, ML.

    Kept back: what the crop in the ground may still need, and what the strategy never sells.

    Parameters
    ----------
    state, frozen
        The farm, and what of its account is frozen.
    for_crops_ml
        Returns what the crops in the ground may still need, in average weather.
    settings, river, rules
        The strategies, the month and the farm.
    """
    dear = river.price_aud_per_ml >= settings.sell_above_aud_per_ml
    selling = settings.sell_in[:, [river.k]] & dear
    if rules.market is None or not selling.any():
        return state, nothing_like(state.bank_aud)
    usable = usable_ml_per_share(state, state.account_ml_per_share, frozen, rules.water)
    kept_ml = settings.sell_keep_ml_per_share * rules.water.shares_ml + for_crops_ml()
    most_ml = np.maximum(0.0, rules.market.most_ml_per_season - state.sold_ml)
    left_ml = np.maximum(0.0, usable * rules.water.shares_ml - kept_ml)
    ml = np.where(selling, np.minimum(left_ml, most_ml), 0.0)
    return sold(state, ml, river, rules), ml
