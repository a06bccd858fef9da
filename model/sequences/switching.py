"""Does a series switch between a low and a high state, and how surely?

Each year's value is normal about the mean of the state it is in, with the same spread in both;
the state follows a two-state Markov chain. Fitted by maximum likelihood on the standardised
series from many seeded starts, since a single start can stop at a wrong optimum; the states are
put in the order of their means. Two states are held against one by Akaike's and Bayes' criteria
(AIC, BIC).

References
----------
Hamilton 1989 (Econometrica 57:357). Title from memory.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from model.record.record import FloatArray
from model.sequences.two_states import bounded, free_of, likelihood

STARTS_TRIED: Final = 60
"""Random starts whose likelihood is looked at."""

STARTS_CLIMBED: Final = 8
"""The best of them, each followed to its optimum."""

ONE_STATE_PARAMETERS: Final = 2
TWO_STATE_PARAMETERS: Final = 5

_MOST_STEPS: Final = 200
_BREAKDOWNS: Final = (np.linalg.LinAlgError, ValueError, ArithmeticError, RuntimeError)


Likelihood = Callable[[FloatArray], tuple[float, FloatArray]]
"""Gives the log-likelihood of parameters, and its gradient."""

LEAST_SPREAD: Final = 1e-9
"""Values that differ by no more than this, relative to the largest, are alike: rounding."""


@dataclass(frozen=True, slots=True)
class Switching:
    """Two states fitted to a series, the low one first; means and sigma in the series' own unit."""

    low_mean: float
    high_mean: float
    sigma: float
    stays_low: float  # chance that the low state is followed by itself
    stays_high: float
    log_likelihood: float
    log_likelihood_one_state: float
    filtered_low: FloatArray  # (values,) chance of the low state, from the values up to each
    smoothed_low: FloatArray  # (values,) the same from all values
    parameters: FloatArray  # as fitted to the standardised series: a start for a longer one

    @property
    def count(self) -> int:
        """How many values were fitted."""
        return self.smoothed_low.size

    @property
    def bic(self) -> tuple[float, float]:
        """Bayes' criterion of one and of two states; the lower the better."""
        return self._criteria(math.log(self.count))

    @property
    def long_run_low(self) -> float:
        """The share of years in the low state in the long run."""
        leaves_low, leaves_high = 1.0 - self.stays_low, 1.0 - self.stays_high
        total = leaves_low + leaves_high
        return leaves_high / total if total > 0.0 else 0.5

    def _criteria(self, price: float) -> tuple[float, float]:
        return (
            price * ONE_STATE_PARAMETERS - 2.0 * self.log_likelihood_one_state,
            price * TWO_STATE_PARAMETERS - 2.0 * self.log_likelihood,
        )


def fit_switching(
    values: FloatArray,
    *,
    rng: np.random.Generator,
    also_from: Sequence[FloatArray] = (),
    tried: int = STARTS_TRIED,
    climbed: int = STARTS_CLIMBED,
) -> Switching:
    """Fit two states that differ in their mean.

    Parameters
    ----------
    values
        (values,) with some spread.
    rng
        Of the starts.
    also_from
        Starts to follow besides, such as the `parameters` of a fit to a shorter series.
    tried, climbed
        How many random starts are looked at, and how many of the best are followed.

    Raises
    ------
    ArithmeticError
        All values are alike, or no start led anywhere.
    """
    from statsmodels.tsa.regime_switching import markov_regression

    if not has_spread(values):
        raise ArithmeticError("all years of the record are alike")
    mean, spread = float(values.mean()), float(values.std())
    scaled = (values - mean) / spread
    starts = [_random_start(rng) for _ in range(tried)]
    found = climb(
        partial(likelihood, scaled.tolist()), starts, also_from=also_from, climbed=climbed
    )
    parameters = _low_state_first(found)
    stays_low, stays_high, low_mean, high_mean, sigma = bounded(parameters)
    model = markov_regression.MarkovRegression(scaled, k_regimes=2, trend="c")
    with _quietly():
        result = model.smooth(
            np.array([stays_low, 1.0 - stays_high, low_mean, high_mean, sigma**2]), cov_type="none"
        )
    in_unit = -values.size * math.log(spread)
    return Switching(
        low_mean=mean + spread * low_mean,
        high_mean=mean + spread * high_mean,
        sigma=spread * sigma,
        stays_low=stays_low,
        stays_high=stays_high,
        log_likelihood=float(result.llf) + in_unit,
        log_likelihood_one_state=-0.5 * values.size * (math.log(2.0 * math.pi) + 1.0) + in_unit,
        filtered_low=np.asarray(result.filtered_marginal_probabilities)[:, 0],
        smoothed_low=np.asarray(result.smoothed_marginal_probabilities)[:, 0],
        parameters=parameters,
    )


