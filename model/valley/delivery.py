"""What does it cost in water to run the river at all, and when is it run?

Beside the loss that grows with what is delivered, a river may lose a fixed volume in each month in
which it carries licensed water: so the loss per megalitre falls as more is delivered. To save it,
small orders of general security may wait for a block release. Arrays are (sequence,), ML.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.valley.level import level

BoolArray = NDArray[np.bool_]
ByMonth = tuple[float, ...]

ORDERS_NOTHING_FRAC = 1e-9
"""Of capacity: what both classes order together must be more, or rounding would run the river."""


@dataclass(frozen=True, slots=True)
class FixedLoss:
    """A fixed delivery loss by month of the water year, and what is set aside for it."""

    loss_ml: ByMonth
    high_security_ahead_ml: ByMonth  # in the months that high security is delivered in
    general_security_ahead_ml: ByMonth  # in the other months that the river is run
    least_order_ml: float


@dataclass(frozen=True, slots=True)
class BlockRelease:
    """When general security's small orders are released, by month of the water year."""

    below_ml: float
    listed: tuple[bool, ...]
    pattern: ByMonth  # of a listed month: the share of what is used from it to June, a block's


def runs_river(ordered_ml: FloatArray, water_ml: FloatArray, k: int, fixed: FixedLoss) -> BoolArray:
    """Return where the river is run: something is ordered, and the fixed loss can be met."""
    asked: BoolArray = ordered_ml > level(fixed.least_order_ml, ordered_ml.size)
    return asked & (water_ml > level(fixed.loss_ml[k], water_ml.size))


def waiting(order_ml: FloatArray, blocks: BlockRelease) -> BoolArray:
    """Return where general security's order of a month without a block release is put off."""
    small: BoolArray = order_ml < blocks.below_ml
    return small


def of_block(order_ml: FloatArray, block_ml: FloatArray, blocks: BlockRelease) -> FloatArray:
    """Return the order placed in a month of a block release: a small one covers the block.

    Parameters
    ----------
    order_ml
        Of the month alone.
    block_ml
        Of the months to before the next block release, or to June.
    blocks
        The rules.
    """
    return np.where(order_ml < blocks.below_ml, block_ml, order_ml)
