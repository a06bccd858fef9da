"""What do the strategies grow, in what order, as arrays?

A strategy lists crops in row layouts in order. Strategies differ in their lists; here a step is one
place of the list and one crop in a row layout, with the strategies that have it there. Arrays are
(strategy, 1).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from model.farm.layouts import LayoutRules
from model.plan.strategy import GrowStep, Strategy
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Grown:
    """One place of the list and one crop in a row layout."""

    at: int  # place of the crop and layout among the farm's
    chosen: NDArray[np.bool_]  # whether a strategy has it there
    planned_water_ml_per_ha: FloatArray
    least_water_ml_per_ha: FloatArray
    most_ha: FloatArray

    def part(self, first: int, last: int) -> Self:
        """Return the step for some of the strategies."""
        return self._with(*(column[first:last] for column in self._columns()))

    def repeated(self, count: int) -> Self:
        """Return the step of one strategy so many times over."""
        return self._with(*(np.repeat(column, count, axis=0) for column in self._columns()))

    def _with(self, *columns: NDArray[Any]) -> Self:
        return type(self)(self.at, *columns)

    def _columns(self) -> list[NDArray[Any]]:
        return [getattr(self, field.name) for field in fields(self)[1:]]


def steps_of(strategy: Strategy, layouts: Sequence[LayoutRules]) -> tuple[GrowStep, ...]:
    """Return what a strategy grows; where it lists nothing, each crop in its first layout."""
    if strategy.grow:
        return strategy.grow
    first: dict[str, str] = {}
    for rules in layouts:
        first.setdefault(rules.crop, rules.layout)
    return tuple(GrowStep(crop=crop, layout=layout) for crop, layout in first.items())


def grown_by(
    strategies: Sequence[Strategy], layouts: Sequence[LayoutRules], developed_ha: float
) -> tuple[Grown, ...]:
    """Return the lists of strategies out as arrays, in their order.

    Parameters
    ----------
    strategies
        At least one.
    layouts
        Every crop in every row layout of the farm.
    developed_ha
        The land that `most_of_land_frac` is a part of.
    """
    places = {(rules.crop, rules.layout): at for at, rules in enumerate(layouts)}
    lists = [steps_of(strategy, layouts) for strategy in strategies]
    grown = []
    for order in range(max(len(steps) for steps in lists)):
        here = [steps[order] if order < len(steps) else None for steps in lists]
        for at in sorted({places[step.crop, step.layout] for step in here if step is not None}):
            own = [step if step and places[step.crop, step.layout] == at else None for step in here]
            grown.append(_step(at, own, layouts[at], developed_ha))
    return tuple(grown)


def _step(
    at: int, own: Sequence[GrowStep | None], rules: LayoutRules, developed_ha: float
) -> Grown:
    """Return one step out; strategies without it have None there."""

    def column(values: list[float]) -> FloatArray:
        return np.array(values, dtype=np.float64)[:, None]

    planned = [
        (step.planned_water_ml_per_ha if step else None) or rules.planned_water_ml_per_ha
        for step in own
    ]
    return Grown(
        at=at,
        chosen=np.array([[step is not None] for step in own]),
        planned_water_ml_per_ha=column(planned),
        least_water_ml_per_ha=column([step.least_water_ml_per_ha if step else 0.0 for step in own]),
        most_ha=np.minimum(
            rules.most_ha,
            column([step.most_of_land_frac * developed_ha if step else 0.0 for step in own]),
        ),
    )
