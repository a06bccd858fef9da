"""How does a crop's need for water run through its season, and when is it in the ground?

The crop coefficient runs flat through the initial stage, rises through development, is flat through
the middle of the season and falls through the late stage (FAO-56 eq. 66). A well-watered crop uses
`Kc x ETo` in a day.

Days count from sowing, time 0 at its start, so the first day is 0 to 1. A year has 365 days here: a
crop does not notice 29 February.

References
----------
Allen, Pereira, Raes and Smith 1998, FAO Irrigation and Drainage Paper 56, chapter 6; from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from model.record.record import FloatArray

DAYS_IN_MONTH: Final = (31, 31, 30, 31, 30, 31, 31, 28, 31, 30, 31, 30)
"""July first."""

_MONTH_STARTS: Final = np.concatenate([[0], np.cumsum(DAYS_IN_MONTH)])


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
        """Days from sowing to the end of the late stage."""
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


def kc_on_day(days_after_sowing: ArrayLike, crop: Crop) -> FloatArray:
    """Return the crop coefficient so many days after sowing; 0 outside the season."""
    days = np.asarray(days_after_sowing, dtype=np.float64)
    ends = np.cumsum(
        [crop.initial_days, crop.development_days, crop.middle_days, crop.late_days]
    ).astype(np.float64)
    kc = np.interp(days, ends, [crop.kc_initial, crop.kc_middle, crop.kc_middle, crop.kc_end])
    return np.where((days < 0.0) | (days > crop.season_days), 0.0, kc)
