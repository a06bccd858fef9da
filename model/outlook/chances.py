"""How sure is a chance or an amount?

Two errors, never one. The error of the draws is what a finite number of sequences leaves open: the
Wilson interval for a chance, an interval between order statistics for a quantile. The error of the
record is what a finite number of observed years leaves open: the same number worked out again on
records whose years were resampled in blocks, widened for the memory that blocks forget
(`widening`): an amount about its value, a chance on the logit scale. The second is mostly the
larger and the more honest.

Quantiles are Hyndman and Fan's type 7 (1996, Am. Stat. 50:361).

References
----------
Wilson 1927 (J. Am. Stat. Assoc. 22:209); Newcombe 1998 (Stat. Med. 17:857). Titles from memory.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtrik

from model.record.memory import TWO_SIDED_95_Z
from model.record.record import FloatArray

QUANTILES: Final = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
"""Chances of non-exceedance that are published of each amount."""

CONFIDENCE_TAILS: Final = (0.025, 0.975)
"""All intervals are of 95 %."""


LEAST_CHANCE: Final = 0.004
"""Half of one of the 125 sequences drawn from a resampled record: below it a logit says nothing."""

Bounds = tuple[float, float]
"""The least and the most."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A chance or an amount with both its errors (95 % intervals).

    The record's interval is None where the record was not resampled.
    """

    value: float
    draws_low: float
    draws_high: float
    record_low: float | None = None
    record_high: float | None = None
    draws: int | None = None  # sequences that a chance was counted in

    @property
    def headline(self) -> tuple[float, float]:
        """The interval to show first: the record's where there is one."""
        if self.record_low is None or self.record_high is None:
            return self.draws_low, self.draws_high
        return self.record_low, self.record_high


def wilson_interval(hits: float, draws: int) -> tuple[float, float]:
    """Return the 95 % interval of a chance seen `hits` times in `draws` (Wilson's score interval).

    Examples
    --------
    >>> [round(end, 4) for end in wilson_interval(0, 20)]
    [0.0, 0.1611]
    """
    share = hits / draws
    z2 = TWO_SIDED_95_Z**2
    middle = (share + z2 / (2 * draws)) / (1 + z2 / draws)
    half = (
        TWO_SIDED_95_Z
        * math.sqrt(share * (1 - share) / draws + z2 / (4 * draws**2))
        / (1 + z2 / draws)
    )
    low = 0.0 if hits == 0 else middle - half
    high = 1.0 if hits == draws else middle + half
    return low, high


@functools.lru_cache(maxsize=256)
def quantile_ranks(frac: float, draws: int) -> tuple[int, int]:
    """Return the ranks (from 1) of the order statistics that hold a quantile with 95 % confidence.

    Binomial argument, no distribution assumed; held within 1 and `draws`.

    Examples
    --------
    >>> quantile_ranks(0.05, 1000)
    (37, 65)
    """
    low, high = (math.ceil(bdtrik(tail, draws, frac)) for tail in CONFIDENCE_TAILS)
    return max(1, low), min(draws, high + 1)


def chance(
    happened: NDArray[np.bool_], resampled: FloatArray | None, widened_by: float = 1.0
) -> Estimate:
    """Estimate a chance.

    Parameters
    ----------
    happened
        (sequence,) true where it happened.
    resampled
        (resample,) the same chance on each resampled record.
    widened_by
        How far the record's interval is widened.
    """
    hits, draws = int(np.count_nonzero(happened)), happened.size
    value, by_record = hits / draws, None
    if resampled is not None:
        by_record = widened_chance(value, _record_ends(resampled), widened_by)
    found = _with_record(value, *wilson_interval(hits, draws), by_record)
    return replace(found, draws=draws)


def widened_chance(value: float, ends: FloatArray, by: float) -> FloatArray:
    """Widen the interval of a chance on the logit scale; an end at 0 or 1 stays there.

    Examples
    --------
    >>> widened_chance(0.2, np.array([0.1, 0.35]), 1.2).round(4).tolist()
    [0.0863, 0.3857]
    """
    inner = np.clip([value, *ends], LEAST_CHANCE, 1.0 - LEAST_CHANCE)
    logit = np.log(inner / (1.0 - inner))
    wide = 1.0 / (1.0 + np.exp(-(logit[0] + by * (logit[1:] - logit[0]))))
    return np.where((ends > 0.0) & (ends < 1.0), wide, ends)


