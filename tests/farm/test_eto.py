"""Reference evapotranspiration against the printed digits of FAO-56 Examples 17, 18 and 20.

Inputs and printed values are from memory of Allen, Pereira, Raes and Smith 1998, FAO Irrigation and
Drainage Paper 56; ETo was also recomputed apart from the code.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from model.farm.eto import (
    DayWeather,
    Site,
    daylight_hours,
    hargreaves_mm,
    mean_saturation_kpa,
    month_soil_heat_mj_per_m2,
    net_radiation_mj_per_m2,
    penman_monteith_mm,
    psychrometric_kpa_per_c,
    sky_radiation_mj_per_m2,
    sun_from_hours_mj_per_m2,
    vapour_from_humidity_kpa,
    vapour_slope_kpa_per_c,
    weather_from_temperature,
    wind_at_2m_m_per_s,
)


def one(value: float) -> NDArray[np.float64]:
    """Make an array of one number."""
    return np.array([value])


BANGKOK = Site(latitude_deg=13.0 + 44.0 / 60.0, altitude_m=2.0)
MID_APRIL = one(105.0)
UCCLE = Site(latitude_deg=50.0 + 48.0 / 60.0, altitude_m=100.0)
JULY_6 = one(187.0)
LYON = Site(latitude_deg=45.0 + 43.0 / 60.0, altitude_m=200.0)
MID_JULY = one(196.0)


def bangkok_april() -> DayWeather:
    """Give the weather of Example 17."""
    return DayWeather(
        warmest_c=one(34.8),
        coolest_c=one(25.6),
        vapour_kpa=one(2.85),
        wind_2m_m_per_s=one(2.0),
        sun_mj_per_m2=sun_from_hours_mj_per_m2(one(8.5), BANGKOK, MID_APRIL),
        soil_heat_mj_per_m2=month_soil_heat_mj_per_m2(one(30.2), one(29.2)),
    )


def uccle_july() -> DayWeather:
    """Give the weather of Example 18."""
    return DayWeather(
        warmest_c=one(21.5),
        coolest_c=one(12.3),
        vapour_kpa=vapour_from_humidity_kpa(one(21.5), one(12.3), one(84.0), one(63.0)),
        wind_2m_m_per_s=wind_at_2m_m_per_s(one(10.0 / 3.6), 10.0),
        sun_mj_per_m2=sun_from_hours_mj_per_m2(one(9.25), UCCLE, JULY_6),
        soil_heat_mj_per_m2=one(0.0),
    )


def test_penman_monteith_when_example_17_then_every_printed_step() -> None:
    """FAO-56 Example 17: Bangkok in April, monthly means."""
    weather = bangkok_april()
    assert vapour_slope_kpa_per_c(one(30.2)) == pytest.approx(0.246, abs=5.1e-4)
    # the book rounds the pressure first, so its last digit may differ
    assert psychrometric_kpa_per_c(2.0) == pytest.approx(0.0674, abs=1e-4)
    assert mean_saturation_kpa(one(34.8), one(25.6)) == pytest.approx(4.42, abs=0.0051)
    assert sky_radiation_mj_per_m2(BANGKOK, MID_APRIL) == pytest.approx(38.06, abs=0.0101)
    assert daylight_hours(BANGKOK, MID_APRIL) == pytest.approx(12.31, abs=0.0051)
    assert weather.sun_mj_per_m2 == pytest.approx(22.65, abs=0.0101)
    assert 0.77 * weather.sun_mj_per_m2 == pytest.approx(17.44, abs=0.0101)
    net = net_radiation_mj_per_m2(weather, BANGKOK, MID_APRIL)
    assert 0.77 * weather.sun_mj_per_m2 - net == pytest.approx(3.11, abs=0.0101)
    assert net == pytest.approx(14.33, abs=0.0101)
    assert weather.soil_heat_mj_per_m2 == pytest.approx(0.14, abs=0.0051)
    assert penman_monteith_mm(weather, BANGKOK, MID_APRIL) == pytest.approx(5.72, abs=0.0051)


def test_penman_monteith_when_example_18_then_every_printed_step() -> None:
    """FAO-56 Example 18: Uccle on 6 July, daily weather."""
    weather = uccle_july()
    assert weather.wind_2m_m_per_s == pytest.approx(2.078, abs=5.1e-4)
    assert mean_saturation_kpa(one(21.5), one(12.3)) == pytest.approx(1.997, abs=5.1e-4)
    assert weather.vapour_kpa == pytest.approx(1.409, abs=5.1e-4)
    assert sky_radiation_mj_per_m2(UCCLE, JULY_6) == pytest.approx(41.09, abs=0.0101)
    assert daylight_hours(UCCLE, JULY_6) == pytest.approx(16.1, abs=0.051)
    assert weather.sun_mj_per_m2 == pytest.approx(22.07, abs=0.0101)
    assert 0.77 * weather.sun_mj_per_m2 == pytest.approx(17.0, abs=0.051)
    net = net_radiation_mj_per_m2(weather, UCCLE, JULY_6)
    assert 0.77 * weather.sun_mj_per_m2 - net == pytest.approx(3.71, abs=0.0101)
    assert net == pytest.approx(13.28, abs=0.0101)
    assert penman_monteith_mm(weather, UCCLE, JULY_6) == pytest.approx(3.88, abs=0.0051)


def test_penman_monteith_when_example_20_then_from_temperature_alone() -> None:
    """FAO-56 Example 20: Lyon in July, with temperature alone; and Hargreaves' form."""
    warmest, coolest = one(26.6), one(14.8)
    weather = weather_from_temperature(warmest, coolest, LYON, MID_JULY)
    assert penman_monteith_mm(weather, LYON, MID_JULY) == pytest.approx(4.56, abs=0.0051)
    assert hargreaves_mm(warmest, coolest, LYON, MID_JULY) == pytest.approx(5.0, abs=0.051)


