"""What if the worst came from here? The driest seasons on record, and two seasons of nothing.

The driest stretches are met month by month as they were observed. In the other case nothing is
announced for two seasons in a row, and what comes after them is the middle of what may come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.decide.driest import SeasonMet, Stretch, driest_stretches, met_by
from model.decide.played_case import MIDDLE
from model.decide.stated_case import LEAST, stated_river
from model.farm.measures import measures_of
from model.farm.river import RiverMonth
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting

NOTHING_SEASONS: Final = 2
"""In a row: what general-security holders of inland valleys have lived through (from memory)."""

STATED_FROM: Final = 1_000
"""Sequences from which the months of nothing are stated."""


@dataclass(frozen=True, slots=True)
class DryCase:
    """A run of dry seasons, and what each does to the farm."""

    stretch: Stretch | None  # of the record; None: seasons of nothing, which nobody observed
    nothing_seasons: int  # in which nothing is announced; 0 in a stretch of the record
    seasons: tuple[SeasonMet, ...]
    announced_ml: tuple[float, ...]  # by season, to the farm's own shares

    @property
    def finished_ha(self) -> float:
        """What is finished in all seasons."""
        return float(np.nansum([season.finished_ha for season in self.seasons]))

    @property
    def lowest_cash_aud(self) -> float:
        """The bank at its lowest."""
        return min(season.lowest_cash_aud for season in self.seasons)

    @property
    def past_overdraft_limit(self) -> bool:
        """Whether the overdraft passes its limit."""
        return any(season.past_overdraft_limit for season in self.seasons)


def dry_cases(setting: FarmSetting, strategy: int) -> tuple[DryCase, ...]:
    """Play the driest stretches of one season to all of the run, and two seasons of nothing.

    Parameters
    ----------
    setting
        The farm, as it stands today.
    strategy
        Which of its strategies is followed.

    Examples
    --------
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20, seasons=2)
    >>> cases = dry_cases(farm_setting_of(plan, record, strategies_of(plan)), 1)
    >>> [case.nothing_seasons for case in cases][-1]
    2
    """
    calendar = setting.valley.calendar
    stretches, rows = driest_stretches(setting.valley.record, calendar)
    shares_ml = setting.rules.cash.shares_ml
    found = []
    if stretches:
        played = _played(setting, strategy, setting.river(rows))
        met = met_by(stretches, played, setting.rules, calendar)
        found = [_case(each.stretch, 0, each.seasons, shares_ml) for each in met]
    nothing = min(NOTHING_SEASONS, calendar.seasons)
    chances = [LEAST] * nothing + [MIDDLE] * (calendar.seasons - nothing)
    stated = stated_river(
        setting.river(setting.valley.first_sequences(STATED_FROM)), chances, setting.rules
    )
    unobserved = Stretch((nothing,), ("",) * calendar.seasons, 0.0)
    (met_nothing,) = met_by(
        (unobserved,), _played(setting, strategy, stated), setting.rules, calendar
    )
    return (*found, _case(None, nothing, met_nothing.seasons, shares_ml))


def _case(
    stretch: Stretch | None, nothing: int, seasons: tuple[SeasonMet, ...], shares_ml: float
) -> DryCase:
    announced_ml = tuple(season.announced_ml_per_share * shares_ml for season in seasons)
    return DryCase(stretch, nothing, seasons, announced_ml)


def _played(setting: FarmSetting, strategy: int, river: Sequence[RiverMonth]) -> FarmResults:
    """Run one strategy, each (1, sequence, season)."""
    results = setting.results(river, setting.settings.one(strategy))
    return measures_of(results, setting.rules, setting.valley.calendar)
