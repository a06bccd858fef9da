"""What is reference evapotranspiration (ETo) where only temperature is on record?

Hargreaves' form: the sun at the top of the air, by latitude and day of the year, times what the
mean and the range of a day's temperature say of the air below. An estimate: it knows neither wind
nor humidity, and over a month it is commonly within 15 % of what full weather gives (common
practice, no source). Means over a month serve as a day in its middle.

Temperature in degrees Celsius, radiation in MJ/m2 a day; arrays of any one shape.

References
----------
Allen, Pereira, Raes and Smith 1998, FAO Irrigation and Drainage Paper 56, eq. 21 to 25 and 52; from
memory. Hargreaves and Samani 1985 (Applied Engineering in Agriculture 1:96), title from memory.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from model.farm.crops import DAYS_IN_MONTH
from model.record.record import FloatArray
from model.sequences.slices import IntArray

_SOLAR_CONSTANT_MJ_PER_M2_PER_MIN: Final = 0.0820
_MJ_PER_MM: Final = 2.45  # latent heat of a millimetre of water on a square metre

_DAYS: Final = np.array(DAYS_IN_MONTH, dtype=np.float64)
_FIRST_OF_JULY: Final = 182  # day of the year
_MIDDLE_DAY: Final = (_FIRST_OF_JULY + np.cumsum(_DAYS) - _DAYS / 2.0 - 0.5) % 365.0
"""Day of the year, 1 January = 1, in the middle of each month, July first."""


def month_eto_mm(
    warmest_c: FloatArray, coolest_c: FloatArray, k: IntArray, latitude_deg: float
) -> FloatArray:
    """Return the ETo of whole months, estimated from temperature alone [mm].

    Parameters
    ----------
    warmest_c, coolest_c
        Mean of each month's daily highest and lowest.
    k
        Month of the water year, 0 = July.
    latitude_deg
        South below 0.

    Examples
    --------
    >>> month_eto_mm(np.array([34.0]), np.array([19.0]), np.array([6]), -30.0).round().tolist()
    [215.0]
    """
    return hargreaves_mm(warmest_c, coolest_c, latitude_deg, _MIDDLE_DAY[k]) * _DAYS[k]


def hargreaves_mm(
    warmest_c: FloatArray, coolest_c: FloatArray, latitude_deg: float, day_of_year: FloatArray
) -> FloatArray:
    """Return ETo from temperature alone (FAO-56 eq. 52) [mm a day]."""
    mean_c = (warmest_c + coolest_c) / 2.0
    sky_mm = sky_radiation_mj_per_m2(latitude_deg, day_of_year) / _MJ_PER_MM
    return np.maximum(0.0, 0.0023 * (mean_c + 17.8) * np.sqrt(warmest_c - coolest_c) * sky_mm)


def sky_radiation_mj_per_m2(latitude_deg: float, day_of_year: FloatArray) -> FloatArray:
    """Return the radiation that reaches the top of the air in a day (FAO-56 eq. 21 to 25)."""
    latitude = float(np.radians(latitude_deg))
    declination = 0.409 * np.sin(2.0 * np.pi / 365.0 * np.asarray(day_of_year) - 1.39)
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    nearness = 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * np.asarray(day_of_year))
    height = sunset * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(
        declination
    ) * np.sin(sunset)
    radiation: FloatArray = (
        24.0 * 60.0 / np.pi * _SOLAR_CONSTANT_MJ_PER_M2_PER_MIN * nearness * height
    )
    return radiation
