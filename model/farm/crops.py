"""How much water does a crop need in each month, and what does it yield when it gets less?

Water: the crop coefficient runs flat through the initial stage, rises through development, is flat
through the middle of the season and falls through the late stage (FAO-56 eq. 66). A well-watered
crop uses `Kc x ETo` in a month.

Yield: the additive form of FAO-33. Each month's shortfall, as a fraction of the crop's use, takes
its own share of the yield, whatever the other months bring. The season and product forms stand
beside it for comparison.

Days count from planting, time 0 at its start, so the first day is 0 to 1. A year has 365 days here:
a crop does not notice 29 February. Arrays by month are (12,), July first.

References
----------
Allen, Pereira, Raes and Smith 1998, FAO Irrigation and Drainage Paper 56, chapters 6 and 8;
Doorenbos and Kassam 1979, FAO Irrigation and Drainage Paper 33. Both from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.record.record import FloatArray

DAYS_IN_MONTH: Final = (31, 31, 30, 31, 30, 31, 31, 28, 31, 30, 31, 30)
"""July first."""

_MONTH_STARTS: Final = np.concatenate([[0], np.cumsum(DAYS_IN_MONTH)])
_DAYS_IN_YEAR: Final = int(_MONTH_STARTS[-1])


def day_of_water_year(k: int, day: int) -> int:
    """Count a calendar day from 1 July, which is day 0.

    Examples
    --------
    >>> day_of_water_year(3, 15)  # 15 October
    106
    """
    return int(_MONTH_STARTS[k]) + day - 1


@dataclass(frozen=True, slots=True)
class Crop:
    """How a crop's need for water runs through its season (FAO-56 tables 11 and 12)."""

    initial_days: int
    development_days: int
    middle_days: int
    late_days: int
    kc_initial: float
    kc_middle: float
    kc_end: float

    @property
    def season_days(self) -> int:
        """Days from planting to the end of the late stage."""
        return self.initial_days + self.development_days + self.middle_days + self.late_days


@dataclass(frozen=True, slots=True)
class CropCalendar:
    """When a crop is in the ground; months of the water year."""

    sow_k: int
    sow_day: int  # of the month, from 1
    last_watering_k: int | None  # None: never watered
    harvest_k: int  # in the ground until it begins
    fallow_k: int  # its fallow begins with this month

    def is_fallow(self, k: int) -> bool:
        """Return whether rain of the month is stored for the crop to be sown."""
        lasts = (self.sow_k - self.fallow_k) % 12
        return (k - self.fallow_k) % 12 < lasts


def kc_on_day(days_after_planting: ArrayLike, crop: Crop) -> FloatArray:
    """Give the crop coefficient so many days after planting; 0 outside the season."""
    days = np.asarray(days_after_planting, dtype=np.float64)
    ends = np.cumsum(
        [crop.initial_days, crop.development_days, crop.middle_days, crop.late_days]
    ).astype(np.float64)
    kc = np.interp(days, ends, [crop.kc_initial, crop.kc_middle, crop.kc_middle, crop.kc_end])
    return np.where((days < 0.0) | (days > crop.season_days), 0.0, kc)


def kc_by_month(crop: Crop, planting_day: int) -> FloatArray:
    """Give the mean crop coefficient of each month, the days not in the ground counted as 0.

    So that the month's crop use is this times the whole month's ETo.

    Parameters
    ----------
    crop
        The crop.
    planting_day
        Day of the water year, 1 July = 0. A season that runs past June comes round to July.
    """
    kc, month = _season(crop, planting_day)
    return _sums_by_month(kc, month) / np.array(DAYS_IN_MONTH, dtype=np.float64)


def _season(crop: Crop, planting_day: int) -> tuple[FloatArray, NDArray[np.int64]]:
    """Give each day of the season its coefficient, at midday, and its month of the water year."""
    days = np.arange(crop.season_days)
    month = np.searchsorted(_MONTH_STARTS, (planting_day + days) % _DAYS_IN_YEAR, side="right") - 1
    return kc_on_day(days + 0.5, crop), month


