"""Which fifty amounts stand for all sequences, each as often as another: 2 times in 100?

A quantile dotplot of 50 dots is read nearly as well as the whole distribution, and better than an
interval in words (Fernandes, Walls, Munson, Hullman and Kay 2018, doi 10.1145/3173574.3173718).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from model.record.record import FloatArray

DOTS: Final = 50


def dots_of(values: FloatArray) -> FloatArray:
    """Return (dot,) fifty amounts in rising order, at chances of 1, 3, ... 99 in 100.

    Parameters
    ----------
    values
        (sequence,) an amount in every sequence.

    Examples
    --------
    >>> import numpy as np
    >>> dots_of(np.arange(101.0))[[0, 24, 49]].tolist()
    [1.0, 49.0, 99.0]
    """
    found: FloatArray = np.quantile(values, (np.arange(DOTS) + 0.5) / DOTS)
    return found
