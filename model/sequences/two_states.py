"""How likely is a series, if each value is normal about the mean of a low or a high state?

The state follows a two-state chain that opens in its long-run shares; both states have one spread.
The likelihood is summed forwards over the states, and its gradient found by going backwards
(Baum's identity), exactly and at once. A series has about a hundred values: plain Python is then
quicker than arrays.

Parameters are free numbers, without bounds: the logits of the chances that the low and the high
state stay, the two means, and the logarithm of the spread.

References
----------
Hamilton 1989 (Econometrica 57:357); Baum, Petrie, Soules and Weiss 1970 (Ann. Math. Statist.
41:164). Titles from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from model.record.record import FloatArray

MOST_LOGIT: Final = 30.0
"""Beyond this a chance is 0 or 1 to the last digit."""

LEAST_DENSITY: Final = 1e-300
"""So that a value far from both means does not end the sum."""


def likelihood(values: Sequence[float], free: FloatArray) -> tuple[float, FloatArray]:
    """Return the log-likelihood of a series and its gradient.

    Parameters
    ----------
    values
        (value,) as plain numbers.
    free
        (5,) free parameters.
    """
    stays_low, stays_high = _chance(float(free[0])), _chance(float(free[1]))
    low_mean, high_mean, sigma = float(free[2]), float(free[3]), math.exp(float(free[4]))
    steps = ((stays_low, 1.0 - stays_low), (1.0 - stays_high, stays_high))
    leaves = 2.0 - stays_low - stays_high
    opening = ((1.0 - stays_high) / leaves, (1.0 - stays_low) / leaves) if leaves else (0.5, 0.5)
    densities = [_densities(value, low_mean, high_mean, sigma) for value in values]
    forward, scales = _forwards(densities, opening, steps)
    backward = _backwards(densities, scales, steps)
    moves, in_low, in_high = _expected_moves(forward, backward, densities, scales, steps)
    first = forward[0][0] * backward[0][0]
    gradient = [
        moves[0][0] * (1.0 - stays_low) - moves[0][1] * stays_low,
        moves[1][1] * (1.0 - stays_high) - moves[1][0] * stays_high,
        _about(values, in_low, low_mean) / sigma**2,
        _about(values, in_high, high_mean) / sigma**2,
        (_spread(values, in_low, low_mean) + _spread(values, in_high, high_mean)) / sigma**2
        - len(values),
    ]
    if leaves:  # the opening shares move with the chances too
        gradient[0] += stays_low * ((1.0 - stays_low) / leaves - (1.0 - first))
        gradient[1] += stays_high * ((1.0 - stays_high) / leaves - first)
    return sum(map(math.log, scales)), np.array(gradient)


def free_of(
    stays_low: float, stays_high: float, means: Sequence[float], sigma: float
) -> FloatArray:
    """Return the free parameters of chances, means and a spread."""
    return np.array([_logit(stays_low), _logit(stays_high), *means, math.log(sigma)])


def bounded(free: FloatArray) -> tuple[float, float, float, float, float]:
    """Return chances, means and spread of free parameters."""
    low, high = _chance(float(free[0])), _chance(float(free[1]))
    return low, high, float(free[2]), float(free[3]), math.exp(float(free[4]))


def _chance(logit: float) -> float:
    return 1.0 / (1.0 + math.exp(-max(-MOST_LOGIT, min(MOST_LOGIT, logit))))


def _logit(chance: float) -> float:
    return math.log(chance / (1.0 - chance))


Pair = tuple[float, float]


def _densities(value: float, low_mean: float, high_mean: float, sigma: float) -> Pair:
    """Return the density of a value in either state."""
    over = 1.0 / (sigma * math.sqrt(2.0 * math.pi))
    low, high = (value - low_mean) / sigma, (value - high_mean) / sigma
    return (
        max(LEAST_DENSITY, over * math.exp(-0.5 * min(1400.0, low * low))),
        max(LEAST_DENSITY, over * math.exp(-0.5 * min(1400.0, high * high))),
    )


def _forwards(
    densities: Sequence[Pair], opening: Pair, steps: tuple[Pair, Pair]
) -> tuple[list[Pair], list[float]]:
    """Return the filtered chances of each value's state, and the density of each value."""
    forward, scales = [], []
    (ll, lh), (hl, hh) = steps
    low, high = opening
    for at, (of_low, of_high) in enumerate(densities):
        if at:
            low, high = low * ll + high * hl, low * lh + high * hh
        low, high = low * of_low, high * of_high
        scale = low + high
        low, high = low / scale, high / scale
        forward.append((low, high))
        scales.append(scale)
    return forward, scales


def _backwards(
    densities: Sequence[Pair], scales: Sequence[float], steps: tuple[Pair, Pair]
) -> list[Pair]:
    """Return what later values say of each value's state, scaled as the forward sums are."""
    (ll, lh), (hl, hh) = steps
    backward = [(1.0, 1.0)]
    for (of_low, of_high), scale in zip(densities[:0:-1], scales[:0:-1], strict=True):
        low, high = backward[-1]
        low, high = low * of_low / scale, high * of_high / scale
        backward.append((ll * low + lh * high, hl * low + hh * high))
    return backward[::-1]


def _expected_moves(
    forward: Sequence[Pair],
    backward: Sequence[Pair],
    densities: Sequence[Pair],
    scales: Sequence[float],
    steps: tuple[Pair, Pair],
) -> tuple[tuple[Pair, Pair], list[float], list[float]]:
    """Return how often the state is expected to move from each to each, and its chances."""
    (ll, lh), (hl, hh) = steps
    low_low = low_high = high_low = high_high = 0.0
    for at in range(1, len(forward)):
        low, high = forward[at - 1]
        to_low = densities[at][0] * backward[at][0] / scales[at]
        to_high = densities[at][1] * backward[at][1] / scales[at]
        low_low += low * ll * to_low
        low_high += low * lh * to_high
        high_low += high * hl * to_low
        high_high += high * hh * to_high
    in_low = [f[0] * b[0] for f, b in zip(forward, backward, strict=True)]
    return ((low_low, low_high), (high_low, high_high)), in_low, [1.0 - low for low in in_low]


def _about(values: Sequence[float], weights: Sequence[float], mean: float) -> float:
    return sum(w * (value - mean) for value, w in zip(values, weights, strict=True))


def _spread(values: Sequence[float], weights: Sequence[float], mean: float) -> float:
    return sum(w * (value - mean) ** 2 for value, w in zip(values, weights, strict=True))
