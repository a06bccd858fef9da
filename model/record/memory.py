"""Do dry years come in runs, and how long a memory do the data ask for?

Measures of a yearly series: correlation of neighbouring years, Hurst's K, the one shift of the mean
that fits best, and the block length that a resampling should keep.

References
----------
Hurst 1951 (Trans. ASCE 116:770); Hipel and McLeod 1994 (Time Series Modelling of Water Resources
and Environmental Systems); Politis and White 2004 (Econometric Reviews 23:53) with the correction
of Patton, Politis and White 2009 (28:372). Titles from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.record import FloatArray

TWO_SIDED_95_Z: Final = 1.959963984540054
"""Normal quantile at 0.975."""


ROUNDING_FRAC: Final = 1e-12
"""A series that moves by less than this part of its size does not move: that is rounding."""


def has_spread(values: FloatArray, size: float | None = None) -> bool:
    """Return whether a series moves at all, by more than rounding.

    Parameters
    ----------
    values
        (years,)
    size
        What the values were taken from, where they are differences; by default their own largest.
    """
    largest = float(np.abs(values).max()) if size is None else size
    return float(np.ptp(values)) > ROUNDING_FRAC * largest


def lag_correlation(values: FloatArray, lag: int = 1) -> float:
    """Correlate a series with itself `lag` years later: the usual estimate, divided by n.

    Parameters
    ----------
    values
        (years,)
    lag
        In years, 1 or more.

    Returns
    -------
    float
        0 for a series without spread.
    """
    if not has_spread(values):
        return 0.0
    deviations = values - values.mean()
    return float(deviations[lag:] @ deviations[:-lag]) / float(deviations @ deviations)


def adjusted_range(values: FloatArray) -> float:
    """Return Hurst's adjusted range: the spread of the running sum of deviations from the mean."""
    running = np.concatenate([[0.0], np.cumsum(values - values.mean())])
    return float(running.max() - running.min())


def hurst_k(values: FloatArray) -> float:
    """Return Hurst's K = ln(R/S) / ln(n/2), with R the adjusted range and S the spread over n.

    About 0.5 in the long run without memory (short independent series give about 0.6), more where
    dry years and wet years bunch. Not a number for a series without spread.
    """
    if not has_spread(values):
        return math.nan
    spread = float(values.std())
    return math.log(adjusted_range(values) / spread) / math.log(values.size / 2.0)


@dataclass(frozen=True, slots=True)
class Shift:
    """The one shift of the mean that fits a series best (least squares)."""

    years_before: int  # how many years belong to the first part
    mean_before: float
    mean_after: float
    lag_1_without: float  # lag-1 correlation once both parts have their own mean taken off


def one_shift(values: FloatArray) -> Shift:
    """Find the one shift of the mean that leaves the least sum of squares.

    Parameters
    ----------
    values
        (years,) two or more.
    """
    n = values.size
    first = np.arange(1, n)
    running = np.cumsum(values)
    before, after = running[:-1], running[-1] - running[:-1]
    explained = before**2 / first + after**2 / (n - first)
    at = int(np.argmax(explained)) + 1
    mean_before, mean_after = float(values[:at].mean()), float(values[at:].mean())
    levelled = values - np.where(np.arange(n) < at, mean_before, mean_after)
    still_moves = has_spread(levelled, size=float(np.abs(values).max()))
    return Shift(at, mean_before, mean_after, lag_correlation(levelled) if still_moves else 0.0)


def shift_explains_persistence(values: FloatArray) -> bool:
    """Return whether one shift of the mean is enough to explain that years resemble the one before.

    The rule: the lag-1 correlation lies above its 95 % band for independent years (1.96 / sqrt n),
    and without the shift it no longer does.
    """
    band = TWO_SIDED_95_Z / math.sqrt(values.size)
    return lag_correlation(values) > band >= one_shift(values).lag_1_without


@dataclass(frozen=True, slots=True)
class BlockYears:
    """Block lengths that a series asks for, years."""

    stationary: float
    circular: float


def optimal_block_years(values: FloatArray) -> BlockYears:
    """Return the block length that makes a block bootstrap of the mean most accurate.

    The correlation length m is the first lag from which K = max(5, log10 n) correlations in a row
    stay within 2 sqrt(log10 n / n). With M = 2 m and the flat-topped window, G sums
    window x lag x covariance and g the windowed covariances; the length is
    (2 G^2 / D)^(1/3) n^(1/3), where D = 2 g^2 (stationary) or 4/3 g^2 (circular), and no more than
    min(3 sqrt n, n / 3).

    Parameters
    ----------
    values
        (years,) of few it says little: a third of them is the most it asks for.

    Returns
    -------
    BlockYears
        1 for a series without spread.
    """
    n = values.size
    if not has_spread(values):
        return BlockYears(1.0, 1.0)
    deviations = values - values.mean()
    window_half, covariance = _window_and_covariances(deviations)
    lags = np.arange(1, window_half + 1)
    weights = np.minimum(1.0, 2.0 * (1.0 - lags / window_half))
    weighted = weights * covariance[lags]
    big_g = 2.0 * float(np.sum(weighted * lags))
    small_g = float(covariance[0]) + 2.0 * float(np.sum(weighted))
    longest = math.ceil(min(3.0 * math.sqrt(n), n / 3.0))

    def length(factor: float) -> float:
        cubed = 2.0 * big_g**2 / (factor * small_g**2) * n
        return float(min(longest, cubed ** (1.0 / 3.0)))

    return BlockYears(stationary=length(2.0), circular=length(4.0 / 3.0))


def _window_and_covariances(deviations: FloatArray) -> tuple[int, FloatArray]:
    """Return M, half the width of the window, and the covariances at lags 0 to the largest used."""
    n = deviations.size
    in_a_row = max(5, int(math.log10(n)))
    largest = min(math.ceil(math.sqrt(n)) + in_a_row, n - 1)  # a short series has no later lags
    covariance = np.array(
        [deviations[lag:] @ deviations[: n - lag] / n for lag in range(largest + 1)]
    )
    small = np.abs(covariance) < 2.0 * math.sqrt(math.log10(n) / n) * covariance[0]
    for lag in range(1, largest - in_a_row + 1):
        if small[lag : lag + in_a_row].all():
            return min(2 * lag, largest), covariance
    return largest, covariance
