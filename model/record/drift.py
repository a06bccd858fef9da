"""Has the river's usual flow drifted, and where does it stand now?

A year's inflow is taken as a level plus what the year itself brings; the level wanders from year
to year (local level model). The two variances are those of the highest likelihood. Nothing is
known of the level before the first year, whose value therefore says nothing of the likelihood
(diffuse start).

    value_t = level_t + e_t, var h;    level_{t+1} = level_t + w_t, var q

With P the variance of the level foretold and F = P + h that of the value, the level moves by
P / F of the error of each year, the gain; after many years it settles where
P = q (1 + sqrt(1 + 4 h / q)) / 2.

References
----------
Durbin and Koopman 2012 (Time Series Analysis by State Space Methods, 2nd ed., chapter 2). Title
from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.record import FloatArray

RATIO_BOUNDS: Final = (1e-6, 1e4)
"""Of q to h: from a level that stands still to one that is the value itself."""

_GRID, _REFINEMENTS = 60, 4


@dataclass(frozen=True, slots=True)
class Drift:
    """A wandering level fitted to a series; variances in the unit squared."""

    irregular_variance: float  # h, of the year itself
    level_variance: float  # q, of the level's step
    log_likelihood: float
    log_likelihood_still: float  # of a level that does not wander, which has one variance alone
    next_level: float  # foretold for the year after the last
    next_level_variance: float
    errors: FloatArray  # (values - 1,) one-step errors over their spread, the first value left out

    @property
    def wanders(self) -> bool:
        """Whether a wandering level is likelier, its extra variance paid for (Akaike)."""
        return self.log_likelihood - self.log_likelihood_still > 1.0


def fit_drift(values: FloatArray) -> Drift:
    """Fit a wandering level to a series with some spread, by the ratio of its two variances.

    The likelihood is highest, for each ratio, at one scale, which is worked out; the ratio is
    searched over a grid of its logarithm, and the grid narrowed about the best.
    """
    low, high = np.log(RATIO_BOUNDS)
    for _ in range(_REFINEMENTS):
        ratios = np.exp(np.linspace(low, high, _GRID))
        likelihoods = [_at_ratio(values, ratio)[0] for ratio in ratios]
        best = float(ratios[int(np.argmax(likelihoods))])
        step = (high - low) / (_GRID - 1)
        low, high = math.log(best) - step, math.log(best) + step
    _, scale = _at_ratio(values, best)
    return drift_at(values, scale, best * scale)


def drift_at(
    values: FloatArray,
    irregular_variance: float,
    level_variance: float,
    *,
    prior_variance: float = math.inf,
) -> Drift:
    """Work out level, errors and likelihood at stated variances.

    Parameters
    ----------
    values
        (years,)
    irregular_variance, level_variance
        h and q, in the unit squared.
    prior_variance
        Of the level about 0 before the first year. Endless: nothing is known of it. Some published
        likelihoods take a large number in its place.
    """
    errors, spreads, level, variance = _filtered(
        values, irregular_variance, level_variance, prior_variance
    )
    still, _ = _at_ratio(values, 0.0)
    surprise = np.log(2.0 * math.pi * spreads) + errors**2 / spreads
    return Drift(
        irregular_variance=irregular_variance,
        level_variance=level_variance,
        log_likelihood=-0.5 * float(np.sum(surprise)),
        log_likelihood_still=still,
        next_level=level,
        next_level_variance=variance,
        errors=errors / np.sqrt(spreads),
    )


def _filtered(
    values: FloatArray, h: float, q: float, prior_variance: float = math.inf
) -> tuple[FloatArray, FloatArray, float, float]:
    """Run the filter: errors and variances, (values - 1,), then the next level and its variance."""
    weight = 1.0 if math.isinf(prior_variance) else prior_variance / (prior_variance + h)
    level, variance = weight * float(values[0]), weight * h + q
    errors, spreads = np.empty(values.size - 1), np.empty(values.size - 1)
    for year, value in enumerate(values[1:].tolist()):
        spread = variance + h
        error = value - level
        errors[year], spreads[year] = error, spread
        level += variance / spread * error
        variance = variance * h / spread + q
    return errors, spreads, level, variance


def _at_ratio(values: FloatArray, ratio: float) -> tuple[float, float]:
    """Return the highest log-likelihood at a ratio of the variances, and h there."""
    errors, spreads, _, _ = _filtered(values, 1.0, ratio)
    n = errors.size
    scale = float(np.mean(errors**2 / spreads))
    likelihood = -0.5 * (n * (math.log(2.0 * math.pi * scale) + 1.0) + float(np.log(spreads).sum()))
    return likelihood, scale
