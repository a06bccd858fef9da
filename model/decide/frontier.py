"""What does holding back, or planting less, cost on average, and what does it spare in bad runs?

A grid of strategies (water held back and from how much on, most land planted, and if asked how sure
the expected allocation must be) is run on the same sequences. Each point is shown by the mean of
what the run is worth (see `objective`), the mean of its worst tenth, and the chance of missing a
payment. A point is dominated where another does at least as well for whoever dislikes risk:
second-degree stochastic dominance on the sequences themselves, not by eye on two of its numbers.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.decide.objective import worth_of
from model.decide.risk import (
    dominated,
    mean_difference_error,
    worst_difference_error,
    worst_mean,
    worst_mean_error,
)
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray, Settings
from model.outlook.chances import Estimate, chance
from model.outlook.setting import Progress
from model.plan.strategy import Strategy
from model.record.memory import TWO_SIDED_95_Z
from model.record.record import FloatArray

AT_ONCE: Final = 5
"""Ways run at once: with 2,000 sequences their arrays stay in the processor's cache (measured)."""


Way = tuple[float, float, float, float]
"""Held back, held above, most land and chance of the expected: a way of the grid."""

PENNY_AUD: Final = 0.01
"""Less than this is rounding, and no difference."""


@dataclass(frozen=True, slots=True)
class Point:
    """One way of running the farm, and what it brings."""

    hold_back_ml_per_share: float
    hold_above_ml_per_share: float
    most_area_ha: float
    expected_chance_frac: float
    mean_aud: float
    mean_error_aud: float  # standard error
    worst_tenth_aud: float
    worst_tenth_error_aud: float  # standard error
    payment_missed: Estimate
    dominated: bool


@dataclass(frozen=True, slots=True)
class Pair:
    """Two ways on the frontier, held against each other run by run."""

    better: Point  # on average
    other: Point
    mean_ahead_aud: float  # of the better, 0 or more
    mean_error_aud: float  # 95 %: half its width
    worst_tenth_ahead_aud: float  # of the better; below 0 where the other is the safer
    worst_tenth_error_aud: float  # 95 %: half its width

    @property
    def apart_on_average(self) -> bool:
        """Whether the means differ by more than the error of their difference."""
        return abs(self.mean_ahead_aud) > max(self.mean_error_aud, PENNY_AUD)

    @property
    def apart_when_bad(self) -> bool:
        """Whether the worst tenths differ by more than the error of their difference."""
        return abs(self.worst_tenth_ahead_aud) > max(self.worst_tenth_error_aud, PENNY_AUD)


@dataclass(frozen=True, slots=True)
class Frontier:
    """All points of a grid."""

    strategy: str
    sequences: int
    points: tuple[Point, ...]
    neighbours: tuple[Pair, ...]  # along what is not dominated, the best on average first
    ends: Pair  # the best on average, and the best in the worst tenth

    def best(self) -> tuple[Point, ...]:
        """Return the points that no other dominates."""
        return tuple(point for point in self.points if not point.dominated)


def frontier(
    setting: FarmSetting,
    river: list[RiverMonth],
    base: Strategy,
    *,
    hold_back_ml_per_share: Sequence[float],
    most_area_ha: Sequence[float],
    hold_above_ml_per_share: Sequence[float] = (),
    expected_chance_frac: Sequence[float] = (),
    progress: Progress | None = None,
) -> Frontier:
    """Run a grid of ways through the same sequences.

    Parameters
    ----------
    setting, river
        The farm, and the valley's months as it meets them.
    base
        The strategy whose hold-back, most area and reliance are varied.
    hold_back_ml_per_share, most_area_ha, hold_above_ml_per_share, expected_chance_frac
        The grid; of the last two, none given leaves the base's own. Holding nothing back is tried
        once, as it makes no difference from how much on nothing is held.
    progress
        Called with the ways done and the ways in all.

    Returns
    -------
    Frontier
        Each way's mean and worst tenth of what the run is worth at its end (AUD), their standard
        errors and the chance of a missed payment; what no other way beats in both; neighbours held
        against each other run by run.

    Raises
    ------
    PlanError
        From `farm_setting_of`, which checks that the plan's parts fit together.

    Notes
    -----
    A way is dominated where another is at least as good in every order statistic of its outcomes
    (second-degree stochastic dominance); the worst tenth is Rockafellar and Uryasev's (2002).

    Examples
    --------
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20)
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> setting = farm_setting_of(plan, record, strategies_of(plan))
    >>> river = setting.river(setting.valley.first_sequences(20))
    >>> middle = setting.strategies[1]
    >>> found = frontier(
    ...     setting, river, middle, hold_back_ml_per_share=[0.0, 0.1], most_area_ha=[50.0, 100.0]
    ... )
    >>> len(found.points), len(found.best()) >= 1
    (4, True)
    """
    chances = tuple(expected_chance_frac) or (base.expected_chance_frac,)
    above = tuple(hold_above_ml_per_share) or (base.hold_above_ml_per_share,)
    grid = [
        way
        for way in itertools.product(hold_back_ml_per_share, above, most_area_ha, chances)
        if way[0] > 0.0 or way[1] == above[0]
    ]
    known = replace(setting, expectation=setting.expectation.with_chances(chances))
    standing, missed = _run(known, river, _settings(base, grid, known.rules), progress)
    points = tuple(_points(grid, standing, missed, dominated(standing)))
    return Frontier(
        strategy=base.name,
        sequences=standing.shape[1],
        points=points,
        neighbours=tuple(
            _pair(points, standing, one, other) for one, other in itertools.pairwise(_along(points))
        ),
        ends=_pair(points, standing, *_ends(points)),
    )


