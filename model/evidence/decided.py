"""Where did what came stand in the odds of the day a decision was made?

A decision keeps its plan as it was. Once a season that it looked at is over, and what was announced
in it has been typed in, the odds of that day are drawn again from that plan and from what was known
as its opening month began; what came is placed among them. One season proves no odds right or
wrong: only many, counted together, say something.

Assumes that the record given is the one of that day, gone on: its months before the opening are
those that were known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.evidence.walk import before
from model.outlook.chances import wilson_interval
from model.outlook.outlook import NOTHING_ML_PER_SHARE
from model.outlook.setting import play_sequences, setting_of
from model.plan.announced import Announcements
from model.plan.plan import Plan
from model.record.record import Record
from model.sequences.draw import calendar_of
from model.water_year import MONTHS_IN_YEAR, month_of_water_year, parse_month

DRAWS: Final = 2_000
"""Sequences: the place of what came is then within 0.02."""

BAND: Final = 0.8
"""The middle part of that day's sequences that what came is held against."""


@dataclass(frozen=True, slots=True)
class SeasonCame:
    """One season that is over, against the odds of the day."""

    water_year: str
    came_ml_per_share: float  # announced to date at its end
    reached: float  # that day's chance of as much or more
    low_ml_per_share: float  # the 80-in-100 band of that day
    high_ml_per_share: float
    chance_none: float  # that day's chance of nothing in the whole season

    @property
    def inside(self) -> bool:
        """Whether the band held it."""
        return self.low_ml_per_share <= self.came_ml_per_share <= self.high_ml_per_share

    @property
    def none_came(self) -> bool:
        """Whether nothing was announced in the whole season."""
        return self.came_ml_per_share <= NOTHING_ML_PER_SHARE


@dataclass(frozen=True, slots=True)
class BandsHeld:
    """How often the band of the day held, over many decided seasons."""

    held: int
    seasons: int
    low: float  # share held, 95 %: if seasons told nothing of each other
    high: float


def came_after(plan: Plan, record: Record, announced: Announcements) -> tuple[SeasonCame, ...]:
    """Place what came in the odds of a day, for each of its seasons that is over and typed in.

    Parameters
    ----------
    plan
        As it was on the day.
    record
        What has been observed since; only its months before the plan's opening are used.
    announced
        What was announced; a season counts once its June is in it.

    Raises
    ------
    PlanError
        The record does not hold what the plan asks for.
    """
    opening_month = parse_month(plan.opening.month)
    if record.first_month >= opening_month:
        return ()
    calendar = calendar_of(plan.opening.month, plan.sequences)
    ends = {opening_month + calendar.last_t(season): season for season in range(calendar.seasons)}
    over = {
        ends[month]: amount
        for month, amount in zip(announced.months, announced.ml_per_share, strict=True)
        if month in ends and month_of_water_year(month) == MONTHS_IN_YEAR - 1
    }
    if not over:
        return ()
    then = setting_of(plan.with_drawing(count=DRAWS), before(record, opening_month))
    _, results = play_sequences(then)
    to_date = results["announced_to_date_ml_per_share"]
    found = []
    for season, amount in sorted(over.items()):
        drawn = to_date[:, season]
        low, high = np.quantile(drawn, [(1.0 - BAND) / 2.0, (1.0 + BAND) / 2.0])
        found.append(
            SeasonCame(
                water_year=calendar.water_year(season),
                came_ml_per_share=amount,
                reached=float(np.mean(drawn >= amount - NOTHING_ML_PER_SHARE)),
                low_ml_per_share=float(low),
                high_ml_per_share=float(high),
                chance_none=float(np.mean(drawn <= NOTHING_ML_PER_SHARE)),
            )
        )
    return tuple(found)


def bands_held(seasons: Sequence[SeasonCame]) -> BandsHeld | None:
    """Count how often the band of the day held; None where no season is over.

    Examples
    --------
    >>> bands_held([]) is None
    True
    """
    if not seasons:
        return None
    held = sum(season.inside for season in seasons)
    return BandsHeld(held, len(seasons), *wilson_interval(held, len(seasons)))
