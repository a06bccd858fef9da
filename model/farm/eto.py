"""What is reference evapotranspiration (ETo) where only weather is on record?

The Penman-Monteith equation for a well-watered short grass, in daily steps (FAO-56 eq. 6), and what
FAO-56 puts in the place of what was not measured: vapour from the night's lowest temperature, sun
from the range of temperature, wind of 2 m/s. Hargreaves' form, which asks for temperature alone, is
beside it. Means over a month serve as a day in its middle.

Radiation is in MJ/m2 a day, temperature in degrees Celsius, vapour in kPa; arrays of any one shape.

References
----------
Allen, Pereira, Raes and Smith 1998, FAO Irrigation and Drainage Paper 56, chapters 3 and 4; from
memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.record import FloatArray

DEFAULT_WIND_M_PER_S: Final = 2.0
"""Where wind was not measured (FAO-56 chapter 3): the mean of many stations."""

INLAND_SUN_FACTOR: Final = 0.16
"""Per square root of a degree of range (FAO-56 eq. 50); 0.19 near a coast."""

_SOLAR_CONSTANT_MJ_PER_M2_PER_MIN: Final = 0.0820
_STEFAN_BOLTZMANN_MJ_PER_K4_PER_M2: Final = 4.903e-9
_GRASS_ALBEDO: Final = 0.23
_MJ_PER_MM: Final = 2.45  # latent heat of a millimetre of water on a square metre
_KELVIN: Final = 273.16


@dataclass(frozen=True, slots=True)
class Site:
    """Where the weather was measured."""

    latitude_deg: float  # south below 0
    altitude_m: float


@dataclass(frozen=True, slots=True)
class DayWeather:
    """Weather of a day, or the means of a month."""

    warmest_c: FloatArray
    coolest_c: FloatArray
    vapour_kpa: FloatArray  # actual vapour pressure
    wind_2m_m_per_s: FloatArray
    sun_mj_per_m2: FloatArray  # all that falls on level ground
    soil_heat_mj_per_m2: FloatArray  # into the soil; 0 for a day


def penman_monteith_mm(weather: DayWeather, site: Site, day_of_year: FloatArray) -> FloatArray:
    """Give ETo in mm a day by FAO-56 eq. 6.

    Parameters
    ----------
    weather, site
        What was measured, and where.
    day_of_year
        1 January = 1; the middle of the month for monthly means.
    """
    mean_c = (weather.warmest_c + weather.coolest_c) / 2.0
    slope = vapour_slope_kpa_per_c(mean_c)
    gamma = psychrometric_kpa_per_c(site.altitude_m)
    saturated_kpa = mean_saturation_kpa(weather.warmest_c, weather.coolest_c)
    energy_mj = net_radiation_mj_per_m2(weather, site, day_of_year) - weather.soil_heat_mj_per_m2
    drying = (
        gamma
        * 900.0
        / (mean_c + 273.0)
        * weather.wind_2m_m_per_s
        * (saturated_kpa - weather.vapour_kpa)
    )
    eto_mm: FloatArray = (0.408 * slope * energy_mj + drying) / (
        slope + gamma * (1.0 + 0.34 * weather.wind_2m_m_per_s)
    )
    return eto_mm


def hargreaves_mm(
    warmest_c: FloatArray, coolest_c: FloatArray, site: Site, day_of_year: FloatArray
) -> FloatArray:
    """Give ETo in mm a day from temperature alone (FAO-56 eq. 52)."""
    mean_c = (warmest_c + coolest_c) / 2.0
    sky_mm = sky_radiation_mj_per_m2(site, day_of_year) / _MJ_PER_MM
    return 0.0023 * (mean_c + 17.8) * np.sqrt(warmest_c - coolest_c) * sky_mm


def weather_from_temperature(
    warmest_c: FloatArray, coolest_c: FloatArray, site: Site, day_of_year: FloatArray
) -> DayWeather:
    """Fill in all but temperature as FAO-56 does where nothing else was measured.

    The air is saturated at the coolest of the night (eq. 48), the sun follows the range of
    temperature (eq. 50, inland), and the wind is `DEFAULT_WIND_M_PER_S`.
    """
    sky = sky_radiation_mj_per_m2(site, day_of_year)
    none = np.zeros_like(warmest_c)
    return DayWeather(
        warmest_c=warmest_c,
        coolest_c=coolest_c,
        vapour_kpa=saturation_kpa(coolest_c),
        wind_2m_m_per_s=none + DEFAULT_WIND_M_PER_S,
        sun_mj_per_m2=INLAND_SUN_FACTOR * np.sqrt(warmest_c - coolest_c) * sky,
        soil_heat_mj_per_m2=none,
    )


def saturation_kpa(temperature_c: FloatArray) -> FloatArray:
    """Give the vapour pressure of saturated air (FAO-56 eq. 11)."""
    saturated: FloatArray = 0.6108 * np.exp(17.27 * temperature_c / (temperature_c + 237.3))
    return saturated


def mean_saturation_kpa(warmest_c: FloatArray, coolest_c: FloatArray) -> FloatArray:
    """Give the day's mean saturation vapour pressure (FAO-56 eq. 12)."""
    return (saturation_kpa(warmest_c) + saturation_kpa(coolest_c)) / 2.0


