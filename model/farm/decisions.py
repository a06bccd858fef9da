"""How much land is made ready, planted and finished, and is water bought or sold?

Every decision is made on what is known in its month, after the month's announcement: own water, and
the further allocation expected on that date. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.farm.expected import Expectation
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.sight import water_in_sight_ml
from model.farm.state import BoolArray, FarmState, Settings
from model.farm.water import drawn, usable_ml_per_share, use_left_ml_per_share
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Traded:
    """Water bought and sold in a month, ML, each (strategy, sequence)."""

    bought_ml: FloatArray
    sold_ml: FloatArray


def prepare_land(state: FarmState, settings: Settings, k: int, rules: FarmRules) -> FarmState:
    """Choose the land for the next crop: the fuller the account, the more, in the month for it."""
    choosing = settings.prepare_k == k
    if not choosing.any():
        return state
    full_at = settings.prepare_all_at_ml_per_share
    fullness = np.where(
        full_at > 0.0, state.account_ml_per_share / np.where(full_at > 0.0, full_at, 1.0), 1.0
    )
    least = settings.prepare_least_frac
    part = least + (1.0 - least) * np.minimum(1.0, fullness)
    prepared_ha = np.where(choosing, part * rules.crop.land_limit_ha, state.prepared_ha)
    return replace(state, prepared_ha=prepared_ha)


def plant(
    state: FarmState,
    frozen: FloatArray,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation,
    rules: FarmRules,
) -> tuple[FarmState, FloatArray]:
    """Plant what the water counted on will carry; give also the water bought for it, ML.

    Land made ready and not planted grows the plan's other crop; what was spent on it is lost.
    """
    crop = rules.crop
    counted_ml = water_in_sight_ml(state, frozen, settings, river, expectation, rules, holding=True)
    most_ha = np.minimum(crop.land_limit_ha, settings.most_area_ha)
    land_ha = np.minimum(state.prepared_ha, most_ha)
    per_ha = settings.planned_water_ml_per_ha
    wanted_ml = np.maximum(0.0, land_ha * per_ha - counted_ml)
    bought_ml = buyable_ml(state, frozen, wanted_ml, settings, river, rules)
    area_ha = np.minimum(land_ha, (counted_ml + bought_ml) / per_ha)
    area_ha = np.where(area_ha < settings.smallest_area_ha, 0.0, area_ha)
    if river.first_planting:
        chosen = ~np.isnan(settings.first_area_ha)
        chosen_ha = np.minimum(settings.first_area_ha, state.prepared_ha)
        area_ha = np.where(chosen, chosen_ha, area_ha)
        bought_ml = np.where(chosen, 0.0, bought_ml)
    bought_ml = np.where(area_ha > 0.0, bought_ml, 0.0)
    planted = replace(
        state,
        account_ml_per_share=state.account_ml_per_share + bought_ml / rules.water.shares_ml,
        prepared_ha=np.zeros_like(area_ha),
        planted_ha=area_ha,
        watered_ha=area_ha,
        run_out_ha=np.zeros_like(area_ha),
        rotation_ha=np.maximum(0.0, crop.developed_ha - state.prepared_ha),
        unplanted_ha=state.prepared_ha - area_ha,
        soil_water_mm=np.full_like(area_ha, crop.planting_soil_water_mm),
        yield_lost_frac=np.zeros_like(area_ha),
        run_out_yield_bales_per_ha=np.zeros_like(area_ha),
        spent_on_crop_aud=state.spent_on_land_aud,
        spent_on_land_aud=np.zeros_like(area_ha),
    )
    return planted, bought_ml


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


def need_to_come_ml_per_ha(state: FarmState, k: int, rules: FarmRules) -> FloatArray:
    """Give what a hectare is likely to need from this month on, in average weather."""
    crop = rules.crop
    need_mm: FloatArray = np.maximum(0.0, crop.need_ahead_mm[k] - state.soil_water_mm)
    return need_mm * crop.gate_ml_per_ha_per_mm


def finish(
    state: FarmState,
    frozen: FloatArray,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation,
    rules: FarmRules,
) -> FarmState:
    """Cut the crop back to what the water will finish, unless the shortage is to be spread.

    Land cut gets no more water. It is kept for picking only where the yield it will still make pays
    the costs still to come; otherwise it is given up, and costs nothing more.
    """
    cuts = ~settings.spreads_shortage
    if not cuts.any():
        return state
    sight_ml = water_in_sight_ml(state, frozen, settings, river, expectation, rules, holding=False)
    per_ha = need_to_come_ml_per_ha(state, river.k, rules)
    enough_ha = np.divide(sight_ml, per_ha, out=np.full_like(sight_ml, np.inf), where=per_ha > 0.0)
    finished_ha = np.where(cuts, np.minimum(state.watered_ha, enough_ha), state.watered_ha)
    cut_ha = state.watered_ha - finished_ha
    run_out = run_out_yield_bales_per_ha(state, river.k, rules)
    pays = pays_to_pick(run_out, rules.cash.growing_cost_ahead_aud_per_ha[river.k], rules)
    return replace(
        state,
        watered_ha=finished_ha,
        run_out_ha=state.run_out_ha + np.where(pays, cut_ha, 0.0),
        run_out_yield_bales_per_ha=np.where(cuts, run_out, state.run_out_yield_bales_per_ha),
    )


def run_out_yield_bales_per_ha(state: FarmState, k: int, rules: FarmRules) -> FloatArray:
    """Give what land yields whose last watering was last month's, less what it lost before."""
    crop = rules.crop
    frac = crop.run_out_frac[k - 1] * (1.0 - state.yield_lost_frac)
    bales_per_ha: FloatArray = crop.full_yield_bales_per_ha * np.maximum(crop.rain_grown_frac, frac)
    return bales_per_ha


def pays_to_pick(
    bales_per_ha: FloatArray, growing_aud_per_ha: FloatArray | float, rules: FarmRules
) -> BoolArray:
    """Tell whether a yield pays the costs still to come; what is spent is spent."""
    cash = rules.cash
    to_come_aud = growing_aud_per_ha + cash.picking_cost_aud_per_ha
    a_bale_leaves_aud = cash.price_aud_per_bale - cash.picking_cost_aud_per_bale
    return np.asarray(bales_per_ha * a_bale_leaves_aud > to_come_aud)


def sell_water(
    state: FarmState,
    frozen: FloatArray,
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
    kept = settings.sell_keep_ml_per_share + (
        need_to_come_ml_per_ha(state, river.k, rules) * state.watered_ha / water.shares_ml
    )
    sold = np.where(selling, np.maximum(0.0, usable - kept), 0.0)
    return drawn(state, sold, river), sold * water.shares_ml
