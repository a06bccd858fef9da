"""By how much is an interval too narrow, if it comes from resampling a short record with memory?

Resampling years in blocks forgets what joins the blocks, and a short record shows less memory than
its river has. An interval of 95 % is therefore widened about its value by

    f = t(n_e - 1) / 1.96 x sqrt(V / E),    at least 1,

where r' = r + (1 + 3 r) / n is the lag-one correlation r of n years, its bias taken out;
n_e = n (1 - r') / (1 + r') the independent years that they are worth; t Student's quantile; V the
variance of the mean of n years of a first-order autoregression with r', and E what block
resampling, with blocks of that mean length, is expected to find for it. Both in closed form.

It assumes a memory that fades from year to year. Under a two-state chain, or one that fades more
slowly, intervals still fall short: see `STAYS_SHORT`.

References
----------
Kendall 1954 (Biometrika 41:403): the bias of r; Politis and Romano 1994 (J. Am. Stat. Assoc.
89:1303): the block estimate. Titles from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.memory import TWO_SIDED_95_Z, hurst_k, lag_correlation
from model.record.record import FloatArray

MOST_CORRELATED: Final = 0.95
"""A memory beyond this is no longer one that fades from year to year."""

FEWEST_EFFECTIVE: Final = 3.0
"""Below so many independent years Student's quantile says nothing."""

STAYS_SHORT: Final = {"two_states": (83, 88), "long_memory": (61, 66)}
"""How many of 100 widened intervals of 95 % still hold the truth, where memory is of another kind
(simulated: a two-state chain; a memory with Hurst's exponent 0.8)."""

LONG_MEMORY_K: Final = 0.75
"""Hurst's K from here on looks like a memory that fades slowly (a river's K is mostly 0.6 to 0.8;
the project's own rule)."""


@dataclass(frozen=True, slots=True)
class Widening:
    """How far intervals of a record are widened, and what that rests on."""

    factor: float  # 1 or more
    lag_1: float  # of the years' inflow, its bias taken out
    effective_years: float
    hurst_k: float  # of the years' inflow; not a number where all are alike

    @property
    def stays_short(self) -> bool:
        """Whether the memory looks like one that fades too slowly for the intervals to hold."""
        return self.hurst_k >= LONG_MEMORY_K


def unbiased_lag_1(lag_1: float, years: int) -> float:
    """Take the bias out of a lag-one correlation of so many years.

    Examples
    --------
    >>> round(unbiased_lag_1(0.6, 100), 6)
    0.628
    """
    return lag_1 + (1.0 + 3.0 * lag_1) / years


def effective_years(years: int, lag_1: float) -> float:
    """Count the independent years that years of a memory are worth.

    Examples
    --------
    >>> round(effective_years(100, 0.628), 6)
    22.850123
    """
    return years * (1.0 - lag_1) / (1.0 + lag_1)


def widening(values: FloatArray, block_years: float) -> Widening:
    """Work out how far intervals from a record's years are widened.

    Parameters
    ----------
    values
        (year,)
    block_years
        Mean length of the blocks in which they are resampled.
    """
    from scipy.special import stdtrit  # slow to load

    years = values.size
    lag_1 = min(MOST_CORRELATED, unbiased_lag_1(lag_correlation(values), years))
    worth = max(FEWEST_EFFECTIVE, effective_years(years, lag_1))
    found = math.sqrt(variance_of_mean(years, lag_1) / block_variance(years, lag_1, block_years))
    student = float(stdtrit(worth - 1.0, 0.975)) / TWO_SIDED_95_Z
    return Widening(max(1.0, student * found), lag_1, worth, hurst_k(values))


def variance_of_mean(years: int, lag_1: float) -> float:
    """Return the variance of the mean of an autoregression of unit variance.

    Examples
    --------
    >>> round(variance_of_mean(100, 0.5), 6)
    0.0296
    """
    lags = np.arange(1, years)
    return float(1.0 + 2.0 * np.sum((1.0 - lags / years) * lag_1**lags)) / years


def block_variance(years: int, lag_1: float, block_years: float) -> float:
    """Return what resampling in blocks of random length finds for it, on average over records.

    Examples
    --------
    >>> round(block_variance(100, 0.5, 10.0), 9)
    0.020685239
    """
    places = np.arange(years)
    true = lag_1 ** np.abs(places[:, None] - places[None, :])
    by_row = true.mean(axis=0)
    seen = true - by_row[:, None] - by_row[None, :] + by_row.mean()  # less the record's own mean
    around = np.array([np.trace(seen, offset=lag) for lag in range(years)]) / years
    goes_on = 1.0 - 1.0 / block_years
    weights = (1.0 - places[1:] / years) * goes_on ** places[1:]
    circular = around[1:] + around[:0:-1]
    return float(around[0] + 2.0 * np.sum(weights * circular)) / years
