"""How well do the rules, as the plan states them, give what really was announced?

The observed years are replayed from a known state: where the user says the dam stood on a 1 July,
or where the plan opens, some years before, so that the dam has forgotten it. Error is what the
replay gives less what was announced. What an assessment counts on comes from the whole record, so
that a replay knows more than those who announced did.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from model.errors import Fault, InputError
from model.outlook.replay import ledger_of_rows
from model.plan.announced import Announcements, announcements_of
from model.plan.plan import Opening, Plan
from model.record.record import FloatArray, Record
from model.water_year import (
    JULY,
    MONTHS_IN_YEAR,
    first_month_of_water_year,
    format_month,
    parse_month,
)

SPIN_UP_YEARS: Final = 15
"""Years that the replay runs before the first announced one, where no state is known."""

NOTHING_ML_PER_SHARE: Final = 0.005
"""Announced amounts are written to two digits: below half of the last one is nothing."""


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
    run_in_years: int  # whole water years replayed before the first announced one
    state_known: bool  # whether the user said where the dam stood then


def held_in_plan(plan: Plan, record: Record, folder: Path) -> Held | None:
    """Replay against what a plan says was announced; None where it says nothing.

    Parameters
    ----------
    plan, record
        The rules and what was observed.
    folder
        That the plan stands in: a file it names is taken from there.

    Raises
    ------
    InputError
        What was announced cannot be read, or is not of months in the record.
    """
    announcements = announcements_of(plan, folder)
    return None if announcements is None else held_of(plan, record, announcements)


def held_of(plan: Plan, record: Record, announcements: Announcements) -> Held:
    r"""Replay the observed years against what was announced, from the state the plan knows.

    Examples
    --------
    >>> from model.plan.announced import parse_announcements
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> told = parse_announcements(b"water_year,ml_per_share\n2001-02,0.5\n2002-03,0\n", "told.csv")
    >>> held = held_of(plan, record, told)
    >>> held.none_announced, held.none_found, held.run_in_years
    (1, 0, 15)
    """
    known = plan.announced.known_month if plan.announced is not None else None
    return hold_against(
        opened_for_replay(plan),
        record,
        announcements,
        known_month=None if known is None else parse_month(known),
    )


def opened_for_replay(plan: Plan) -> Plan:
    """Open a plan on a 1 July: where it knows that dam and account stood, else where it stands."""
    stated, now = plan.announced, plan.opening
    storage_ml, account = now.storage_ml, now.account_ml_per_share
    if stated is not None and stated.known_storage_ml is not None:
        storage_ml, account = stated.known_storage_ml, stated.known_account_ml_per_share
    opening = Opening(
        month=(stated.known_month if stated is not None else None) or now.month,
        storage_ml=storage_ml,
        account_ml_per_share=account,
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
) -> Held:
    """Replay the observed years and hold them against what was announced; see also `held_of`.

    Parameters
    ----------
    plan, record
        The rules and what was observed; the plan's opening state is where the replay begins.
    announcements
        Of years that the record holds.
    known_month
        Month number at whose start dam and account are known to have stood so; left out, they are
        taken to have `SPIN_UP_YEARS` before the first announced year, or as long as the record is.

    Raises
    ------
    InputError
        The announcements are not of months in the record.
    """
    first = _replay_from(record, announcements, known_month)
    replayed = replayed_ml_per_share(plan, record, announcements, first)
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
        run_in_years=(first_month_of_water_year(announcements.months[0]) - first) // MONTHS_IN_YEAR,
        state_known=known_month is not None,
    )


def replayed_ml_per_share(
    plan: Plan, record: Record, announcements: Announcements, first: int
) -> FloatArray:
    """(year,) what the replay announces to date, in the months that announcements stand for.

    Where capacity is shared nothing is announced: what is credited to date.
    """
    rows = np.arange(first - record.first_month, announcements.months[-1] + 1 - record.first_month)
    ledger = ledger_of_rows(plan, record, rows, first)
    to_date = ledger.columns["water_to_date_ml_per_share"]
    return np.asarray(to_date[np.array(announcements.months) - first])


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
