"""How does a restriction deepen and lift, stage by stage?

In place of a single trigger: each stage begins where the dam opens a month at or below its trigger,
and freezes a fraction of the account, or of its carried part. What is frozen rises when a deeper
stage begins, falls when a shallower one does, and is never more than what it is a part of.
Arrays are (sequence,), amounts ML per share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray

BoolArray = NDArray[np.bool_]
StageArray = NDArray[np.int8]
"""Stage of each sequence: 0 where nothing is restricted, then 1, 2, ... as the dam falls."""


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a restriction."""

    trigger_ml: float  # at or below it
    access_frac: float  # of what it freezes, still usable
    freezes_carried: bool  # the carried part of an account, or all of it


@dataclass(frozen=True, slots=True)
class StagedMonth:
    """What a month's stages ask of every account, each (sequence,)."""

    frozen_frac: FloatArray  # of the account, or of its carried part
    freezes_carried: BoolArray  # which of the two


def stage_of(storage_ml: FloatArray, stages: Sequence[Stage]) -> StageArray:
    """Return the stage of each sequence; triggers fall from one stage to the next."""
    stage = np.zeros(storage_ml.shape, dtype=np.int8)
    for each in stages:
        stage += storage_ml <= each.trigger_ml
    return stage


def staged(
    stage: StageArray,
    before: StageArray,
    frozen_before: FloatArray,
    account: FloatArray,
    carried: FloatArray,
    stages: Sequence[Stage],
    *,
    turns_year: bool,
) -> tuple[FloatArray, StagedMonth]:
    """Return what the average holder has frozen, and what that asks of every other.

    Parameters
    ----------
    stage, before
        This month's stage and last month's; a run opens from 0.
    frozen_before
        Last month's.
    account, carried
        After this month's credit.
    stages
        The rules, the first stage first.
    turns_year
        Whether it is 1 July, and not the run's first month.
    """
    place = np.maximum(stage - 1, 0)
    freezes_carried = (stage > 0) & np.array([s.freezes_carried for s in stages])[place]
    blocked_frac = 1.0 - np.array([s.access_frac for s in stages])[place]
    part = np.where(freezes_carried, carried, account)
    fresh = blocked_frac * part
    deepens = (stage > before) | (freezes_carried & (stage == before) & turns_year)
    frozen = np.where(deepens, np.maximum(frozen_before, fresh), frozen_before)
    frozen = np.where(stage < before, np.minimum(frozen_before, fresh), frozen)
    frozen = np.where(stage > 0, np.minimum(frozen, part), 0.0)
    # Where the average holder has nothing to freeze, others are frozen as if the stage began now.
    at_first = np.where(stage > 0, blocked_frac, 0.0)
    frozen_frac = np.divide(frozen, part, out=at_first, where=part > 0.0)
    return frozen, StagedMonth(frozen_frac, freezes_carried)
