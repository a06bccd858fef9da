"""What does a hectare yield from a season's water, watered in full until it is gone?

One hectare through its whole season by the farm's own rule of watering, for tables and yardsticks
that do not step through months. Arrays are (..., case).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from model.farm.farm_weather import MonthWeather
from model.farm.growing import Growing
from model.farm.soil import fresh_soil
from model.farm.watering import need_mm, pre_water_mm, through_month
from model.record.record import FloatArray


class HectareSeason(NamedTuple):
    """A hectare at the end of its season, each (..., case)."""

    kept_frac: FloatArray  # of the full yield
    used_ml_per_ha: FloatArray  # at the farm gate


def hectare_season(
    growing: Growing,
    soil_mm: FloatArray,
    weather: Callable[[int], MonthWeather],
    water_ml_per_ha: FloatArray,
) -> HectareSeason:
    """Take a hectare through its season.

    Parameters
    ----------
    growing
        What is grown.
    soil_mm
        In the root zone at sowing.
    weather
        Of each month of the water year, as the growing meets it.
    water_ml_per_ha
        There for it, at the farm gate; infinite: all it asks for.
    """
    per_mm = growing.gate_ml_per_ha_per_mm
    soil = fresh_soil(
        np.broadcast_to(soil_mm, np.broadcast_shapes(soil_mm.shape, water_ml_per_ha.shape))
    )
    there_mm = water_ml_per_ha / per_mm
    used_mm = np.zeros_like(soil.water_mm)
    for k, _ in growing.ground_months():
        pre_mm = np.minimum(pre_water_mm(growing, k, soil.water_mm), there_mm - used_mm)
        asked_mm = need_mm(growing, k, soil.water_mm + pre_mm, weather(k))
        got_mm = np.minimum(asked_mm, there_mm - used_mm - pre_mm)
        used_mm = used_mm + pre_mm + got_mm
        soil = through_month(growing, k, soil.wetter(pre_mm), weather(k), got_mm)
    return HectareSeason(soil.kept_frac, used_mm * per_mm)