def has_spread(values: FloatArray) -> bool:
    """Return whether values differ by more than rounding."""
    return bool(values.std() > LEAST_SPREAD * max(1.0, float(np.abs(values).max())))


def climb(
    likelihood_of: Likelihood,
    starts: Iterable[FloatArray],
    *,
    also_from: Sequence[FloatArray] = (),
    climbed: int = STARTS_CLIMBED,
) -> FloatArray:
    """Follow the most likely starts uphill; return the best parameters reached.

    No climb ends below its start.

    Parameters
    ----------
    likelihood_of
        Gives the log-likelihood of parameters without bounds, and its gradient.
    starts
        Parameters to look at; the `climbed` most likely are followed.
    also_from
        Parameters that are followed whatever their likelihood.

    Raises
    ------
    ArithmeticError
        No start led anywhere.
    """
    with _quietly():
        promising = sorted(starts, key=lambda start: -_height(likelihood_of, start))[:climbed]
        reached = [_top_from(likelihood_of, start) for start in (*also_from, *promising)]
        best = max(reached, key=lambda top: _height(likelihood_of, top), default=None)
        if best is None or not math.isfinite(_height(likelihood_of, best)):
            raise ArithmeticError("no start of the switching fit led to an optimum")
    return best


@contextmanager
def _quietly() -> Iterator[None]:
    """Let a start that leads nowhere be left without a report."""
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        yield


def _top_from(likelihood_of: Likelihood, start: FloatArray) -> FloatArray:
    """Follow one start; return the start itself where the climb breaks down or ends below it."""
    from scipy.optimize import minimize

    def depth(parameters: FloatArray) -> tuple[float, FloatArray]:
        height, gradient = likelihood_of(parameters)
        return -height, -gradient

    try:
        found = minimize(depth, start, jac=True, method="BFGS", options={"maxiter": _MOST_STEPS})
    except _BREAKDOWNS:
        return start
    reached = np.asarray(found.x)
    return reached if _height(likelihood_of, reached) >= _height(likelihood_of, start) else start


def _height(likelihood_of: Likelihood, parameters: FloatArray) -> float:
    """Return the log-likelihood, minus infinity where there is none."""
    try:
        height = float(likelihood_of(parameters)[0])
    except _BREAKDOWNS:
        return -math.inf
    return height if math.isfinite(height) else -math.inf


def _random_start(rng: np.random.Generator) -> FloatArray:
    """Draw a start for a standardised series: chances, two means, a spread."""
    stays_low, stays_high = rng.uniform(0.5, 0.98, 2)
    low, high = np.sort(rng.standard_normal(2))
    return free_of(stays_low, stays_high, (low, high), math.sqrt(rng.uniform(0.2, 1.0)))


def _low_state_first(parameters: FloatArray) -> FloatArray:
    """Put the state with the lower mean first."""
    stays_0, stays_1, mean_0, mean_1, log_sigma = parameters
    if mean_0 <= mean_1:
        return parameters
    return np.array([stays_1, stays_0, mean_1, mean_0, log_sigma])
