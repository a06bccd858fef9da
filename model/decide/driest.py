"""Which stretches of the record were the driest, and what do they do to a farm that meets them?

For one season, two, and as many as the run has: the run of observed months, of the run's own
length, whose first so many seasons brought the least inflow. It is met from today, month by month
as it was observed, what followed the dry seasons too. Nothing is drawn at random; how likely such
seasons are, the odds say.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from model.evidence.worst import driest_start
from model.farm.measures import EVENTS, due_in_seasons
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.record.record import Record
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray
from model.water_year import water_year_label


@dataclass(frozen=True, slots=True)
class Stretch:
    """Observed months that a run may meet again."""

    dry_seasons: tuple[int, ...]  # for which counts of seasons it is the driest
    observed_in: tuple[str, ...]  # water year of the record, of each season of the run
    inflow_share: float  # of the longest such dry seasons, over the mean of all such


@dataclass(frozen=True, slots=True)
class SeasonMet:
    """What one season of a stretch does to the farm."""

    water_year: str  # of the run
    observed_in: str  # water year of the record
    announced_ml_per_share: float
    planted_ha: float  # not a number where the planting lies before the run
    finished_ha: float
    margin_aud: float
    lowest_cash_aud: float
    payment_due: bool
    payment_missed: bool
    past_overdraft_limit: bool


@dataclass(frozen=True, slots=True)
class StretchMet:
    """A stretch, and what each of its seasons does to the farm."""

    stretch: Stretch
    seasons: tuple[SeasonMet, ...]


def driest_stretches(record: Record, calendar: Calendar) -> tuple[tuple[Stretch, ...], IntArray]:
    """Find the driest stretches that a run may meet.

    Parameters
    ----------
    record
        What was observed.
    calendar
        Of the run.

    Returns
    -------
    stretches, rows
        Each stretch once; (stretch, month) rows of the record. None where no run fits in it.
    """
    found: dict[int, tuple[tuple[int, ...], float]] = {}
    for seasons in range(1, calendar.seasons + 1):
        dry = Calendar(calendar.opening_month, seasons)
        start = driest_start(record, dry, followed_to=calendar)
        if start is not None:
            row, share = start
            counts, _ = found.get(row, ((), 0.0))
            found[row] = ((*counts, seasons), share)
    stretches = tuple(
        Stretch(counts, _observed_in(record, calendar, row), share)
        for row, (counts, share) in found.items()
    )
    rows = np.array(list(found), dtype=np.intp)[:, None] + np.arange(calendar.months)
    return stretches, rows


def met_by(
    stretches: tuple[Stretch, ...], results: FarmResults, rules: FarmRules, calendar: Calendar
) -> tuple[StretchMet, ...]:
    """Read what stretches did to a farm.

    Parameters
    ----------
    stretches
        In the order of the results' sequences.
    results
        Of one strategy, each (1, stretch, season).
    rules, calendar
        Of the farm and the run.
    """
    missed = EVENTS["payment_missed"](results, rules)
    past = EVENTS["past_overdraft_limit"](results, rules)
    cash, due = rules.cash, partial(due_in_seasons, results, calendar=calendar)
    due_aud = due("loan_interest_aud", cash.loan_interest_aud)
    due_aud = due_aud + due("loan_principal_aud", cash.loan_principal_aud)
    due_aud = np.broadcast_to(due_aud, missed.shape)

    def season_of(at: int, season: int) -> SeasonMet:
        place = 0, at, season
        return SeasonMet(
            water_year=calendar.water_year(season),
            observed_in=stretches[at].observed_in[season],
            announced_ml_per_share=float(results["announced_ml_per_share"][place]),
            planted_ha=float(results["area_planted_ha"][place]),
            finished_ha=float(results["area_finished_ha"][place]),
            margin_aud=float(results["margin_aud"][place]),
            lowest_cash_aud=float(results["lowest_cash_aud"][place]),
            payment_due=bool(due_aud[place] > 0.0),
            payment_missed=bool(missed[place]),
            past_overdraft_limit=bool(past[place]),
        )

    return tuple(
        StretchMet(stretch, tuple(season_of(at, season) for season in range(calendar.seasons)))
        for at, stretch in enumerate(stretches)
    )


def _observed_in(record: Record, calendar: Calendar, row: int) -> tuple[str, ...]:
    """Name the water year that each season of a run was observed in."""
    lasts = (calendar.last_t(season) for season in range(calendar.seasons))
    return tuple(water_year_label(record.first_month + row + last) for last in lasts)
