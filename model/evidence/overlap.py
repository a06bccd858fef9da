"""How many independent cases are overlapping windows worth?

Standing once a year and looking two or three seasons ahead, neighbouring cases share seasons: a
surprise in one season is a surprise in each window that holds it. A hundred such cases say less
than a hundred separate ones, and every interval and test on them must count fewer.

Method, derived here. The surprise of a window is taken as the sum of its seasons' surprises,
these independent and alike. Windows of h seasons that begin j years apart share h - j of them, so
their correlation is 1 - j/h (none from j = h on). The variance of a mean of n cases whose
correlation at lag j is r_j is that of n_e independent ones, where

    n_e = n / (1 + 2 sum over j of (1 - j/n) r_j)

(the usual formula; Bayley and Hammersley 1946, J. R. Stat. Soc. Suppl. 8:184, from memory). What
is averaged decides which r_j to use; with the surprise taken as normal:

- the windows' own values: 1 - j/h; n_e is then close to n/h, the windows that do not overlap;
- whether each lay below a fixed chance (a PIT value): (2/pi) asin(1 - j/h), the arcsine law, which
  is exact at the median and is largest there;
- whether each lay in the central band of a level: from the expansion in Hermite polynomials,
  smaller still.

It assumes no memory beyond the overlap: a forecast that is blind to a long drought errs for as
long as that lasts, and then even n_e is too many.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from scipy.special import ndtri

from model.record.record import FloatArray

HERMITE_TERMS: Final = 60
"""Terms of the expansion: what is left out is below 1e-10 for windows of up to three seasons."""


def effective_cases(cases: int, correlations: FloatArray) -> float:
    """Count the independent cases whose mean is as sure as that of correlated ones.

    Parameters
    ----------
    cases
        How many there are.
    correlations
        (lag,) correlation of cases one, two, ... years apart.

    Returns
    -------
    float
        `cases` where there is no correlation; never more than that, nor less than 1.

    Examples
    --------
    >>> round(effective_cases(100, window_correlations(3)), 1)
    33.6
    """
    lags = np.arange(1, correlations.size + 1)
    inside = lags < cases
    shared = (1.0 - lags[inside] / cases) * correlations[inside]
    return min(float(cases), max(1.0, cases / (1.0 + 2.0 * float(shared.sum()))))


def window_correlations(seasons: int) -> FloatArray:
    """Correlate the surprises of windows of some seasons, one a year.

    Parameters
    ----------
    seasons
        How many seasons a window looks ahead, 1 or more.

    Returns
    -------
    ndarray
        (lag,) 1 - j/seasons for j = 1 .. seasons - 1; empty for one season.
    """
    return 1.0 - np.arange(1, seasons) / seasons


def pit_correlations(seasons: int) -> FloatArray:
    """Correlate whether windows lay below their median, (lag,): the arcsine law."""
    return 2.0 / math.pi * np.arcsin(window_correlations(seasons))


def hit_correlations(seasons: int, level: float) -> FloatArray:
    """Correlate whether windows lay in the central band of a level.

    Parameters
    ----------
    seasons
        How many seasons a window looks ahead.
    level
        Chance that the band holds what comes, above 0 and below 1.

    Returns
    -------
    ndarray
        (lag,)

    Notes
    -----
    For two standard normals of correlation r, the covariance of |z1| < c and |z2| < c is the sum
    over even k of r^k / k! x (2 He_{k-1}(c) phi(c))^2, He the Hermite polynomials, phi the density.
    """
    r = window_correlations(seasons)
    c = float(ndtri(0.5 + level / 2.0))
    density = math.exp(-c * c / 2.0) / math.sqrt(2.0 * math.pi)
    covariance = np.zeros_like(r)
    # held as He_k(c) / sqrt(k!), so that high orders do not overflow
    two_before, one_before = 0.0, 1.0
    for k in range(1, HERMITE_TERMS + 1):
        if k % 2 == 0:
            covariance += r**k / k * (2.0 * one_before * density) ** 2
        this = (c * one_before - math.sqrt(k - 1.0) * two_before) / math.sqrt(k)
        two_before, one_before = one_before, this
    return covariance / (level * (1.0 - level))