def test_sky_radiation_when_hemisphere_is_swapped_then_seasons_are() -> None:
    """Half a year on, the south has the day the north had, but for the earth's nearness."""
    north, south = Site(30.0, 0.0), Site(-30.0, 0.0)
    assert daylight_hours(south, one(355.0)) == pytest.approx(
        daylight_hours(north, one(172.0)), abs=0.05
    )
    assert sky_radiation_mj_per_m2(south, one(355.0)) > sky_radiation_mj_per_m2(north, one(355.0))


@given(
    coolest=st.floats(0.0, 25.0),
    spread=st.floats(2.0, 25.0),
    sun=st.floats(5.0, 25.0),
    more_sun=st.floats(0.1, 2.0),
)
def test_penman_monteith_when_brighter_then_more(
    coolest: float, spread: float, sun: float, more_sun: float
) -> None:
    """More sun always raises ETo, all else alike."""
    site, day = Site(-30.0, 200.0), one(15.0)
    weather = weather_from_temperature(one(coolest + spread), one(coolest), site, day)
    dim, bright = (replace(weather, sun_mj_per_m2=one(mj)) for mj in (sun, sun + more_sun))
    assert penman_monteith_mm(bright, site, day) > penman_monteith_mm(dim, site, day)


def test_penman_monteith_when_many_days_then_each_by_itself() -> None:
    """The array call is the loop of single calls."""
    days = np.array([15.0, 105.0, 196.0])
    warmest, coolest = np.array([34.0, 27.0, 17.0]), np.array([19.0, 13.0, 4.0])
    site = Site(-30.0, 200.0)
    together = penman_monteith_mm(
        weather_from_temperature(warmest, coolest, site, days), site, days
    )
    for at in range(3):
        single = weather_from_temperature(
            warmest[at : at + 1], coolest[at : at + 1], site, days[at]
        )
        assert penman_monteith_mm(single, site, days[at]) == pytest.approx(together[at : at + 1])
