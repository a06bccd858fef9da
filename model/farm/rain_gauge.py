"""How much rain have the fallow and the season of each growing gathered so far?

Weather alone decides it, so it is worked out once for all strategies, with the valley's months.
Months before the run are those on record; where the record has none, the mean of their kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Self

import numpy as np

from model.farm.farm_weather import RecordWeather
from model.farm.growing import Growing
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.water_year import MONTHS_IN_YEAR, month_of_water_year


class RainGauge(NamedTuple):
    """All the rain of each growing's fallow and season, each (sequence,), by growing."""

    fallow_mm: tuple[FloatArray, ...]
    season_mm: tuple[FloatArray, ...]

    def take(self, places: IntArray) -> Self:
        """Return some sequences, in a new order; one may come more than once."""
        return type(self)(*(tuple(mm.take(places) for mm in each) for each in self))

    def after(self, growings: Sequence[Growing], k: int, rain_mm: FloatArray) -> Self:
        """Return the gauge after a month's rain; a new fallow, or a crop sown, empties it."""
        fallow = tuple(
            _added(mm, rain_mm, empties=k == g.calendar.fallow_k, counts=g.is_fallow(k))
            for g, mm in zip(growings, self.fallow_mm, strict=True)
        )
        season = tuple(
            _added(mm, rain_mm, empties=k == g.calendar.sow_k, counts=g.is_in_ground(k))
            if g.rain_yield is not None
            else mm
            for g, mm in zip(growings, self.season_mm, strict=True)
        )
        return type(self)(fallow, season)


def _added(mm: FloatArray, rain_mm: FloatArray, *, empties: bool, counts: bool) -> FloatArray:
    """Return a gauge emptied where something begins, with the month's rain where it counts."""
    held = np.zeros_like(mm) if empties else mm
    return held + rain_mm if counts else held


def gauge_at(
    opening_month: int,
    sequences: int,
    growings: Sequence[Growing],
    weather: RecordWeather,
    first_month: int,
) -> RainGauge:
    """Return the gauge at the start of a month, the same in all sequences.

    Parameters
    ----------
    opening_month
        Month number.
    sequences
        How many.
    growings
        All that the farm may grow.
    weather, first_month
        On record, and the month number of its first row.
    """
    empty = tuple(np.zeros(sequences) for _ in growings)
    gauge, average_mm = RainGauge(empty, empty), weather.average().rain_mm
    for month in range(opening_month - 2 * MONTHS_IN_YEAR, opening_month):
        k, row = month_of_water_year(month), month - first_month
        on_record = 0 <= row < weather.rain_mm.size
        rain_mm = weather.rain_mm[row] if on_record else average_mm[k]
        gauge = gauge.after(growings, k, np.full(sequences, rain_mm))
    return gauge


def soil_at_sowing_mm(
    gauge: RainGauge, growings: Sequence[Growing], k: int
) -> tuple[FloatArray | None, ...]:
    """Return the soil water of what is sown in a month, by growing; None: not sown in it."""
    return tuple(
        g.fallow_store_mm(mm) if g.calendar.sow_k == k else None
        for g, mm in zip(growings, gauge.fallow_mm, strict=True)
    )


def rain_yield_frac(
    gauge: RainGauge, growings: Sequence[Growing], k: int
) -> tuple[FloatArray | None, ...]:
    """Return the yield, over its mean, of what lives on rain alone and is harvested in a month."""
    return tuple(
        g.rain_yield.frac(season_mm, fallow_mm)
        if g.rain_yield is not None and g.calendar.harvest_k == k
        else None
        for g, season_mm, fallow_mm in zip(growings, gauge.season_mm, gauge.fallow_mm, strict=True)
    )
