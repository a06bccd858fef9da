"""How much of an account is out of reach this month?

While the dam opens a month at or below the trigger the valley is restricted, and a part of each
account is frozen: set by what it holds in the first month of the restriction, and never more after.
What is frozen of an account is (..., sequence), ML per share; what holds for all accounts alike is
(sequence,).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.valley.level import level
from model.valley.rules import AccountRules

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Access:
    """What a month lets holders reach of their accounts, each (sequence,)."""

    restricted: BoolArray  # whether the valley is
    was_restricted: BoolArray  # whether it was last month

    @classmethod
    def whole(cls, sequences: int = 1) -> Self:
        """Return a month in which nothing is out of reach."""
        no = np.zeros(sequences, dtype=np.bool_)
        return cls(no, no)


def frozen_ml_per_share(
    before: FloatArray, account: FloatArray, access: Access, rules: AccountRules
) -> FloatArray:
    """Return what of an account a restriction freezes.

    Parameters
    ----------
    before
        What was frozen last month.
    account
        After this month's credit.
    access
        The month's.
    rules
        Of accounts.
    """
    if not access.restricted.any():
        return np.broadcast_to(level(0.0, account.shape[-1]), account.shape)
    at_first = (1.0 - rules.restriction_access_frac) * account
    frozen = np.where(access.was_restricted, before, at_first)
    return np.where(access.restricted, np.minimum(frozen, account), 0.0)