def _sums_by_month(by_day: FloatArray, month: NDArray[np.int64]) -> FloatArray:
    sums = np.zeros(len(DAYS_IN_MONTH))
    np.add.at(sums, month, by_day)
    return sums


def kc_middle_in_climate(
    kc_middle: float, wind_2m_m_per_s: float, least_humidity_pct: float, height_m: float
) -> float:
    """Adjust a middle or end coefficient above 0.45 to wind and humidity (FAO-56 eq. 62 and 65).

    Parameters
    ----------
    kc_middle
        From the table, which holds for wind of 2 m/s and a daily least humidity of 45 %.
    wind_2m_m_per_s
        Mean wind of the stage at 2 m, taken within 1 to 6.
    least_humidity_pct
        Mean daily least relative humidity of the stage, taken within 20 to 80.
    height_m
        Mean height of the crop in the stage, taken within 0.1 to 10.
    """
    wind = min(max(wind_2m_m_per_s, 1.0), 6.0)
    humidity = min(max(least_humidity_pct, 20.0), 80.0)
    height = min(max(height_m, 0.1), 10.0)
    return kc_middle + (0.04 * (wind - 2.0) - 0.004 * (humidity - 45.0)) * math.pow(height / 3, 0.3)


class YieldStage(NamedTuple):
    """A stage of growth by which yield answers to water."""

    last_day: int  # days after planting
    ky: float  # part of the yield lost if the stage had no water at all


COTTON_YIELD_STAGES: Final = (
    YieldStage(73, 0.2),  # vegetative: to the first flowers, between Christmas and New Year
    YieldStage(124, 0.5),  # flowering and boll set, to mid February
    YieldStage(158, 0.25),  # bolls fill, to the third week of March; no response after it
)
"""Ky of FAO-33, from memory; days for mid-October planting are common practice, no source."""


def sensitivity_by_month(
    crop: Crop,
    planting_day: int,
    eto_mm: ArrayLike,
    stages: Sequence[YieldStage],
    season_ky: float,
) -> FloatArray:
    """Spread a crop's response to water over the months: FAO-33's additive form.

    A stage's Ky goes to its months by their part of the stage's crop use. The whole is then scaled,
    so that the same shortfall in every month costs what the season's Ky says.

    Parameters
    ----------
    crop, planting_day
        The crop, and the day of the water year it is planted.
    eto_mm
        (12,) of each month.
    stages
        In order, from planting on.
    season_ky
        Part of the yield lost to a whole season without water, by the straight line.

    Returns
    -------
    ndarray
        (12,) part of the yield lost to a month without any water; sums to `season_ky`.
    """
    kc, month = _season(crop, planting_day)
    use_mm = kc * (np.asarray(eto_mm) / np.array(DAYS_IN_MONTH))[month]
    lost = np.zeros(12)
    first = 0
    for stage in stages:
        days = slice(first, stage.last_day)
        part = _sums_by_month(use_mm[days], month[days])
        lost += stage.ky * part / part.sum()
        first = stage.last_day
    return lost * (season_ky / float(lost.sum()))


def season_yield_frac(ky: float, shortfall: ArrayLike) -> FloatArray:
    """Give the yield from the whole season's shortfall (FAO-33): `1 - Ky (1 - ETa / ETm)`."""
    return np.maximum(0.0, 1.0 - ky * np.asarray(shortfall, dtype=np.float64))


def product_yield_frac(ky: ArrayLike, shortfall: ArrayLike) -> FloatArray:
    """Give the yield where each stage takes its part of what the stages before it left.

    Parameters
    ----------
    ky
        (stage,)
    shortfall
        (..., stage)
    """
    left: NDArray[np.float64] = 1.0 - np.asarray(ky) * np.asarray(shortfall, dtype=np.float64)
    kept: FloatArray = np.maximum(0.0, left).prod(axis=-1)
    return kept
