"""Where did the valley stand each year, and what came, had only the years before been known?

The observed years are replayed through the valley's rules once, a year at a time. Each year
begins in the calendar month of the plan's opening month: there a hindcast stands. What the
assessment counts on is taken from the record before that month (the first years, before any
hindcast, share that of the first one), so neither the odds nor what they are held against know
the future. The replay opens in the plan's own opening state; by the first hindcast the dam has
long forgotten it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np

from model.errors import Fault, RecordError
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray, months_of_run
from model.valley.rules import Rules, rules_of
from model.valley.state import Forcing, State, forcing_of, opening_state
from model.valley.step import open_water_year, step
from model.water_year import MONTHS_IN_YEAR, month_of_water_year, parse_month

KNOWN_YEARS: Final = 30
"""Years that must be known before the first hindcast: fewer say too little about dry runs."""

FEWEST_HINDCASTS: Final = 10
"""Fewer cases than this are no evidence either way (the project's own rule)."""


@dataclass(frozen=True, slots=True)
class Stand:
    """One year's start: what was known then, and where the valley stood."""

    month: int  # month number; the record before it is what was known
    known: Record
    rules: Rules
    state: State  # each (1,), in the water year of `month`


@dataclass(frozen=True, slots=True)
class Walk:
    """The observed years, replayed."""

    stands: tuple[Stand, ...]  # the hindcast's years
    water_years: IntArray  # (stand, season) calendar year in which each season's July lies
    announced_ml_per_share: FloatArray  # (stand, season) to date at the season's end; nan: not yet
    announced_before_ml_per_share: FloatArray  # (stand,) to date when standing there
    storage_ml: FloatArray  # (stand, season) at the season's end
    inflow_ml: FloatArray  # (stand, season) of the season's whole water year
    every_announced_ml_per_share: FloatArray  # (year,) of all replayed water years, the long run
    every_more_ml_per_share: FloatArray  # (year,) of it, from the calendar month of the stands on
    every_storage_ml: FloatArray  # (year,)
    every_water_year: IntArray  # (year,) calendar year of its July


def walk(plan: Plan, record: Record, seasons: int) -> Walk:
    """Replay the observed years from stand to stand.

    Raises
    ------
    RecordError
        The record is too short for evidence.
    """
    opening_month = parse_month(plan.opening.month)
    starts = _year_starts(record, opening_month)
    if starts.size < KNOWN_YEARS + FEWEST_HINDCASTS:
        raise RecordError(record.name, [_too_short(starts.size)])
    forcing = forcing_of(np.arange(record.months)[None, :], record, plan.valley)
    state = opening_state(plan.opening, 1)
    stands: list[Stand] = []
    announced = np.full(record.months, np.nan)
    storage = np.full(record.months, np.nan)
    for year, row in enumerate(starts.tolist()):
        known = before(record, record.first_month + int(starts[max(year, KNOWN_YEARS)]))
        rules = rules_of(plan.valley, known)
        month = record.first_month + row
        if year >= KNOWN_YEARS:
            stood = _in_water_year(state, rules, month) if year else state
            stands.append(Stand(month, known, rules, stood))
        last = row + MONTHS_IN_YEAR if year + 1 < starts.size else record.months
        for t in range(row, last):
            state = _one_month(state, forcing, record, rules, t, opens_run=year == 0 and t == row)
            announced[t] = state.water_to_date_ml_per_share[0]
            storage[t] = state.storage_ml[0]
    opened_with = plan.opening.announced_to_date_ml_per_share
    return _gathered(
        record, Calendar(opening_month, seasons), stands, announced, storage, opened_with
    )


def before(record: Record, month: int) -> Record:
    """Cut a record to what was known as a month began."""
    months = month - record.first_month
    return replace(
        record,
        inflow_ml=record.inflow_ml[:months],
        columns={name: values[:months] for name, values in record.columns.items()},
        indices={name: values[:months] for name, values in record.indices.items()},
    )


def repeated(state: State, sequences: int) -> State:
    """Put some sequences where one stands."""
    return State(
        *(np.repeat(getattr(state, field.name), sequences) for field in fields(State)),
    )


def _year_starts(record: Record, opening_month: int) -> IntArray:
    """(years,) rows at which years begin, of which at least the first season is in the record."""
    first = (opening_month - record.first_month) % MONTHS_IN_YEAR
    starts = np.arange(first, record.months, MONTHS_IN_YEAR)
    return starts[starts + months_of_run(opening_month, 1) <= record.months]


def _in_water_year(state: State, rules: Rules, month: int) -> State:
    """Turn the water year where a stand is on 1 July, as a run that opens there expects."""
    if month_of_water_year(month):
        return state
    return open_water_year(state, rules)[0]


def _one_month(
    state: State, forcing: Forcing, record: Record, rules: Rules, t: int, *, opens_run: bool
) -> State:
    """Take the valley through one observed month."""
    k = month_of_water_year(record.first_month + t)
    return step(state, forcing.weather(t), k, rules, opens_run=opens_run)[0]


def _gathered(
    record: Record,
    calendar: Calendar,
    stands: list[Stand],
    announced: FloatArray,
    storage: FloatArray,
    opened_with: float,
) -> Walk:
    """Read off what each season of each stand brought, and the whole row of water years."""
    ends_t = np.array([calendar.last_t(season) for season in range(calendar.seasons)])
    rows = np.array([stand.month - record.first_month for stand in stands])[:, None] + ends_t
    totals = np.convolve(record.inflow_ml, np.ones(MONTHS_IN_YEAR))[: record.months]
    totals[: MONTHS_IN_YEAR - 1] = np.nan

    def at_end(values: FloatArray) -> FloatArray:
        return np.where(rows < record.months, values[np.minimum(rows, record.months - 1)], np.nan)

    junes = np.flatnonzero(
        (record.months_of_water_year() == MONTHS_IN_YEAR - 1) & np.isfinite(announced)
    )
    to_date = announced[junes]
    return Walk(
        stands=tuple(stands),
        water_years=_july_year(record.first_month + rows),
        announced_ml_per_share=at_end(announced),
        announced_before_ml_per_share=np.array(
            [stand.state.water_to_date_ml_per_share[0] for stand in stands]
        ),
        storage_ml=at_end(storage),
        inflow_ml=at_end(totals),
        every_announced_ml_per_share=to_date,
        every_more_ml_per_share=to_date - _before_opening(announced, junes, calendar, opened_with),
        every_storage_ml=storage[junes],
        every_water_year=_july_year(record.first_month + junes),
    )


def _before_opening(
    announced: FloatArray, junes: IntArray, calendar: Calendar, opened_with: float
) -> FloatArray:
    """(year,) what was announced to date as each water year came to the month of the stands."""
    if calendar.first_season_months == MONTHS_IN_YEAR:
        return np.zeros(junes.size)
    rows = junes - calendar.first_season_months
    before = announced[np.maximum(rows, 0)]
    return np.where((rows >= 0) & np.isfinite(before), before, opened_with)


def _july_year(june: IntArray) -> IntArray:
    """Return the calendar year of the July that opens the water year of a June's month number."""
    return np.asarray(june // MONTHS_IN_YEAR - 1)


def _too_short(years: int) -> Fault:
    """Explain that there are too few years to look back on."""
    return Fault(
        "the record",
        "",
        f"it holds {years} years; evidence needs {KNOWN_YEARS} that are known and "
        f"at least {FEWEST_HINDCASTS} to look back on",
        f"{KNOWN_YEARS + FEWEST_HINDCASTS} or more",
    )
