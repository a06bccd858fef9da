"""How much water does a growing ask for in a month, what does it do with it, and what is to come?

Watering aims for a level at the month's end; what is got goes on at once as far as the root zone is
below the stress level, and evenly over the month's days beyond that. In the month of sowing,
pre-water goes on first. What is still to come, water and yield, is reckoned in average weather.

Arrays are (..., sequence); depths are in the root zone, mm.
"""

from __future__ import annotations

import numpy as np

from model.farm.farm_weather import MonthWeather
from model.farm.growing import GroundMonth, Growing
from model.farm.soil import Soil, fresh_soil, through
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR


def pre_water_mm(growing: Growing, k: int, water_mm: FloatArray) -> FloatArray:
    """Return what is put on before the crop is sown: as much as stated, or as the profile takes."""
    if k != growing.calendar.sow_k or growing.pre_water_mm == 0.0:
        return np.zeros_like(water_mm)
    room_mm = np.maximum(0.0, growing.root_zone.capacity_mm - water_mm)
    return np.minimum(growing.pre_water_mm, room_mm)


def need_mm(growing: Growing, k: int, water_mm: FloatArray, weather: MonthWeather) -> FloatArray:
    """Return the water that brings the root zone to the month's target; 0 where not watered.

    Parameters
    ----------
    growing, k
        What is grown, and the month of the water year.
    water_mm
        In the root zone at its start, after pre-water.
    weather
        Of the month.
    """
    month = growing.months[k]
    if month is None or month.target_mm is None:
        return np.zeros_like(water_mm)
    gain_mm = rain_a_day_mm(month, weather) - month.use_mm(month.kc, weather.eto_mm)
    return np.maximum(0.0, month.target_mm - water_mm - gain_mm * month.days)


def through_month(
    growing: Growing, k: int, soil: Soil, weather: MonthWeather, water_mm: FloatArray | None = None
) -> Soil:
    """Take land through a month.

    Parameters
    ----------
    growing, k
        What is grown, and the month of the water year.
    soil
        Of the land, at the month's start.
    weather
        Of the month.
    water_mm
        Got in it, pre-water apart; None: on rain alone.
    """
    month = growing.months[k]
    if month is None:
        return soil
    supply_mm = rain_a_day_mm(month, weather)
    if water_mm is not None:
        lacking_mm = np.maximum(0.0, growing.root_zone.stress_below_mm - soil.water_mm)
        at_once_mm = np.minimum(water_mm, lacking_mm)
        soil = soil.wetter(at_once_mm)
        supply_mm = supply_mm + (water_mm - at_once_mm) / month.days
    for over, kc in month.pieces:
        use_mm = month.use_mm(kc, weather.eto_mm)
        soil = through(soil, supply_mm, use_mm, over, growing.root_zone)
    return soil


def rain_a_day_mm(month: GroundMonth, weather: MonthWeather) -> FloatArray:
    """Return the helpful rain of a day; none where a table stands in for it."""
    if month.table_use_mm is not None:
        return np.zeros_like(weather.rain_mm)
    return weather.rain_mm / month.month_days


def to_finish_mm(growing: Growing, k: int, water_mm: FloatArray) -> FloatArray:
    """Return the water that finishes the crop from a month on, in average weather.

    From what is in the root zone at its start to the stress level after the last watering.
    """
    ahead_mm = 0.0
    for later_k, month in growing.ground_months(k):
        if month.target_mm is not None:
            weather = growing.average.month(later_k)
            gain_mm = rain_a_day_mm(month, weather) - month.use_mm(month.kc, weather.eto_mm)
            ahead_mm -= float(gain_mm[0]) * month.days
    return np.maximum(0.0, growing.root_zone.stress_below_mm - water_mm + ahead_mm)


def forecast(growing: Growing, k: int, soil: Soil) -> Soil:
    """Return how land on rain alone from a month's start on will end, in average weather."""
    for later_k, _ in growing.ground_months(k):
        soil = through_month(growing, later_k, soil, growing.average.month(later_k))
    return soil


def since_watered(growing: Growing, last_k: int, opening_k: int) -> Soil:
    """Return the root zone at a month's start, (1,), of land watered in full up to an earlier one.

    Average weather, and rain alone, since the end of the last month of watering.

    Parameters
    ----------
    growing
        What is grown.
    last_k, opening_k
        Months of the water year: the last one watered, and the one that opens.
    """
    month = growing.months[last_k]
    held_mm = None if month is None else month.target_mm
    level_mm = growing.root_zone.stress_below_mm if held_mm is None else held_mm
    soil, sow_k = fresh_soil(np.full(1, level_mm)), growing.calendar.sow_k
    until = (opening_k - sow_k) % MONTHS_IN_YEAR
    for k, _ in growing.ground_months((last_k + 1) % MONTHS_IN_YEAR):
        if (k - sow_k) % MONTHS_IN_YEAR >= until:
            break
        soil = through_month(growing, k, soil, growing.average.month(k))
    return soil
