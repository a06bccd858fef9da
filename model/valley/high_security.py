"""What is high security allocated, what may it order, and what does it carry over?

Met before general security and never revised down within a year. Where it may carry, a fraction of
what it was allocated and did not use goes into the next year, and is used first. Arrays are
(sequence,), or (strategy, sequence) for a farm's own; ML at the farm gate.
"""

from __future__ import annotations

import numpy as np

from model.record.record import FloatArray
from model.valley.level import at_least, at_most


def allocation_frac(
    before: FloatArray,
    used_ml: FloatArray,
    need_ml: FloatArray,
    within_reach_ml: FloatArray,
    shares_ml: float,
) -> FloatArray:
    """Return the allocation: what is used and what can be met, never revised down.

    Parameters
    ----------
    before
        The year's so far.
    used_ml
        Of this year's allocation.
    need_ml
        The rest of a full one.
    within_reach_ml
        What can be met of it.
    shares_ml
        High-security shares, ML; without any the allocation is full.
    """
    if shares_ml == 0.0:
        return np.ones_like(used_ml)
    met_ml = used_ml + np.minimum(need_ml, within_reach_ml)
    return np.maximum(before, at_most(1.0, met_ml / shares_ml))


def carried_over_ml(
    carried_ml: FloatArray,
    allocated_ml: FloatArray,
    used_ml: FloatArray,
    shares_ml: float,
    carryover_frac: float,
) -> FloatArray:
    """Return what goes into a new year of what was allocated, or carried, and not used."""
    unused_ml = at_least(0.0, carried_ml + allocated_ml - used_ml)
    return at_most(shares_ml, carryover_frac * unused_ml)


def after_delivery(
    carried_ml: FloatArray, used_ml: FloatArray, delivered_ml: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the carried water left and the use of this year's; carried water goes first."""
    from_carried_ml = np.minimum(carried_ml, delivered_ml)
    return carried_ml - from_carried_ml, used_ml + (delivered_ml - from_carried_ml)
