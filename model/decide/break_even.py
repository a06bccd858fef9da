"""How far may price, yield, water or rates turn before debt cover over the run is 1.00?

Cover after drawings and tax, on average over the sequences. Solved, not stepped: the level is found
between two ends by Brent's method and played again there. Each is turned alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from model.decide.bench import Bench, with_lint, with_rates, with_yield

COVER_TOLERANCE: Final = 2e-3
"""As near to 1.00 as the last digit that is printed of it."""
LEVEL_TOLERANCE: Final = 1e-4
"""Of what a level is now; of rates, a hundredth of a point."""
MOST_FACTOR: Final = 10.0
"""No price, yield or allocation is looked for beyond ten times the plan's."""
LEAST_FACTOR: Final = 1e-6
"""Next to nothing: a crop of no yield at all has no rules to run."""
MOST_RATE_UP_FRAC: Final = 1.0
PARTS_OF_THE_WAY: Final = (0.05, 0.15, 0.4, 1.0)
"""From where things stand to the end looked to: most levels are near, and each play costs time."""

Found = Literal["solved", "in_a_step", "never_falls_to_1", "never_reaches_1", "no_debt"]


@dataclass(frozen=True, slots=True)
class BreakEven:
    """How far one thing may turn before cover over the run is 1.00."""

    name: str
    unit: str
    now: float  # in the unit
    at: float | None  # in the unit; None where there is none
    change_frac: float | None  # of what is now; for a rate, what is added
    cover_there: float | None  # when played again at `at`
    found: Literal["solved", "in_a_step", "never_falls_to_1", "never_reaches_1", "no_debt"]


def break_evens(bench: Bench) -> tuple[BreakEven, ...]:
    """Solve how far price, yield, allocation and rate may turn."""
    farm = bench.setting.farm
    lint_aud = farm.main_crop.price_aud_per_unit
    full_bales = farm.main_crop.layouts[0].full_yield_units_per_ha
    announced = sum(float(m.announced_ml_per_share.mean()) for m in bench.river) / bench.seasons

    def lint(factor: float) -> float:
        return bench.run(farm=with_lint(farm, lint_aud * factor)).run_cover

    def yields(factor: float) -> float:
        return bench.run(farm=with_yield(farm, factor)).run_cover

    def water(factor: float) -> float:
        return bench.run(water_factor=factor).run_cover

    def rates(added_frac: float) -> float:
        return bench.run(farm=with_rates(farm, added_frac)).run_cover

    return (
        _scaled("Lint price", "AUD per bale", lint_aud, lint),
        _scaled("Full yield", "bales per ha", full_bales, yields),
        _scaled("Water announced", "ML per share, mean of the seasons", announced, water),
        _added("Rates of interest", "points", rates),
    )


def _scaled(name: str, unit: str, now: float, cover_at: Callable[[float], float]) -> BreakEven:
    """Solve for a factor: down from 1 where cover is above 1.00 now, else up."""
    found, factor, cover = solve_cover(cover_at, start=1.0, lower=LEAST_FACTOR, upper=MOST_FACTOR)
    if factor is None:
        return BreakEven(name, unit, now, None, None, None, found)
    return BreakEven(name, unit, now, now * factor, factor - 1.0, cover, found)


def _added(name: str, unit: str, cover_at: Callable[[float], float]) -> BreakEven:
    """Solve for what is added to the rates."""
    found, added, cover = solve_cover(cover_at, start=0.0, lower=MOST_RATE_UP_FRAC, upper=0.0)
    if added is None:
        return BreakEven(name, unit, 0.0, None, None, None, found)
    return BreakEven(name, unit, 0.0, 100.0 * added, added, cover, found)


def solve_cover(
    cover_at: Callable[[float], float], *, start: float, lower: float, upper: float
) -> tuple[Found, float | None, float | None]:
    """Find the level at which cover is 1.00, and run it again there.

    Parameters
    ----------
    cover_at
        Cover at a level.
    start
        Where things stand.
    lower, upper
        The ends looked to: towards `lower` cover falls, towards `upper` it rises.
    """
    from scipy.optimize import brentq

    cover_of = cache(cover_at)
    now = cover_of(start)
    if math.isnan(now):
        return "no_debt", None, None
    end = lower if now >= 1.0 else upper
    near = start
    for part in PARTS_OF_THE_WAY:
        far = start + part * (end - start)
        if math.isnan(cover_of(far)) or (cover_of(far) >= 1.0) != (now >= 1.0):
            break
        near = far
    beyond = cover_of(far)
    if end == start or math.isnan(beyond) or (beyond >= 1.0) == (now >= 1.0):
        return ("never_falls_to_1" if now >= 1.0 else "never_reaches_1"), None, None
    ends = min(near, far), max(near, far)
    level = float(brentq(lambda x: cover_of(x) - 1.0, *ends, xtol=LEVEL_TOLERANCE))
    there = cover_of(level)
    found: Found = "solved" if abs(there - 1.0) <= COVER_TOLERANCE else "in_a_step"
    return found, level, there
