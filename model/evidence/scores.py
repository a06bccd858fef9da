"""How far were the odds from what came?

Kernels on arrays. A case is one forecast with what then came: its members are the amounts that
the sequences gave, (case, member), all equally likely; `observed` is (case,). Scores count
errors: less is better.

References
----------
Gneiting and Raftery 2007 (J. Am. Stat. Assoc. 102:359): CRPS; Ferro 2014 (Q. J. R. Meteorol. Soc.
140:1917): the fair CRPS. Titles from memory.
"""

from __future__ import annotations

import math

import numpy as np

from model.record.record import FloatArray


def crps(members: FloatArray, observed: FloatArray) -> FloatArray:
    """Score each case by the continuous ranked probability score, standard form.

    The score of the distribution that gives each member the same chance: pairs of members are
    divided by m^2. Drawing few members costs: with m of them the expected score of a perfect
    forecast is higher by the share 1/m. In the unit of the amount.

    Parameters
    ----------
    members
        (case, member)
    observed
        (case,)

    Returns
    -------
    ndarray
        (case,) mean of |x - y| less half the mean of |x - x'| over all pairs of members.

    Examples
    --------
    >>> crps(np.array([[1.0, 3.0, 4.0, 7.0, 10.0]]), np.array([5.0])).round(6)
    array([1.04])
    """
    m = members.shape[1]
    return np.asarray(_mean_distance(members, observed) - _pair_sum(members) / m**2)


def _mean_distance(members: FloatArray, observed: FloatArray) -> FloatArray:
    """Mean distance of the members from what came, (case,)."""
    return np.asarray(np.abs(members - observed[:, None]).mean(axis=1))


def _pair_sum(members: FloatArray) -> FloatArray:
    """Sum of |x - x'| over pairs i < j, (case,): in order, each gap counts the pairs across it."""
    m = members.shape[1]
    return np.asarray(np.sort(members, axis=1) @ (2.0 * np.arange(m) - (m - 1)))


def skill(scores: FloatArray, reference: FloatArray) -> float:
    """Compare mean scores: the share of the reference's error that the forecast takes away.

    The ratio of the means, not the mean of ratios, which a few easy years would rule.

    Parameters
    ----------
    scores, reference
        (case,) of the same cases.

    Returns
    -------
    float
        1 perfect, 0 no better than the reference, below 0 worse; not a number where the reference
        made no error.
    """
    mean = float(reference.mean())
    return 1.0 - float(scores.mean()) / mean if mean > 0.0 else math.nan
