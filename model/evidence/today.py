"""How far apart are the methods on today's odds?

The same dam, account and rules, the same record, another way of drawing: what the methods differ
by is an error that no number of sequences takes away, and is shown beside the headline.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.errors import Fault, PlanError
from model.evidence.choosers import METHODS
from model.outlook.outlook import none_announced
from model.outlook.setting import play_sequences, setting_of
from model.plan.plan import Plan
from model.record.record import Record
from model.sequences.fallback import Because, Fallback

DRAWS: Final = 4_000
"""Sequences a method: the error of a chance is then at most 0.008."""

REACHED: Final = (0.1, 0.5, 0.9)
"""Quantiles of non-exceedance: reached in 9, 5 and 1 years of 10."""


@dataclass(frozen=True, slots=True)
class OddsToday:
    """One method's odds from today's dam and account."""

    method: str
    settings: Mapping[str, str | float]  # how it draws; empty where it cannot be used
    refused: Fault | None  # why it cannot
    chance_none: tuple[float, ...]  # by season, that nothing more is announced; empty if it cannot
    announced_ml_per_share: tuple[tuple[float, ...], ...]  # by season, at REACHED
    replaced: Because | None = None  # why another stands in: its odds are not this method's


def odds_today(
    plan: Plan, record: Record, methods: Sequence[str] = METHODS
) -> tuple[OddsToday, ...]:
    """Work out today's odds with each method."""
    return tuple(_odds(plan, record, method) for method in methods)


def _odds(plan: Plan, record: Record, method: str) -> OddsToday:
    """Work out one method's odds."""
    try:
        setting = setting_of(plan.with_drawing(method=method, count=DRAWS), record)
    except PlanError as error:
        return OddsToday(method, {}, error.faults[0], (), ())
    if isinstance(setting.method, Fallback):
        return OddsToday(method, {}, None, (), (), replaced=setting.method.because)
    _, results = play_sequences(setting)
    announced = np.quantile(results["announced_to_date_ml_per_share"], REACHED, axis=0)
    return OddsToday(
        method=method,
        settings=setting.method.settings(),
        refused=None,
        chance_none=tuple(none_announced(results).mean(axis=0).tolist()),
        announced_ml_per_share=tuple(map(tuple, announced.T.tolist())),
    )