def vapour_from_humidity_kpa(
    warmest_c: FloatArray, coolest_c: FloatArray, highest_pct: FloatArray, lowest_pct: FloatArray
) -> FloatArray:
    """Give actual vapour pressure from the day's extremes of relative humidity (FAO-56 eq. 17)."""
    at_night = saturation_kpa(coolest_c) * highest_pct
    by_day = saturation_kpa(warmest_c) * lowest_pct
    return (at_night + by_day) / 200.0


def vapour_slope_kpa_per_c(temperature_c: FloatArray) -> FloatArray:
    """Give the slope of the saturation curve (FAO-56 eq. 13)."""
    return 4098.0 * saturation_kpa(temperature_c) / (temperature_c + 237.3) ** 2


def psychrometric_kpa_per_c(altitude_m: float) -> float:
    """Give the psychrometric constant at an altitude (FAO-56 eq. 7 and 8)."""
    pressure_kpa = 101.3 * float(np.power((293.0 - 0.0065 * altitude_m) / 293.0, 5.26))
    return 0.665e-3 * pressure_kpa


def wind_at_2m_m_per_s(wind_m_per_s: FloatArray, height_m: float) -> FloatArray:
    """Bring wind measured at another height to 2 m (FAO-56 eq. 47)."""
    return wind_m_per_s * (4.87 / float(np.log(67.8 * height_m - 5.42)))


def month_soil_heat_mj_per_m2(mean_c: FloatArray, last_month_mean_c: FloatArray) -> FloatArray:
    """Give the heat that goes into the soil in a month of known mean temperature (eq. 44)."""
    return 0.14 * (mean_c - last_month_mean_c)


def sky_radiation_mj_per_m2(site: Site, day_of_year: FloatArray) -> FloatArray:
    """Give the radiation that reaches the top of the air (FAO-56 eq. 21)."""
    latitude, declination, sunset = _sun_angles(site, day_of_year)
    nearness = 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * np.asarray(day_of_year))
    height = sunset * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(
        declination
    ) * np.sin(sunset)
    radiation: FloatArray = (
        24.0 * 60.0 / np.pi * _SOLAR_CONSTANT_MJ_PER_M2_PER_MIN * nearness * height
    )
    return radiation


def daylight_hours(site: Site, day_of_year: FloatArray) -> FloatArray:
    """Give the hours from sunrise to sunset (FAO-56 eq. 34)."""
    return 24.0 / np.pi * _sun_angles(site, day_of_year)[2]


def sun_from_hours_mj_per_m2(
    sunshine_hours: FloatArray, site: Site, day_of_year: FloatArray
) -> FloatArray:
    """Give the radiation on level ground from hours of bright sunshine (FAO-56 eq. 35)."""
    bright = sunshine_hours / daylight_hours(site, day_of_year)
    return (0.25 + 0.50 * bright) * sky_radiation_mj_per_m2(site, day_of_year)


def net_radiation_mj_per_m2(weather: DayWeather, site: Site, day_of_year: FloatArray) -> FloatArray:
    """Give what the grass keeps of the sun, less what it sends back (FAO-56 eq. 38 to 40)."""
    clear = (0.75 + 2e-5 * site.altitude_m) * sky_radiation_mj_per_m2(site, day_of_year)
    fourth_powers = ((weather.warmest_c + _KELVIN) ** 4 + (weather.coolest_c + _KELVIN) ** 4) / 2.0
    sent_back = (
        _STEFAN_BOLTZMANN_MJ_PER_K4_PER_M2
        * fourth_powers
        * (0.34 - 0.14 * np.sqrt(weather.vapour_kpa))
        * (1.35 * np.minimum(1.0, weather.sun_mj_per_m2 / clear) - 0.35)
    )
    kept: FloatArray = (1.0 - _GRASS_ALBEDO) * weather.sun_mj_per_m2 - sent_back
    return kept


def _sun_angles(site: Site, day_of_year: FloatArray) -> tuple[float, FloatArray, FloatArray]:
    """Give latitude, declination and the hour angle of sunset, radians (eq. 22 to 25)."""
    latitude = float(np.radians(site.latitude_deg))
    declination = 0.409 * np.sin(2.0 * np.pi / 365.0 * np.asarray(day_of_year) - 1.39)
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    return latitude, declination, sunset
