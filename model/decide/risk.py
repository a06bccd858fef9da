"""How bad can it be, and is one way of running the farm better whatever one thinks of risk?

Bad is measured as the mean of the worst part of the outcomes (conditional value at risk of the
loss): it asks how bad the bad seasons are, not only how many there are. Where the worst part ends
inside an outcome, that outcome counts with the part that belongs to it.

Better whatever one thinks of risk is stochastic dominance. First degree: at least as much at every
rank, for whoever prefers more to less. Second degree: at least as much in total over the worst
outcomes, however many of them are taken, for whoever dislikes risk as well.

Outcomes are money or water, more is better, the last axis runs over sequences. They are equally
likely unless chances are given.

References
----------
Rockafellar and Uryasev 2000 (J. Risk 2(3)) and 2002 (J. Banking & Finance 26); Hyndman and Fan 1996
(Am. Stat. 50:361); Hadar and Russell 1969 (Am. Econ. Rev. 59). Titles from memory.
"""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.record.record import FloatArray

WORST_FRAC: Final = 0.1
"""The part of the outcomes that counts as the worst: one season in ten."""

Degree = Literal[1, 2]


def worst_mean(
    outcomes: ArrayLike, worst_frac: float = WORST_FRAC, chances: ArrayLike | None = None
) -> FloatArray:
    """Return the mean of the worst part of the outcomes, (...,).

    Parameters
    ----------
    outcomes
        (..., sequence)
    worst_frac
        The part that counts as the worst, above 0 and at most 1.
    chances
        (sequence,) adding up to 1; equally likely when left out.
    """
    values = np.asarray(outcomes, dtype=np.float64)
    if chances is None:
        return _worst_mean_of_equal(values, worst_frac)
    order = np.argsort(values, axis=-1, kind="stable")
    ordered = np.take_along_axis(values, order, axis=-1)
    chance = np.asarray(chances, dtype=np.float64)[order]
    before = np.cumsum(chance, axis=-1) - chance
    weight = np.clip(worst_frac - before, 0.0, chance)
    mean: FloatArray = (weight * ordered).sum(axis=-1) / weight.sum(axis=-1)
    return mean


def _worst_mean_of_equal(values: FloatArray, worst_frac: float) -> FloatArray:
    """Average the lowest values, the last one in part."""
    counted = worst_frac * values.shape[-1]
    whole = min(math.floor(counted + 1e-9), values.shape[-1] - 1)
    lowest = np.partition(values, whole, axis=-1)
    total = lowest[..., :whole].sum(axis=-1) + (counted - whole) * lowest[..., whole]
    mean: FloatArray = total / counted
    return mean


def worst_value(
    outcomes: ArrayLike, worst_frac: float = WORST_FRAC, chances: ArrayLike | None = None
) -> float:
    """Return the outcome at which the worst part ends (value at risk, the sign left as it is).

    The least outcome that, with all below it, has at least that chance.

    Parameters
    ----------
    outcomes, worst_frac, chances
        As for `worst_mean`, outcomes (sequence,).
    """
    values = np.asarray(outcomes, dtype=np.float64)
    chance = (
        np.full(values.size, 1.0 / values.size) if chances is None else np.asarray(chances, float)
    )
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(chance[order])
    at = int(np.searchsorted(reached, worst_frac * (1.0 - 1e-12)))
    return float(values[order[min(at, values.size - 1)]])


def worst_mean_error(outcomes: ArrayLike, worst_frac: float = WORST_FRAC) -> float:
    """Return the standard error of `worst_mean` over equally likely, independent draws.

    That of the mean of what each draw contributes: the end of the worst part, less how far the draw
    lies below it, per part.
    """
    return _standard_error(_contributions(outcomes, worst_frac))


def mean_difference_error(a: ArrayLike, b: ArrayLike) -> float:
    """Return the standard error of the difference of two means on the same draws.

    Draw by draw, so that what moves both outcomes alike is no error.
    """
    return _standard_error(np.asarray(a, dtype=np.float64) - np.asarray(b, dtype=np.float64))


def worst_difference_error(a: ArrayLike, b: ArrayLike, worst_frac: float = WORST_FRAC) -> float:
    """Return the standard error of the difference of two `worst_mean` on the same draws."""
    return _standard_error(_contributions(a, worst_frac) - _contributions(b, worst_frac))


def _contributions(outcomes: ArrayLike, worst_frac: float) -> FloatArray:
    """Return what each draw adds to the mean of the worst part; see `worst_mean_error`."""
    values = np.asarray(outcomes, dtype=np.float64)
    end = worst_value(values, worst_frac)
    found: FloatArray = end - np.maximum(0.0, end - values) / worst_frac
    return found


def _standard_error(values: FloatArray) -> float:
    """Return the standard error of a mean; nan of a single draw, which tells of none."""
    if values.size == 1:
        return math.nan
    return float(values.std(ddof=1) / math.sqrt(values.size))


def dominated(outcomes: ArrayLike, degree: Degree = 2) -> NDArray[np.bool_]:
    """Return which of many ways of running the farm another one dominates.

    Parameters
    ----------
    outcomes
        (way, sequence) on the same equally likely sequences.
    degree
        1: for whoever prefers more to less. 2: for whoever dislikes risk as well.
    """
    ladders = _ladder(np.asarray(outcomes, dtype=np.float64), degree)
    lowest, total = ladders[:, 0], ladders.sum(axis=1)
    found = np.zeros(len(ladders), dtype=np.bool_)
    for at, ladder in enumerate(ladders):
        slack = _slack(ladder)
        rivals = (lowest >= lowest[at] - slack) & (total > total[at])
        rungs = ladders[rivals]
        found[at] = (
            (rungs >= ladder - slack).all(axis=1) & (rungs > ladder + slack).any(axis=1)
        ).any()
    return found


def _ladder(outcomes: FloatArray, degree: Degree) -> FloatArray:
    """Return what each rank has (first degree), or all ranks up to it (second)."""
    ordered = np.sort(np.asarray(outcomes, dtype=np.float64), axis=-1)
    return ordered if degree == 1 else np.cumsum(ordered, axis=-1)


def _slack(ladder: FloatArray) -> float:
    """Return what rounding may make of a difference that is none."""
    return 1e-12 * float(np.abs(ladder).max(initial=0.0))
