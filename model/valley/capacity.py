"""How is the dam shared, where each class owns a part of its space and of its inflow?

Capacity sharing: general security holds a share of the dam's space and gets a share of what flows
in and is left by higher classes; nothing is announced. A full space spills into the other; higher
classes draw on general security's water only when theirs is gone. Holders have their parts of that
space by their shares.

Source: Dudley, N. J. and Musgrave, W. F. (1988), "Capacity sharing of water reservoirs", Water
Resources Research 24(5), 649-658 (reference from memory). Arrays are (sequence,), volumes ML.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from model.record.record import FloatArray
from model.valley.level import at_least, at_most

_NEARLY_NONE = 1e-300
"""Of nothing all is kept: a number, not 0 / 0."""


@dataclass(frozen=True, slots=True)
class CapacityShare:
    """What general security owns of the dam."""

    space_ml: float  # above dead storage
    others_space_ml: float
    inflow_frac: float
    gate_frac_per_ml: float  # ML per share that one ML at the dam makes at the farm gate


@dataclass(frozen=True, slots=True)
class SharedMonth:
    """What a month's sharing does to every account, each (sequence,)."""

    offered_ml_per_share: FloatArray  # of inflow, and spilt into general security's space
    most_ml_per_share: float  # that a share's space holds
    kept_frac: FloatArray  # what the dam still holds of it after higher classes drew on it

    def scaled(self, factor: float) -> Self:
        """Return a month in which so much of the water comes."""
        return replace(self, offered_ml_per_share=self.offered_ml_per_share * factor)


@dataclass(frozen=True, slots=True)
class Sharing:
    """The dam as it is shared at a month's end, ML."""

    before_ml: FloatArray  # general security's, before inflow
    spilled_in_ml: FloatArray
    spilled_out_ml: FloatArray
    others_ml: FloatArray  # the water of higher classes
    met: SharedMonth


def share_out(
    account: FloatArray,
    inflow_ml: FloatArray,
    others_took_ml: FloatArray,
    above_dead_ml: FloatArray,
    share: CapacityShare,
) -> Sharing:
    """Share inflow and space at a month's end.

    Parameters
    ----------
    account
        The average holder's, after use and evaporation, ML per share.
    inflow_ml
        Into the dam, rain on the lake counted.
    others_took_ml
        What left the dam for all but general security, spill apart.
    above_dead_ml
        The dam at the month's end, above dead storage.
    share
        What general security owns.
    """
    before_ml = account / share.gate_frac_per_ml
    with_inflow_ml = before_ml + share.inflow_frac * at_least(0.0, inflow_ml - others_took_ml)
    offered_ml = np.maximum(with_inflow_ml, above_dead_ml - share.others_space_ml)
    filled_ml = at_most(share.space_ml, offered_ml)
    held_ml = np.minimum(filled_ml, above_dead_ml)
    kept_frac = (held_ml + _NEARLY_NONE) / (filled_ml + _NEARLY_NONE)
    return Sharing(
        before_ml=before_ml,
        spilled_in_ml=at_least(0.0, filled_ml - with_inflow_ml),
        spilled_out_ml=at_least(0.0, with_inflow_ml - filled_ml),
        others_ml=above_dead_ml - held_ml,
        met=SharedMonth(
            (offered_ml - before_ml) * share.gate_frac_per_ml,
            share.space_ml * share.gate_frac_per_ml,
            kept_frac,
        ),
    )


def after_sharing(account: FloatArray, met: SharedMonth) -> tuple[FloatArray, FloatArray]:
    """Return what an account is credited, within its own space, and what is then drawn on.

    Parameters
    ----------
    account
        After use and evaporation, ML per share, any shape that ends in the sequence.
    met
        The month's.
    """
    filled = np.maximum(account, at_most(met.most_ml_per_share, account + met.offered_ml_per_share))
    return filled - account, filled * (1.0 - met.kept_frac)
