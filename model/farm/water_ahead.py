"""How long is a crop still watered, and what do storage and dam lose until then?

Each crop by its own months from sowing to its last watering, which may reach past 30 June. Arrays
of twelve are by month of the water year, 0 = July.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.farm.crops import DAYS_IN_MONTH, CropCalendar
from model.farm.farm_weather import AverageWeather
from model.plan.farm import Farm
from model.plan.valley import Valley
from model.record.record import FloatArray
from model.units import ML_PER_MM_HA
from model.water_year import MONTHS_IN_YEAR


@dataclass(frozen=True, slots=True)
class WaterAhead:
    """The months in which a crop is still watered, seen from each month it stands in; (12,)."""

    months_this_year: FloatArray  # this month and those after it, until 30 June
    months_next_year: FloatArray  # those from 1 July on; 0 where no June lies before them
    storage_loss_ml: FloatArray  # from the next month to the last watering, half of it

    def crosses_july(self, k: int) -> bool:
        """Return whether 1 July lies between a month and the last watering."""
        return bool(self.months_next_year[k] > 0.0)


NOT_WATERED: Final = WaterAhead(
    np.zeros(MONTHS_IN_YEAR), np.zeros(MONTHS_IN_YEAR), np.zeros(MONTHS_IN_YEAR)
)


def storage_loss_ml(farm: Farm, weather: AverageWeather) -> FloatArray:
    """(12,) what each month takes of the farm storage, used little by little: half of its surface.

    Where rain makes good what evaporates and seeps, nothing.
    """
    storage = farm.storage
    if storage is None:
        return np.zeros(MONTHS_IN_YEAR)
    seepage_mm = np.array(DAYS_IN_MONTH) * storage.seepage_mm_per_day
    evaporated_mm = storage.evaporation_factor * weather.eto_mm
    loss_mm: FloatArray = np.maximum(0.0, evaporated_mm + seepage_mm - weather.rain_mm)
    return loss_mm * (storage.surface_ha * ML_PER_MM_HA / 2.0)


def water_ahead(calendar: CropCalendar, loss_ml: FloatArray) -> WaterAhead | None:
    """Return the months ahead in which a crop is still watered; None where it never is.

    Parameters
    ----------
    calendar
        Of the crop.
    loss_ml
        (12,) what a month takes of the farm storage.
    """
    if calendar.last_watering_k is None:
        return None
    this_year, next_year, lost_ml = np.zeros((3, MONTHS_IN_YEAR))
    last = calendar.sow_k + (calendar.last_watering_k - calendar.sow_k) % MONTHS_IN_YEAR
    for month in range(calendar.sow_k, last + 1):
        june = MONTHS_IN_YEAR * (month // MONTHS_IN_YEAR + 1) - 1
        k = month % MONTHS_IN_YEAR
        this_year[k] = min(june, last) - month + 1
        next_year[k] = max(0, last - june)
        lost_ml[k] = sum(loss_ml[later % MONTHS_IN_YEAR] for later in range(month + 1, last + 1))
    return WaterAhead(this_year, next_year, lost_ml)


def lake_loss_ahead_mm(valley: Valley, last_waterings: Mapping[int, int]) -> FloatArray:
    """(12,) what evaporates off the dam in average months until a last watering; 0 without one.

    Parameters
    ----------
    valley
        Its lake's evaporation and rain.
    last_waterings
        Month of the last watering, by the month from which on it is reckoned.
    """
    evaporation_mm, rain_mm = np.array(valley.lake_evaporation_mm), np.array(valley.lake_rain_mm)
    loss_mm = np.maximum(0.0, evaporation_mm - rain_mm)
    ahead_mm = np.zeros(MONTHS_IN_YEAR)
    for k, last_k in last_waterings.items():
        months = (k + np.arange((last_k - k) % MONTHS_IN_YEAR + 1)) % MONTHS_IN_YEAR
        ahead_mm[k] = loss_mm[months].sum()
    return ahead_mm
