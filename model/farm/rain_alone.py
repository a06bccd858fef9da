"""What do crops on rain alone make of a sequence's weather?

Land that is never watered lives as its rain lets it, whatever a strategy decides: its root zone is
worked out once for all strategies, with the valley's months.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from model.farm.growing import Growing
from model.farm.rules import FarmRules
from model.farm.soil import Soil, fresh_soil, lost_frac_as_stress
from model.farm.watering import since_watered, through_month
from model.plan.crops import OpeningCrop
from model.plan.farm import Farm
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.water_year import MONTH_NAMES, month_of_water_year

Soils = tuple[Soil | None, ...]
"""By growing, each (sequence,); None: watered, not in the ground, or not followed."""


def soil_at_opening(crop: OpeningCrop, at: int, opening_month: int, rules: FarmRules) -> Soil:
    """Return the root zone of a crop in the ground, (1,).

    As stated, or as average weather leaves it since the month it was last watered.
    """
    if crop.last_watered_month is not None:
        last_k = MONTH_NAMES.index(crop.last_watered_month)
        return since_watered(rules.growings[at], last_k, month_of_water_year(opening_month))
    stated = fresh_soil(np.full(1, crop.soil_water_mm or 0.0))
    return stated._replace(stress=lost_frac_as_stress(np.full(1, crop.yield_lost_frac)))


def soils_at_opening(farm: Farm, opening_month: int, sequences: int, rules: FarmRules) -> Soils:
    """Return the root zones on rain alone at the start of a run, the same in all sequences."""
    found: list[Soil | None] = [None] * len(rules.growings)
    for crop in farm.opening.crops:
        at = rules.place_of(crop.crop, crop.layout)
        if lives_on_rain(rules.growings[at]):
            soil = soil_at_opening(crop, at, opening_month, rules)
            found[at] = soil.take(np.zeros(sequences, dtype=np.int64), axis=0)
    return tuple(found)


def lives_on_rain(growing: Growing) -> bool:
    """Return whether it is never watered, and its root zone is followed."""
    return growing.calendar.last_watering_k is None and growing.rain_yield is None


def soils_of(soils: Soils, places: IntArray) -> Soils:
    """Return some sequences, in a new order; one may come more than once."""
    return tuple(None if soil is None else soil.take(places, axis=0) for soil in soils)


def soils_after(
    soils: Soils,
    growings: Sequence[Growing],
    k: int,
    sown_mm: Sequence[FloatArray | None],
    rain_mm: FloatArray,
    eto_mm: FloatArray,
) -> Soils:
    """Return the root zones on rain alone after a month.

    Parameters
    ----------
    soils
        At its start.
    growings, k
        All that the farm may grow, and the month of the water year.
    sown_mm
        Soil water of what is sown in it; None: not sown in it.
    rain_mm, eto_mm
        Of the whole month, each (sequence,).
    """
    found: list[Soil | None] = []
    for growing, soil, mm in zip(growings, soils, sown_mm, strict=True):
        if not lives_on_rain(growing):
            found.append(None)
            continue
        grown = soil if mm is None else fresh_soil(mm)
        if grown is not None and growing.months[k] is not None:
            grown = through_month(growing, k, grown, growing.weather(k, rain_mm, eto_mm))
        found.append(grown)
    return tuple(found)
