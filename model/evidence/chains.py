"""How long do dry seasons keep on, if each depends on the one before?

A two-state chain: each season is dry or wet, and the chance of the next depends only on the
present one. All that is said of dry runs follows from two numbers: the chance that a dry season
is followed by another, and the same for a wet one. Independent seasons are the chain in which
both sum to 1.

Closed forms and recursions, derived here; no random numbers. Real records may remember for longer
than one season, and then long runs come more often than these say.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Chain:
    """Seasons that are dry or wet.

    Attributes
    ----------
    stay_dry
        Chance that a dry season is followed by a dry one, 0 to 1.
    stay_wet
        Chance that a wet season is followed by a wet one, 0 to 1.
    """

    stay_dry: float
    stay_wet: float

    def __post_init__(self) -> None:
        """Check that both are chances, and that the chain can leave at least one state."""
        if not (0.0 <= self.stay_dry <= 1.0 and 0.0 <= self.stay_wet <= 1.0):
            raise ValueError(f"chances from 0 to 1 are needed, not {self}")
        if self.stay_dry == self.stay_wet == 1.0:
            raise ValueError("a chain that leaves neither state has no long-run share of dry")

    @property
    def dry_share(self) -> float:
        """Share of dry seasons in the long run."""
        return (1.0 - self.stay_wet) / (2.0 - self.stay_dry - self.stay_wet)

    @property
    def mean_dry_spell(self) -> float:
        """Mean length of a dry spell, seasons; endless where it is never left."""
        return _mean_spell(self.stay_dry)

    def chance_of_dry_run(
        self, at_least: int, seasons: int, first_dry: float | None = None
    ) -> float:
        """Return the chance that some dry run is at least so long.

        Parameters
        ----------
        at_least
            Length of the run, 1 or more.
        seasons
            How many seasons are looked at, 1 or more.
        first_dry
            Chance that the first of them is dry; the long-run share unless given.

        Notes
        -----
        The length of the dry run at hand, 0 .. `at_least`, is itself a chain that ends once it gets
        there; the powers of its matrix give all seasons at once, a million as soon as ten.
        """
        first = self.dry_share if first_dry is None else first_dry
        grow = np.zeros((at_least + 1, at_least + 1))
        grow[0, :2] = self.stay_wet, 1.0 - self.stay_wet
        for length in range(1, at_least):
            grow[length, 0], grow[length, length + 1] = 1.0 - self.stay_dry, self.stay_dry
        grow[at_least, at_least] = 1.0
        start = np.zeros(at_least + 1)
        start[:2] = 1.0 - first, first
        return float((start @ np.linalg.matrix_power(grow, seasons - 1))[at_least])


def _mean_spell(stay: float) -> float:
    """Mean of a geometric spell."""
    return 1.0 / (1.0 - stay) if stay < 1.0 else math.inf


def independent(dry_share: float) -> Chain:
    """Make the chain without memory, of so large a share of dry seasons."""
    return Chain(dry_share, 1.0 - dry_share)


def fitted(dry: BoolArray) -> Chain:
    """Fit a chain to seasons that were dry or not: the most likely chances, by counting.

    Parameters
    ----------
    dry
        (season,) in the order of time.

    Raises
    ------
    ValueError
        No season follows a dry one, or none a wet one: nothing can be counted.
    """
    before, after = dry[:-1], dry[1:]
    if before.all() or not before.any():
        raise ValueError("a chain is fitted to seasons of both kinds")
    return Chain(float(after[before].mean()), float(1.0 - after[~before].mean()))


def dry_runs(dry: BoolArray) -> NDArray[np.intp]:
    """Measure the dry runs of a record, (run,) in seasons, in the order of time."""
    edges = np.diff(np.concatenate([[False], dry, [False]]).astype(np.int8))
    return np.asarray(np.flatnonzero(edges == -1) - np.flatnonzero(edges == 1))
