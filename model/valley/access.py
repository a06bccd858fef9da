"""How much of an account is out of reach this month?

While the dam opens a month at or below the trigger the valley is restricted, and a part of each
account is frozen: set by what it holds in the first month of the restriction, and never more after.
Or it is restricted in stages (`stages`); and carried water may be locked (`spill_lock`). What is
frozen of an account is (..., sequence), ML per share; what holds for all accounts alike is
(sequence,).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.valley.level import at_least, level
from model.valley.rules import AccountRules
from model.valley.stages import StagedMonth

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Access:
    """What a month lets holders reach of their accounts, each (sequence,)."""

    restricted: BoolArray  # whether the valley is
    was_restricted: BoolArray  # whether it was last month
    staged: StagedMonth | None = None  # where a restriction has stages
    carried_locked: BoolArray | None = None  # where carried water is locked; None: nowhere

    @classmethod
    def whole(cls, sequences: int = 1) -> Self:
        """Return a month in which nothing is out of reach."""
        no = np.zeros(sequences, dtype=np.bool_)
        return cls(no, no)


def frozen_ml_per_share(
    before: FloatArray,
    account: FloatArray,
    carried: FloatArray,
    access: Access,
    rules: AccountRules,
) -> FloatArray:
    """Return what of an account a restriction freezes.

    Parameters
    ----------
    before
        What was frozen last month.
    account, carried
        After this month's credit.
    access
        The month's.
    rules
        Of accounts.
    """
    if access.staged is not None:
        part = np.where(access.staged.freezes_carried, carried, account)
        return access.staged.frozen_frac * part
    if not access.restricted.any():
        none = level(0.0, account.shape[-1])
        return none if account.ndim == 1 else np.broadcast_to(none, account.shape)
    at_first = (1.0 - rules.restriction_access_frac) * account
    frozen = np.where(access.was_restricted, before, at_first)
    return np.where(access.restricted, np.minimum(frozen, account), 0.0)


def out_of_reach_ml_per_share(
    frozen: FloatArray, carried: FloatArray, access: Access
) -> FloatArray:
    """Return what may not be ordered: what is frozen, or all that is carried while it is locked."""
    if access.carried_locked is None:
        return frozen
    return np.maximum(frozen, carried * access.carried_locked)


def carried_after_use(
    carried: FloatArray, used: FloatArray, frozen: FloatArray, access: Access
) -> FloatArray:
    """Return the carried part of an account after use: carried water is used first.

    While it is locked none of it is used; where a stage freezes carried water, not what is frozen.
    """
    left = carried - used
    if access.staged is None:
        left = at_least(0.0, left)
    else:
        least = np.minimum(carried, frozen) * access.staged.freezes_carried
        left = np.maximum(least, left)
    if access.carried_locked is None:
        return left
    return np.maximum(left, carried * access.carried_locked)
