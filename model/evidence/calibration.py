"""Did what came fall where the odds said it would, as often as they said?

Kernels on arrays. A case is one forecast with what then came: its members are the amounts that
the sequences gave, (case, member), all equally likely; `observed` is (case,).

Amounts of water have atoms: nothing announced, and the cap, come with a chance of their own. The
place of what came is therefore drawn among the members that tie with it (uniform numbers are
passed in), without which right odds would look wrong.

References
----------
Dawid 1984 (J. R. Stat. Soc. A 147:278): the probability integral transform; Czado, Gneiting and
Held 2009 (Biometrics 65:1254): at atoms; Hamill 2001 (Mon. Weather Rev. 129:550): ranks. Titles
from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtr

from model.evidence.overlap import effective_cases, hit_correlations
from model.outlook.chances import CONFIDENCE_TAILS, wilson_interval
from model.record.record import FloatArray

BoolArray = NDArray[np.bool_]

TIE: Final = 1e-9
"""Amounts closer than this are the same amount: rounding, not water."""


def _place(
    members: FloatArray, observed: FloatArray, tie: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Count the members below what came, and those that tie with it, (case,) each."""
    above = members - observed[:, None]
    return np.sum(above < -tie, axis=1), np.sum(np.abs(above) <= tie, axis=1)


def pit(
    members: FloatArray, observed: FloatArray, uniforms: FloatArray, *, tie: float = TIE
) -> FloatArray:
    """Return where in its forecast what came lay: the probability integral transform, randomised.

    Parameters
    ----------
    members
        (case, member)
    observed
        (case,)
    uniforms
        (case,) uniform numbers, from 0 to below 1.
    tie
        Amounts this close are one amount, in their unit.

    Returns
    -------
    ndarray
        (case,) from 0 to below 1: (members below + u (ties + 1)) / (m + 1). Exactly uniform, with
        any number of members and any atoms, where what came is as likely as any member.
    """
    below, equal = _place(members, observed, tie)
    return np.asarray((below + uniforms * (equal + 1)) / (members.shape[1] + 1))


@dataclass(frozen=True, slots=True)
class Uniformity:
    """Whether values look uniform from 0 to 1."""

    statistic: float  # Kolmogorov-Smirnov's D, or chi-square
    p_value: float  # how often uniform values would look as uneven as this, or more
    effective_cases: float  # the independent cases that the p-value counts


def uniformity(values: FloatArray, effective: float | None = None) -> Uniformity:
    """Test whether PIT values are uniform: Kolmogorov and Smirnov's D with its exact chance.

    Parameters
    ----------
    values
        (case,) from 0 to 1.
    effective
        How many independent cases they are worth (`overlap.pit_correlations`); all unless given.
        With fewer the chance is no longer exact, but cautious.
    """
    from scipy.stats import kstwo  # slow to load, and only evidence needs it

    n = values.size
    ordered = np.sort(values)
    steps = np.arange(n)
    distance = float(max(np.max((steps + 1) / n - ordered), np.max(ordered - steps / n)))
    cases = float(n) if effective is None else effective
    return Uniformity(distance, float(kstwo.sf(distance, max(1, int(cases)))), cases)


def in_band(pit_values: FloatArray, level: float) -> BoolArray:
    """Return which cases lay in the central band of a level, by their randomised PIT, (case,).

    A band whose end is an atom, such as "0 to 40 %", holds more than its level. Counted by PIT the
    share held is the level itself where the odds are right.
    """
    return np.asarray(np.abs(pit_values - 0.5) <= level / 2.0)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How often the central band of a level held what came."""

    level: float  # the chance that was promised
    cases: int
    effective_cases: float  # the independent cases that these are worth
    share: float  # of the cases that the band held
    share_low: float  # 95 % interval of the share in the long run (Wilson)
    share_high: float
    accepted_low: float  # where the share of right odds would lie, in 95 of 100 such records
    accepted_high: float

    @property
    def as_promised(self) -> bool:
        """Whether the share could well be the level."""
        return self.accepted_low <= self.share <= self.accepted_high


def coverage(held: BoolArray, level: float, seasons: int = 1) -> Coverage:
    """Judge how often a band held.

    Parameters
    ----------
    held
        (case,) whether it did, one case a year.
    level
        The chance that was promised.
    seasons
        How many seasons ahead each case looked: neighbouring cases share all but one of them.
    """
    cases = effective_cases(held.size, hit_correlations(seasons, level))
    whole, share = max(1, int(cases)), float(held.mean())
    low, high = wilson_interval(share * whole, whole)
    least, most = acceptance_range(level, whole)
    return Coverage(level, held.size, cases, share, low, high, least / whole, most / whole)


def acceptance_range(level: float, cases: int) -> tuple[int, int]:
    """Return the least and most of some independent cases that a true chance would bring about.

    Binomial quantiles at 2.5 % and 97.5 %: a count outside them is not explained by luck.

    Examples
    --------
    >>> acceptance_range(0.9, 50)
    (41, 49)
    """
    at_most = bdtr(np.arange(cases + 1), cases, level)
    low, high = np.searchsorted(at_most, CONFIDENCE_TAILS)
    return int(low), int(high)
