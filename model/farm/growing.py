"""What does a crop in a row layout ask for, month by month, and how does it take what it gets?

A growing is a crop in one layout of its rows, on land watered or on rain alone. Its days count from
sowing, day 0. Each month of the water year is cut where one of its loss stages begins or ends, at
sowing and at harvest; over a piece, use is the mean of Kc at day + 0.5 times ETo, and all is the
same every day. After the last loss stage water no longer matters, and nothing is counted.

A table of twelve needs at the farm gate may stand in for Kc and rain: then the table is the crop's
use, no rain is counted, and store, stages and losses are the same.

Arrays of twelve are by month of the water year, `k` (0 = July).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from model.farm.crops import CropCalendar
from model.farm.effective_rain import RainRule, effective_rain_mm
from model.farm.farm_weather import AverageWeather, MonthWeather
from model.farm.rain_yield import RainYield
from model.farm.soil import Days, RootZone
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR


class LossStage(NamedTuple):
    """From a day after sowing on, what a day of full stress costs of the yield still there."""

    first_day: int
    loss_frac_per_day: float


@dataclass(frozen=True, slots=True)
class Response:
    """How a crop's yield answers to stress."""

    stages: tuple[LossStage, ...]  # in order, the first from day 0
    end_day: int  # from here on water no longer matters
    lost_before_day: int  # a crop older than this is no longer lost to an empty root zone


FALLOW_EFFICIENCY_FRAC: Final = 0.22
"""Part of the rain on bare ground that is still there at sowing; common practice, no source."""


class Piece(NamedTuple):
    """Some days of a month over which a growing is the same."""

    over: Days
    kc: float


@dataclass(frozen=True, slots=True)
class GroundMonth:
    """A month in which water matters to a growing."""

    pieces: tuple[Piece, ...]
    days: float  # of the month, over all pieces
    month_days: int
    kc: float  # mean over those days
    table_use_mm: float | None  # a day, where a table stands in for Kc
    target_mm: float | None  # that watering aims for at the month's end; None: not watered

    def use_mm(self, kc: float, eto_mm: FloatArray) -> FloatArray:
        """Return what the crop would use a day, from the whole month's ETo."""
        if self.table_use_mm is not None:
            return np.full_like(eto_mm, self.table_use_mm)
        return eto_mm * (kc / self.month_days)


@dataclass(frozen=True, slots=True)
class Growing:
    """A crop in a row layout, ready for a month's step."""

    name: str
    calendar: CropCalendar
    root_zone: RootZone
    months: tuple[GroundMonth | None, ...]  # (12,)
    pre_water_mm: float  # the most put on at sowing
    gate_ml_per_ha_per_mm: float  # 1 mm in the root zone, at the farm gate
    rain_rule: RainRule
    rain_part: float
    fallow_efficiency_frac: float  # part of the fallow's rain that is stored
    average: AverageWeather
    average_store_mm: float  # in the root zone at sowing, after a fallow of average rain
    rain_yield: RainYield | None = None  # in place of the root zone, where Kc is not given

    def ground_months(self, first_k: int | None = None) -> Iterator[tuple[int, GroundMonth]]:
        """Yield the months in which water matters, in their order, from one of them on."""
        sow_k = self.calendar.sow_k
        first = 0 if first_k is None else (first_k - sow_k) % MONTHS_IN_YEAR
        for after in range(first, MONTHS_IN_YEAR):
            k = (sow_k + after) % MONTHS_IN_YEAR
            month = self.months[k]
            if month is not None:
                yield k, month

    def weather(self, k: int, rain_mm: FloatArray, eto_mm: FloatArray) -> MonthWeather:
        """Return a month's weather as the growing meets it, from all of its rain and ETo."""
        month = self.months[k]
        use_mm = eto_mm * (0.0 if month is None else month.kc)
        return MonthWeather(
            effective_rain_mm(self.rain_rule, rain_mm, use_mm, self.rain_part), eto_mm
        )

    def fallow_store_mm(self, fallow_rain_mm: FloatArray) -> FloatArray:
        """Return what the root zone holds at sowing, from all the rain of the fallow."""
        return np.minimum(self.fallow_efficiency_frac * fallow_rain_mm, self.root_zone.capacity_mm)

    def is_watered_in(self, k: int) -> bool:
        """Return whether the month lies between sowing and the last watering."""
        month = self.months[k]
        return month is not None and month.target_mm is not None

    def is_in_ground(self, k: int) -> bool:
        """Return whether the crop stands at the start of a month or is sown in it."""
        calendar = self.calendar
        grown = (calendar.harvest_k - calendar.sow_k) % MONTHS_IN_YEAR
        return (k - calendar.sow_k) % MONTHS_IN_YEAR < grown

    def is_fallow(self, k: int) -> bool:
        """Return whether rain of the month is stored for the crop to be sown."""
        return self.calendar.is_fallow(k)
