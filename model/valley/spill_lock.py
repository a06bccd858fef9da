"""When may carried water be used?

Where carried water is the first to spill it may be locked from 1 July until a spill has become
unlikely: the dam opens a month below a level, or a month of the year has come. Once open it stays
open until the next 1 July. Arrays are (sequence,).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.valley.level import level

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class SpillLock:
    """What opens the lock."""

    below_ml: float  # minus infinity: no level does
    until_k: int  # month of the water year, 0 = July; 12: no month does


def closed_this_month(
    closed: BoolArray, storage_ml: FloatArray, k: int, lock: SpillLock
) -> BoolArray:
    """Return where the lock is closed, after what the month's start opens."""
    if k >= lock.until_k:
        return np.zeros_like(closed)
    return closed & (storage_ml >= level(lock.below_ml, storage_ml.size))
