"""How is the crop watered in a month, and what does a shortage cost it?

Arrays are (strategy, sequence).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.farm.decisions import need_to_come_ml_per_ha
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import FarmState, Settings
from model.farm.water import (
    Taken,
    after_taking,
    bore_left_ml,
    high_security_left_ml,
    take_water,
)
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class CropMonth:
    """What a month's watering was, each (strategy, sequence)."""

    need_ml: FloatArray  # at the farm gate
    taken: Taken


def water_crop(
    state: FarmState,
    usable: FloatArray,
    settings: Settings,
    river: RiverMonth,
    rules: FarmRules,
) -> tuple[FarmState, CropMonth]:
    """Water the crop for a month: rain first, then the root zone, then water at the farm gate.

    Parameters
    ----------
    state
        The farm after the month's decisions.
    usable
        Of the account, ML per share.
    settings, river, rules
        The strategies, the month and the farm.
    """
    crop, k = rules.crop, river.k
    if not crop.is_watered_in(k):
        none = np.zeros_like(usable)
        return state, CropMonth(none, Taken(none, none, none, none, none))
    area_ha, per_mm = state.watered_ha, crop.gate_ml_per_ha_per_mm
    pre_mm = crop.pre_water_ml_per_ha / per_mm if k == crop.planting_k else 0.0
    soil_mm = np.minimum(state.soil_water_mm + pre_mm, crop.soil_capacity_mm)
    need_mm = np.maximum(0.0, river.after_rain_mm - soil_mm)
    need_ml = need_mm * (area_ha * per_mm)
    pre_ml = area_ha * (pre_mm * per_mm)
    needed_ml = asked_ml = need_ml + pre_ml
    if k >= crop.finish_k and settings.spreads_shortage.any():
        asked_ml = rationed_ml(asked_ml, state, usable, settings, river, rules)
    taken = take_water(asked_ml, state, usable, river, rules.water)
    got_ml = taken.total_ml
    if pre_mm > 0.0:  # what pre-watering lacked, the soil lacks
        lacking_frac = 1.0 - part_of(np.minimum(got_ml, pre_ml), pre_ml)
        soil_mm = np.maximum(0.0, soil_mm - lacking_frac * pre_mm)
    water_mm = part_of(np.maximum(0.0, got_ml - pre_ml), need_ml) * need_mm
    unmet_mm = np.maximum(0.0, river.after_rain_mm - soil_mm - water_mm)
    shortfall = unmet_mm * reciprocal(river.crop_use_mm)
    after = replace(
        after_taking(state, taken, river, rules.water),
        soil_water_mm=np.maximum(0.0, soil_mm - np.maximum(0.0, river.after_rain_mm - water_mm)),
        yield_lost_frac=np.minimum(1.0, state.yield_lost_frac + crop.sensitivity[k] * shortfall),
    )
    return after, CropMonth(needed_ml, taken)


def rationed_ml(
    asked_ml: FloatArray,
    state: FarmState,
    usable: FloatArray,
    settings: Settings,
    river: RiverMonth,
    rules: FarmRules,
) -> FloatArray:
    """Spread a shortage over the months to come, under strategies that do so."""
    water, k = rules.water, river.k
    there_ml = (
        usable * water.shares_ml
        + high_security_left_ml(state, river, water)
        + state.storage_ml
        + bore_left_ml(state, float(water.months_to_water[k]), water)
    )
    to_come_ml = need_to_come_ml_per_ha(state, k, rules) * state.watered_ha
    frac = np.minimum(1.0, part_of(there_ml, to_come_ml))
    return np.where(settings.spreads_shortage, asked_ml * frac, asked_ml)


def part_of(part: FloatArray, whole: FloatArray) -> FloatArray:
    """Divide; 1 where there is nothing to divide by: nothing was lacking."""
    return np.divide(part, whole, out=np.ones_like(whole), where=whole > 0.0)


def reciprocal(values: FloatArray) -> FloatArray:
    """Give 1 over each value, 0 where it is 0."""
    return np.divide(1.0, values, out=np.zeros_like(values), where=values > 0.0)
