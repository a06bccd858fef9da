"""How well do the rules, as the plan states them, give what really was announced?

What was announced comes from a CSV file: `ml_per_share`, and either `water_year` (2010-11:
announced to date at its end) or `date` (YYYY-MM-DD or YYYY-MM: announced to date in the water
year then). The observed years are replayed from a known state: where the user says the dam stood,
or in the plan's opening state some years before, so that the dam has forgotten it. Error is what
the replay gives less what was announced.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from model.errors import Fault, InputError
from model.files import read_bytes
from model.plan import Opening, Plan
from model.record import FloatArray, Record
from model.replay import ledger_of_rows
from model.table import Table, read_table
from model.water_year import (
    JULY,
    MONTHS_IN_YEAR,
    first_month_of_water_year,
    format_month,
    parse_month,
    water_year_label,
)

SPIN_UP_YEARS: Final = 15
"""Years that the replay runs before the first announced one, where no state is known."""

NOTHING_ML_PER_SHARE: Final = 0.005
"""Announced amounts are written to two digits: below half of the last one is nothing."""

_WATER_YEAR = re.compile(r"(\d{4})[-/](\d{2})")
_DATE = re.compile(r"(\d{4}-\d{2})(-\d{2})?")


@dataclass(frozen=True, slots=True)
class Announcements:
    """What was announced: the last figure of each water year."""

    name: str
    months: tuple[int, ...]  # month number that each figure stands for, rising
    ml_per_share: tuple[float, ...]  # announced to date in the water year

    @property
    def water_years(self) -> tuple[str, ...]:
        """Name the water year of each."""
        return tuple(water_year_label(month) for month in self.months)


@dataclass(frozen=True, slots=True)
class YearHeld:
    """One year of the replay against what was announced."""

    water_year: str
    announced_ml_per_share: float
    replayed_ml_per_share: float

    @property
    def error_ml_per_share(self) -> float:
        """Above 0 where the replay gives too much."""
        return self.replayed_ml_per_share - self.announced_ml_per_share


@dataclass(frozen=True, slots=True)
class Held:
    """The replay against what was announced."""

    years: tuple[YearHeld, ...]
    bias_ml_per_share: float  # mean error
    mean_error_ml_per_share: float  # mean size of the error
    none_announced: int  # years in which nothing was announced
    none_found: int  # of them, in the replay too
    none_false: int  # years in which only the replay gives nothing
    replayed_from: str  # month
    state_known: bool  # whether the user said where the dam stood then


def read_announcements(path: Path) -> Announcements:
    """Read what was announced from a CSV file; see `parse_announcements`."""
    return parse_announcements(read_bytes(path, "announcements"), path.name)


def parse_announcements(data: bytes, name: str) -> Announcements:
    """Read what was announced from the bytes of a CSV file.

    Raises
    ------
    InputError
        With every fault found: row, column, value and what is allowed.
    """
    table = read_table(data)
    by_year = "water_year" in table.header
    when = "water_year" if by_year else "date"
    for wanted in (when, "ml_per_share"):
        if table.header and wanted not in table.header:
            allowed = "water_year (or date) and ml_per_share"
            fault = Fault("row 1", ",".join(table.header), f"no column {wanted}", allowed)
            table.faults.append(fault)
    if table.faults:
        raise InputError(name, table.faults)
    amounts, _ = table.numbers("ml_per_share", lowest=0.0, unit="ML per share")
    months = [
        _month(table, line, when, text, by_year=by_year)
        for line, text in zip(table.lines, table.column(when), strict=True)
    ]
    last = _last_of_each_year(table, months, amounts)
    if table.faults:
        raise InputError(name, table.faults)
    return Announcements(name, tuple(last), tuple(last.values()))


def announcements_of(plan: Plan, folder: Path) -> Announcements | None:
    """Read the announcements that a plan names, if any; a relative path is taken from `folder`."""
    return None if plan.announced is None else read_announcements(folder / plan.announced.file)


def held_of(plan: Plan, record: Record, announcements: Announcements) -> Held:
    """Replay the observed years against what was announced, from the state the plan knows."""
    known = plan.announced.known_month if plan.announced is not None else None
    if known is None:
        return hold_against(plan, record, announcements)
    opening = opened_as_known(plan).opening
    return hold_against(plan, record, announcements, known_month=parse_month(known), known=opening)


def opened_as_known(plan: Plan) -> Plan:
    """Open a plan where it knows that dam and account stood, if it does; on a 1 July."""
    stated = plan.announced
    if stated is None or stated.known_month is None or stated.known_storage_ml is None:
        return plan
    opening = Opening(
        month=stated.known_month,
        storage_ml=stated.known_storage_ml,
        account_ml_per_share=stated.known_account_ml_per_share,
        announced_to_date_ml_per_share=0.0,
        used_this_year_ml_per_share=0.0,
        used_last_year_ml_per_share=0.0,
        used_year_before_ml_per_share=0.0,
        high_security_used_ml=0.0,
        high_security_allocation_frac=0.0,
    )
    return plan.model_copy(update={"opening": opening})


def hold_against(
    plan: Plan,
    record: Record,
    announcements: Announcements,
    *,
    known_month: int | None = None,
    known: Opening | None = None,
) -> Held:
    """Replay the observed years and hold them against what was announced.

    Parameters
    ----------
    plan, record
        The rules and what was observed.
    announcements
        Of years that the record holds.
    known_month, known
        Where dam and account stood at the start of a month; by default the plan's opening state
        `SPIN_UP_YEARS` before the first announced year.

    Raises
    ------
    InputError
        The announcements are not of months in the record.
    """
    first = _replay_from(record, announcements, known_month)
    opening = plan.opening if known is None else known
    replayed = replayed_ml_per_share(
        plan.model_copy(update={"opening": opening}), record, announcements, first
    )
    years = tuple(
        YearHeld(*of_year)
        for of_year in zip(
            announcements.water_years, announcements.ml_per_share, replayed.tolist(), strict=True
        )
    )
    errors = np.array([year.error_ml_per_share for year in years])
    none = np.array(announcements.ml_per_share) < NOTHING_ML_PER_SHARE
    none_replayed = replayed < NOTHING_ML_PER_SHARE
    return Held(
        years=years,
        bias_ml_per_share=float(errors.mean()),
        mean_error_ml_per_share=float(np.abs(errors).mean()),
        none_announced=int(none.sum()),
        none_found=int((none & none_replayed).sum()),
        none_false=int((~none & none_replayed).sum()),
        replayed_from=format_month(first),
        state_known=known is not None,
    )


def replayed_ml_per_share(
    plan: Plan, record: Record, announcements: Announcements, first: int
) -> FloatArray:
    """(year,) what the replay announces to date, in the months that announcements stand for."""
    rows = np.arange(first - record.first_month, announcements.months[-1] + 1 - record.first_month)
    ledger = ledger_of_rows(plan, record, rows, first)
    to_date = ledger.columns["announced_to_date_ml_per_share"]
    return np.asarray(to_date[np.array(announcements.months) - first])


def held_in_words(held: Held) -> str:
    """Say how far the replay is from what was announced."""
    years, bias = held.years, held.bias_ml_per_share
    side = "too much" if bias > 0.0 else "too little"
    state = "from a known state" if held.state_known else "after years of running in"
    words = (
        f"Held against what was announced in {len(years)} years ({years[0].water_year} to "
        f"{years[-1].water_year}), the rules as stated here, replayed {state}, erred by "
        f"{held.mean_error_ml_per_share:.2f} ML per share on average ({abs(bias):.2f} {side} "
        "overall)"
    )
    if held.none_announced:
        words += f", and found {held.none_found} of the {held.none_announced} years with nothing"
    if held.none_false:
        words += f"; in {held.none_false} years they gave nothing where water was announced"
    return f"{words}. This error comes on top of every figure here."


def _month(table: Table, line: int, column: str, text: str, *, by_year: bool) -> int:
    """Read the month that a figure stands for; a cell at fault is noted."""
    if by_year:
        match = _WATER_YEAR.fullmatch(text)
        if match and (int(match[1]) + 1) % 100 == int(match[2]):
            return int(match[1]) * MONTHS_IN_YEAR + JULY + MONTHS_IN_YEAR - 1
        table.fault(line, column, text, "it is not a water year", "YYYY-YY, such as 2010-11")
        return 0
    match = _DATE.fullmatch(text)
    try:
        return parse_month(match[1] if match else text)
    except ValueError:
        table.fault(line, column, text, "it is not a date", "YYYY-MM-DD or YYYY-MM")
        return 0


def _last_of_each_year(
    table: Table, months: Sequence[int], amounts: Sequence[float]
) -> dict[int, float]:
    """Keep the last figure of each water year, by month; note blanks and years out of order."""
    last: dict[int, float] = {}
    for line, month, amount in zip(table.lines, months, amounts, strict=True):
        before = max(last, default=month - 1)
        if math.isnan(amount):
            table.fault(line, "ml_per_share", "", "there is no value", "ML per share")
        elif month < before:
            shown = format_month(month)
            table.fault(line, "date", shown, "it comes before the row above", "the order of time")
        else:
            if last and first_month_of_water_year(before) == first_month_of_water_year(month):
                del last[before]
            last[month] = amount
    return last


def _replay_from(record: Record, announcements: Announcements, known_month: int | None) -> int:
    """Choose the month that the replay begins in."""
    first = first_month_of_water_year(announcements.months[0])
    start = first - SPIN_UP_YEARS * MONTHS_IN_YEAR if known_month is None else known_month
    if known_month is None:
        earliest = record.first_month
        start = max(start, earliest + (JULY - earliest) % MONTHS_IN_YEAR)
    inside = record.first_month <= start <= first and announcements.months[-1] <= record.last_month
    if not inside:
        fault = Fault(
            f"{announcements.name}, {announcements.water_years[0]} to "
            f"{announcements.water_years[-1]}",
            format_month(start),
            "the replay of these years would leave the record, or begin after them",
            f"years and a known state within {record.span[0]} to {record.span[1]}",
        )
        raise InputError(announcements.name, [fault])
    return start
