"""What weather does the farm meet: on record, in a month, and on average?

Depths are of whole months, mm; months of the water year are `k` (0 = July).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.water_year import MONTHS_IN_YEAR


class MonthWeather(NamedTuple):
    """Weather of a month, each (..., sequence)."""

    rain_mm: FloatArray  # the part of the rain that helps
    eto_mm: FloatArray


class AverageWeather(NamedTuple):
    """Weather by month of the water year, each (12,)."""

    rain_mm: FloatArray
    eto_mm: FloatArray

    def month(self, k: int) -> MonthWeather:
        """Return one month, each (1,)."""
        return MonthWeather(self.rain_mm[k : k + 1], self.eto_mm[k : k + 1])


class RecordWeather(NamedTuple):
    """Weather of every month on record, in order, each (record months,)."""

    rain_mm: FloatArray
    eto_mm: FloatArray
    k: IntArray

    def average(self) -> AverageWeather:
        """Return the mean of each month of the water year."""
        at = [self.k == k for k in range(MONTHS_IN_YEAR)]
        return AverageWeather(
            np.array([self.rain_mm[months].mean() for months in at]),
            np.array([self.eto_mm[months].mean() for months in at]),
        )
