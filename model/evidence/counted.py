"""In how many years should it have happened, had the chances been right?

Every case adds its chance to the count expected, and p (1 - p) to its variance; where windows
overlap the variance grows as the cases are worth fewer (`overlap`). Within a bin of the reliability
table every case is given the bin's mean chance, which makes the variance a little too large.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from model.evidence.overlap import effective_cases, pit_correlations
from model.evidence.reliability import ReliabilityBin
from model.record.memory import TWO_SIDED_95_Z


@dataclass(frozen=True, slots=True)
class Counted:
    """How often it happened, and how often right chances would have had it happen."""

    happened: int
    cases: int
    expected: float
    low: float  # 95 of 100 such records with right chances bring from `low` to `high`
    high: float

    @property
    def said_too_low(self) -> bool:
        """Whether it happened more often than right chances bring."""
        return self.happened > self.high

    @property
    def said_too_high(self) -> bool:
        """Whether it happened less often than right chances bring."""
        return self.happened < self.low


def counted(table: Sequence[ReliabilityBin], seasons: int) -> Counted:
    """Count an event against the chances that were said of it.

    Parameters
    ----------
    table
        The cases by the chance said.
    seasons
        How many seasons ahead the chances were said, 1 or more: neighbouring cases share the rest.

    Examples
    --------
    >>> a_fifth = ReliabilityBin(0.1, 0.3, 100, 0.2, 0.35, 0.26, 0.45)
    >>> found = counted([a_fifth], 1)
    >>> found.happened, found.expected, round(found.low, 2), round(found.high, 2)
    (35, 20.0, 12.16, 27.84)
    >>> found.said_too_low
    True
    """
    cases = sum(row.cases for row in table)
    expected = sum(row.cases * row.mean_chance for row in table if row.cases)
    variance = sum(
        row.cases * row.mean_chance * (1.0 - row.mean_chance) for row in table if row.cases
    )
    if cases:
        variance *= cases / effective_cases(cases, pit_correlations(seasons))
    half = TWO_SIDED_95_Z * math.sqrt(variance)
    happened = round(sum(row.cases * row.share for row in table if row.cases))
    return Counted(happened, cases, expected, max(0.0, expected - half), expected + half)
