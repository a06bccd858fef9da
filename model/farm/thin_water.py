"""Is a row layout planned with far less water than it asks for?

What a hectare asks for in all is that of average weather, after a fallow of average rain. Early
water saves most and the last megalitre adds little, but far below its need a crop pays for water
that does not bring it through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.farm.growing import Growing
from model.farm.rules import FarmRules
from model.farm.season import hectare_season
from model.plan.strategy import Strategy

THIN_FRAC: Final = 0.85
"""Of the need: below it a plan is cautioned."""


@dataclass(frozen=True, slots=True)
class ThinWater:
    """A crop in a row layout that is planned with far less than it asks for."""

    label: str
    planned_ml_per_ha: float
    need_ml_per_ha: float


def full_need_ml_per_ha(growing: Growing) -> float:
    """Return what a hectare asks for in average weather, at the farm gate."""
    store_mm = np.full(1, growing.average_store_mm)
    season = hectare_season(growing, store_mm, growing.average.month, np.full(1, np.inf))
    return float(season.used_ml_per_ha[0])


def thin_water(rules: FarmRules, strategies: Sequence[Strategy]) -> tuple[ThinWater, ...]:
    """Return what is planned with less than `THIN_FRAC` of its need.

    Parameters
    ----------
    rules
        The farm's.
    strategies
        What they plan for a hectare counts in place of the layout's own figure.
    """
    found = []
    for growing, layout in zip(rules.growings, rules.layouts, strict=True):
        if not layout.irrigated:
            continue
        need_ml = full_need_ml_per_ha(growing)
        stated = [
            step.planned_water_ml_per_ha or layout.planned_water_ml_per_ha
            for strategy in strategies
            for step in strategy.grow
            if (step.crop, step.layout) == (layout.crop, layout.layout)
        ]
        planned_ml = min(stated, default=layout.planned_water_ml_per_ha)
        if planned_ml < THIN_FRAC * need_ml:
            found.append(ThinWater(layout.label, planned_ml, need_ml))
    return tuple(found)