def _settings(base: Strategy, grid: list[Way], rules: FarmRules) -> Settings:
    """Return the grid out as ways of running the farm."""
    hold_back, hold_above, most_ha, chances = np.array(grid).T[:, :, None]
    return replace(
        Settings.of([base], rules).repeated(len(grid)),
        hold_back_ml_per_share=hold_back,
        hold_above_ml_per_share=hold_above,
        most_area_ha=most_ha,
        expected_chance_frac=chances,
    )


def _run(
    setting: FarmSetting, river: list[RiverMonth], settings: Settings, progress: Progress | None
) -> tuple[FloatArray, BoolArray]:
    """Run the ways a few at once; give worth and missed payments, each (way, sequence)."""
    standing, missed = [], []
    for first in range(0, settings.count, AT_ONCE):
        part = settings.part(first, first + AT_ONCE)
        worth = worth_of(setting, river, part)
        standing.append(worth.standing_aud)
        missed.append(worth.payment_missed)
        if progress is not None:
            progress(min(first + AT_ONCE, settings.count), settings.count)
    return np.concatenate(standing), np.concatenate(missed)


def _points(
    grid: list[Way],
    standing: FloatArray,
    missed: BoolArray,
    is_dominated: BoolArray,
) -> Iterator[Point]:
    """Measure every way."""
    worst = worst_mean(standing)
    for at, (hold_back, hold_above, most_ha, chance_frac) in enumerate(grid):
        yield Point(
            hold_back_ml_per_share=hold_back,
            hold_above_ml_per_share=hold_above,
            most_area_ha=most_ha,
            expected_chance_frac=chance_frac,
            mean_aud=float(standing[at].mean()),
            mean_error_aud=float(standing[at].std(ddof=1)) / math.sqrt(standing.shape[1]),
            worst_tenth_aud=float(worst[at]),
            worst_tenth_error_aud=worst_mean_error(standing[at]),
            payment_missed=chance(missed[at], None),
            dominated=bool(is_dominated[at]),
        )


def _along(points: Sequence[Point]) -> list[int]:
    """Return the places of the ways that none dominates, the best on average first."""
    kept = [at for at, point in enumerate(points) if not point.dominated]
    return sorted(kept, key=lambda at: (-points[at].mean_aud, -points[at].worst_tenth_aud))


def _ends(points: Sequence[Point]) -> tuple[int, int]:
    """Return the places of the best on average, and of the best in the worst tenth."""
    along = _along(points)
    return along[0], max(along, key=lambda at: points[at].worst_tenth_aud)


def _pair(points: Sequence[Point], standing: FloatArray, at: int, other: int) -> Pair:
    """Compare two ways with each other: sequence by sequence, so that the error is their own."""
    better, second, both = points[at], points[other], (standing[at], standing[other])
    return Pair(
        better=better,
        other=second,
        mean_ahead_aud=better.mean_aud - second.mean_aud,
        mean_error_aud=TWO_SIDED_95_Z * mean_difference_error(*both),
        worst_tenth_ahead_aud=better.worst_tenth_aud - second.worst_tenth_aud,
        worst_tenth_error_aud=TWO_SIDED_95_Z * worst_difference_error(*both),
    )
