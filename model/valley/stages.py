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


_NEARLY_NONE = 1e-300
"""Keeps a fraction of nothing a number, not 0 / 0."""


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
    freezes_carried = np.zeros_like(stage, dtype=np.bool_)
    for number, each in enumerate(stages, start=1):
        if each.freezes_carried:
            freezes_carried |= stage == number
    blocked_frac = np.array([0.0, *(1.0 - each.access_frac for each in stages)]).take(stage)
    part = np.where(freezes_carried, carried, account)
    fresh = blocked_frac * part  # nothing in stage 0, in which nothing was frozen before
    deepens, eases = stage > before, stage < before
    if turns_year:
        deepens = deepens | (freezes_carried & (stage == before))
    frozen = np.maximum(frozen_before, fresh * deepens)
    if eases.any():
        frozen = np.where(eases, np.minimum(frozen_before, fresh), frozen)
    frozen = np.minimum(frozen, part)
    # Where the average holder has nothing to freeze, others are frozen as if the stage began now.
    frozen_frac = (frozen + _NEARLY_NONE * blocked_frac) / (part + _NEARLY_NONE)
    return frozen, StagedMonth(frozen_frac, freezes_carried)
