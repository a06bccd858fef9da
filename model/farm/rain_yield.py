"""What does rain alone yield, where a crop's use of water is not stated?

The yield follows the water that can pass through the crop: the rain of its season and what the
fallow stored, less what evaporates from the ground. A stated mean yield is scaled by it, so that
the record's mean is the mean stated and a season without rain yields nothing.

References
----------
French and Schultz 1984 (Aust. J. Agric. Res. 35:743), from memory: 110 mm evaporates, and 20 kg of
wheat a hectare is the most that a millimetre of water used can grow. Crops of a summer rain country
live on stored rain more than theirs did.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.farm.crops import CropCalendar
from model.farm.farm_weather import RecordWeather
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR

GROUND_LOSS_MM: Final = 110.0


def crop_water_mm(
    season_rain_mm: FloatArray, fallow_rain_mm: FloatArray, fallow_efficiency_frac: float
) -> FloatArray:
    """Return the water that can pass through a crop.

    Parameters
    ----------
    season_rain_mm, fallow_rain_mm
        All the rain from sowing to harvest, and of the fallow before it.
    fallow_efficiency_frac
        Part of the latter that is stored.
    """
    stored_mm = fallow_efficiency_frac * fallow_rain_mm
    return np.maximum(0.0, season_rain_mm + stored_mm - GROUND_LOSS_MM)


@dataclass(frozen=True, slots=True)
class RainYield:
    """How a crop's yield follows its rain."""

    mean_water_mm: float  # over the seasons on record
    fallow_efficiency_frac: float

    def frac(self, season_rain_mm: FloatArray, fallow_rain_mm: FloatArray) -> FloatArray:
        """Return the yield over its mean."""
        water_mm = crop_water_mm(season_rain_mm, fallow_rain_mm, self.fallow_efficiency_frac)
        if self.mean_water_mm == 0.0:
            return np.zeros_like(water_mm)
        return water_mm / self.mean_water_mm


def rain_yield_of(
    calendar: CropCalendar, weather: RecordWeather, fallow_efficiency_frac: float
) -> RainYield:
    """Return how a crop's yield follows its rain; the mean is over the seasons on record."""
    fallow = (calendar.sow_k - calendar.fallow_k) % MONTHS_IN_YEAR
    grown = (calendar.harvest_k - calendar.sow_k) % MONTHS_IN_YEAR
    begins = np.flatnonzero(weather.k == calendar.fallow_k)
    begins = begins[begins + fallow + grown <= weather.k.size]
    total_mm = np.concatenate([[0.0], np.cumsum(weather.rain_mm)])
    sown, ends = begins + fallow, begins + fallow + grown
    water_mm = crop_water_mm(
        total_mm[ends] - total_mm[sown], total_mm[sown] - total_mm[begins], fallow_efficiency_frac
    )
    mean_mm = float(water_mm.mean()) if water_mm.size else 0.0
    return RainYield(mean_mm, fallow_efficiency_frac)