def widened_amount(value: float, ends: FloatArray, by: float, within: Bounds) -> FloatArray:
    """Widen the interval of an amount about its value, within what the sequences reach at all.

    Examples
    --------
    >>> widened_amount(0.3, np.array([0.1, 0.4]), 1.5, (0.05, 1.0)).round(4).tolist()
    [0.05, 0.45]
    """
    least, most = within
    return np.clip(value + by * (ends - value), min(least, ends[0]), max(most, ends[1]))


def quantiles_of_rows(values: FloatArray) -> FloatArray:
    """Return the published quantiles of each row.

    Parameters
    ----------
    values
        (resample, draw)

    Returns
    -------
    ndarray
        (quantile, resample)
    """
    return ordered_quantiles(np.sort(values, axis=1).T, QUANTILES)


def ordered_quantiles(ordered: FloatArray, fracs: Sequence[float]) -> FloatArray:
    """Read quantiles (type 7) off values in rising order along the first axis.

    Returns
    -------
    ndarray
        The first axis is that of `fracs`.
    """
    return np.stack([_type_7(ordered, frac) for frac in fracs])


@dataclass(frozen=True, slots=True)
class Spread:
    """How an amount is spread over the sequences."""

    mean: float
    quantiles: dict[float, Estimate]  # by chance of non-exceedance

    def reached_in(self, years_of_ten: float) -> Estimate:
        """Return the amount reached or passed in so many years of ten."""
        return self.quantiles[round(1.0 - years_of_ten / 10.0, 6)]


def spread(values: FloatArray, resampled: FloatArray | None, widened_by: float = 1.0) -> Spread:
    """Work out the spread of an amount.

    Parameters
    ----------
    values
        (sequence,)
    resampled
        (quantile, resample) the same quantiles on each resampled record.
    widened_by
        How far the record's intervals are widened.
    """
    draws = values.size
    ranks = [quantile_ranks(frac, draws) for frac in QUANTILES]
    wanted = {rank - 1 for pair in ranks for rank in pair}
    for frac in QUANTILES:
        at = frac * (draws - 1)
        wanted |= {math.floor(at), math.ceil(at)}
    ordered = np.partition(values, sorted(wanted))
    by_record = None if resampled is None else _record_ends(resampled).T
    within = float(values.min()), float(values.max())
    quantiles = {}
    for at, (frac, (low, high)) in enumerate(zip(QUANTILES, ranks, strict=True)):
        value, ends = float(_type_7(ordered, frac)), None
        if by_record is not None:
            ends = widened_amount(value, by_record[at], widened_by, within)
        quantiles[frac] = _with_record(
            value, float(ordered[low - 1]), float(ordered[high - 1]), ends
        )
    return Spread(float(values.mean()), quantiles)


def _type_7(ordered: FloatArray, frac: float) -> FloatArray:
    """Read a quantile off values of which, along the first axis, its neighbours are in order."""
    at = frac * (ordered.shape[0] - 1)
    low, high = ordered[math.floor(at)], ordered[math.ceil(at)]
    return np.asarray(low + (high - low) * (at - math.floor(at)))


def _record_ends(resampled: FloatArray) -> FloatArray:
    """(tail, ...) give the ends of the record's intervals, from values (..., resample)."""
    return ordered_quantiles(np.moveaxis(np.sort(resampled, axis=-1), -1, 0), CONFIDENCE_TAILS)


def _with_record(
    value: float, draws_low: float, draws_high: float, record_ends: FloatArray | None
) -> Estimate:
    """Join a value with both errors; the record's interval always holds the value itself."""
    if record_ends is None:
        return Estimate(value, draws_low, draws_high)
    low, high = record_ends.tolist()
    return Estimate(value, draws_low, draws_high, min(low, value), max(high, value))
