"""What if the driest seasons on record came again from here?

The driest stretches of one to four seasons are found by the inflow of the very months that the
run would have: from the plan's opening month to June, then whole water years, wherever they stand
in the record, never across its end. Each is then run through the rules from where dam and account
stand today, month by month as it was observed, with the plan's drying factor where one is stated.
Nothing is drawn at random; how likely such a stretch is, the odds say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.outlook.seasons import gather
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.draw import Calendar
from model.sequences.drying import Drying, dried_weather, drying_of, flow_factors
from model.sequences.slices import IntArray
from model.valley.rules import rules_of
from model.valley.run import run
from model.valley.state import forcing_of, opening_state
from model.water_year import MONTH_NAMES, parse_month, water_year_label

LONGEST: Final = 4
"""Seasons in a row: as long as a family has to plan for (the project's own choice)."""


@dataclass(frozen=True, slots=True)
class SeasonAgain:
    """What one season of a stretch would bring if it came again."""

    water_year: str  # of the run
    observed_in: str  # water year of the record
    inflow_ml: float  # of the season's months in the run
    announced_to_date_ml_per_share: float
    credited_ml_per_share: float
    high_security_allocation_frac: float
    account_ml_per_share: float
    storage_end_ml: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """One of the driest stretches, come again from here."""

    first_row: int  # of the record
    inflow_share: float  # its inflow over the mean of all such stretches
    seasons: tuple[SeasonAgain, ...]
    drying: Drying | None  # what was done to the flow; None where nothing

    @property
    def years(self) -> str:
        """Name the stretch by its water years."""
        first, last = self.seasons[0].observed_in, self.seasons[-1].observed_in
        return first if first == last else f"{first} to {last}"


def worst_on_record(plan: Plan, record: Record, longest: int = LONGEST) -> tuple[Stretch, ...]:
    """Run the driest stretch of each length, one season to `longest`, from today.

    Lengths that the record does not hold are left out.

    Examples
    --------
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> [stretch.years for stretch in worst_on_record(plan, record, 2)]
    ['1933-34', '1932-33 to 1933-34']
    """
    opening_month = parse_month(plan.opening.month)
    calendars = [Calendar(opening_month, seasons) for seasons in range(1, longest + 1)]
    found = ((calendar, driest_start(record, calendar)) for calendar in calendars)
    return tuple(
        _again(plan, record, calendar, *start) for calendar, start in found if start is not None
    )


def starts_of(record: Record, calendar: Calendar) -> IntArray:
    """(starts,) rows at which a run of these months may begin and end inside the record."""
    first = (calendar.opening_month - record.first_month) % len(MONTH_NAMES)
    starts = np.arange(first, record.months, len(MONTH_NAMES))
    return starts[starts + calendar.months <= record.months]


def driest_start(
    record: Record, calendar: Calendar, *, followed_to: Calendar | None = None
) -> tuple[int, float] | None:
    """Find the row at which the driest run begins, and its inflow as a share of the mean run's.

    The first of them where several tie; None where the record holds none.

    Parameters
    ----------
    record, calendar
        What was observed; the months that are to be dry.
    followed_to
        A longer run from the same month that the record must hold too.
    """
    starts = starts_of(record, followed_to or calendar)
    if not starts.size:
        return None
    running = np.concatenate([[0.0], np.cumsum(record.inflow_ml)])
    totals_ml = running[starts + calendar.months] - running[starts]
    at = int(np.argmin(totals_ml))
    mean_ml = float(totals_ml.mean())
    return int(starts[at]), float(totals_ml[at]) / mean_ml if mean_ml > 0.0 else 1.0


def _again(
    plan: Plan, record: Record, calendar: Calendar, first_row: int, inflow_share: float
) -> Stretch:
    """Run one stretch from where the plan says that things stand."""
    rows = first_row + np.arange(calendar.months)[None, :]
    rules = rules_of(plan.valley, record)
    forcing = forcing_of(
        rows,
        dried_weather(record, plan.valley, plan.sequences),
        plan.valley,
        flow_factor=flow_factors(record, plan.sequences),
    )
    months = run(opening_state(plan.opening, 1), forcing, rules, calendar.opening_month)
    totals = gather(
        months,
        calendar,
        rules,
        sequences=1,
        planting_k=MONTH_NAMES.index(plan.outlook.planting_month),
        finish_k=MONTH_NAMES.index(plan.outlook.finish_month),
    )
    return Stretch(
        first_row=first_row,
        inflow_share=inflow_share,
        seasons=tuple(
            _season_again(record, calendar, first_row, season, totals.values)
            for season in range(calendar.seasons)
        ),
        drying=drying_of(record, plan.sequences),
    )


def _season_again(
    record: Record,
    calendar: Calendar,
    first_row: int,
    season: int,
    totals: Mapping[str, FloatArray],
) -> SeasonAgain:
    """Read one season off a run."""
    amounts = (
        "inflow_ml",
        "announced_to_date_ml_per_share",
        "credited_ml_per_share",
        "high_security_allocation_frac",
        "account_ml_per_share",
        "storage_end_ml",
    )
    last_row = first_row + calendar.last_t(season)
    return SeasonAgain(
        water_year=calendar.water_year(season),
        observed_in=water_year_label(record.first_month + last_row),
        **{name: float(totals[name][0, season]) for name in amounts},
    )
