"""What was announced in past years, as a person gives it?

From a CSV file or a workbook: `ml_per_share`, and either `water_year` (2010-11: announced to date
at its end) or `date` (a day or a month: announced to date in the water year then); from rows typed
on a page; or from the lists of a plan's `[announced]`. Of several figures in a water year the last
counts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

from model.errors import Fault, InputError
from model.files import read_bytes
from model.plan.plan import Announced, Plan
from model.plan.when_announced import (
    NO_WATER_YEAR,
    date_moment,
    date_text,
    order_problem,
    water_year_moment,
)
from model.record.dates import Moment
from model.record.grid import text_of
from model.record.numbers import is_missing
from model.record.reading import AS_WRITTEN, HowToRead, read_table
from model.record.table import Table
from model.water_year import first_month_of_water_year, water_year_label

Kind = Literal["water_years", "dates"]

COLUMN_OF: Final[dict[Kind, str]] = {"water_years": "water_year", "dates": "date"}
_MOMENT_OF: Final[dict[Kind, Callable[[str], Moment]]] = {
    "water_years": water_year_moment,
    "dates": date_moment,
}

MOST_ML_PER_SHARE: Final = 100.0
"""As in a plan: beyond any announcement, even one read in percent."""

ALLOWED: Final = f"0 to {MOST_ML_PER_SHARE:g} ML per share (35 % is 0.35)"

ALLOWED_PERCENT: Final = f"0 to {100.0 * MOST_ML_PER_SHARE:,.0f} % of a share"

IS_PERCENT: Final = "it is in percent, and this column is read as ML per share"

AMOUNT: Final = "ml_per_share"

IN_THE_PLAN: Final = "the plan's [announced]"


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
class AnnouncedRows:
    """Announced figures row by row, as they were given, in the order of time."""

    kind: Kind  # what `when` holds
    when: tuple[str, ...]
    ml_per_share: tuple[float, ...]  # announced to date in the water year

    def announcements(self, name: str) -> Announcements:
        """Keep the last figure of each water year."""
        last: dict[int, tuple[int, float]] = {}
        for text, amount in zip(self.when, self.ml_per_share, strict=True):
            month = _MOMENT_OF[self.kind](text)[0]
            last[first_month_of_water_year(month)] = month, amount
        months, amounts = zip(*last.values(), strict=True)
        return Announcements(name, months, amounts)

    def lists(self) -> dict[str, list[str] | list[float]]:
        """Return the rows as the lists of `[announced]`."""
        return {self.kind: list(self.when), "ml_per_share": list(self.ml_per_share)}


def read_announcements(path: Path, how: HowToRead = AS_WRITTEN) -> Announcements:
    r"""Read what was announced from a file; see `parse_announcements`.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder) / "told.csv"
    ...     _ = path.write_text("water_year,ml_per_share\n2001-02,0.5\n")
    ...     read_announcements(path).ml_per_share
    (0.5,)
    """
    return parse_announcements(read_bytes(path, "announcements"), path.name, how)


def parse_announcements(data: bytes, name: str, how: HowToRead = AS_WRITTEN) -> Announcements:
    r"""Read what was announced from the bytes of a CSV file or an XLSX workbook.

    Raises
    ------
    InputError
        With every fault found: row, column, value and what is allowed.

    Examples
    --------
    >>> told = parse_announcements(b"water_year,ml_per_share\n2001-02,0.5\n2002-03,0\n", "told.csv")
    >>> told.water_years, told.ml_per_share
    (('2001-02', '2002-03'), (0.5, 0.0))
    """
    return parse_rows(data, name, how=how).announcements(name)


def announcements_of(plan: Plan, folder: Path) -> Announcements | None:
    """Return what a plan says was announced, if anything.

    Parameters
    ----------
    plan
        With its figures, or with a file that it names.
    folder
        That the plan stands in: the file is taken from there.

    Raises
    ------
    InputError
        The file cannot be read, or has faults.

    Examples
    --------
    >>> from pathlib import Path
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> announcements_of(read_plan(demonstration_plan()), Path()) is None
    True
    """
    if plan.announced is None:
        return None
    name = plan.announced.file or IN_THE_PLAN
    rows = rows_of(plan, folder)
    return None if rows is None else rows.announcements(name)


def rows_of(plan: Plan, folder: Path) -> AnnouncedRows | None:
    """Return the rows that a plan holds or names, if any; see `announcements_of`."""
    return None if plan.announced is None else rows_stated(plan.announced, folder)


def rows_stated(stated: Announced, folder: Path) -> AnnouncedRows:
    """Return the rows of a plan's `[announced]`; see `announcements_of`."""
    if stated.file is not None:
        return parse_rows(read_bytes(folder / stated.file, "announcements"), stated.file)
    kind: Kind = "water_years" if stated.water_years else "dates"
    return AnnouncedRows(kind, getattr(stated, kind), stated.ml_per_share or ())


def parse_rows(
    data: bytes, name: str, *, percent: bool = False, how: HowToRead = AS_WRITTEN
) -> AnnouncedRows:
    """Read announced figures from the bytes of a CSV file or a workbook, every row kept.

    Parameters
    ----------
    data, name
        Of the file.
    percent
        Whether `ml_per_share` holds percent of a share, with or without a percent sign.
    how
        What the person says of the file.

    Raises
    ------
    InputError
        With every fault found.
    """
    table = _table(data, how)
    kind: Kind = "water_years" if "water_year" in table.header else "dates"
    for wanted in (COLUMN_OF[kind], AMOUNT):
        if table.header and wanted not in table.header and not table.faults:
            allowed = "water_year (or date) and ml_per_share"
            where, found = "the header", ",".join(table.header)
            table.faults.append(Fault(where, found, f"no column {wanted}", allowed))
    if table.faults:
        raise InputError(name, table.all_faults())
    return _checked(_without_signs(table) if percent else table, kind, name, percent=percent)


def signed_throughout(data: bytes) -> bool:
    r"""Return whether every figure of a file has a percent sign; 0 and blank may go without.

    Examples
    --------
    >>> signed_throughout(b"water_year,ml_per_share\n2001-02,35 %\n2002-03,0\n")
    True
    >>> signed_throughout(b"water_year,ml_per_share\n2001-02,35%\n2002-03,0.4\n")
    False
    """
    table = _table(data, AS_WRITTEN)
    cells = table.column(AMOUNT) if AMOUNT in table.header else []
    signed = [cell.endswith("%") for cell in cells]
    return any(signed) and all(
        sign or cell in ("", "0") for sign, cell in zip(signed, cells, strict=True)
    )


def _table(data: bytes, how: HowToRead) -> Table:
    """Read a file of announced figures into cells."""
    return read_table(data, lambda name: name == AMOUNT, how)


def _without_signs(table: Table) -> Table:
    """Take the percent signs off the figures."""
    at = table.header.index(AMOUNT)
    for row in table.cells:
        if isinstance(row[at], str):
            row[at] = text_of(row[at]).removesuffix("%").strip()
    return table


def typed_rows(kind: Kind, cells: Sequence[tuple[str, str]], name: str) -> AnnouncedRows:
    """Read announced figures from the cells of rows as typed; blank rows are passed over.

    Parameters
    ----------
    kind
        What the first cell of a row holds.
    cells
        Of each row: when, and ML per share.
    name
        What the rows are called where they are at fault; they count from 1.

    Raises
    ------
    InputError
        With every fault found, or no row is filled in.
    """
    given = [
        (line, [cell.strip() for cell in row])
        for line, row in enumerate(cells, start=1)
        if any(cell.strip() for cell in row)
    ]
    if not given:
        raise InputError(name, [Fault("row 1", "", "no row is filled in", "one row or more")])
    table = Table(
        [COLUMN_OF[kind], AMOUNT], [line for line, _ in given], [list(row) for _, row in given]
    )
    return _checked(table, kind, name)


def _checked(table: Table, kind: Kind, name: str, *, percent: bool = False) -> AnnouncedRows:
    """Read the rows of a table; every cell at fault is noted before any is refused."""
    allowed, one_share = (ALLOWED_PERCENT, 100.0) if percent else (ALLOWED, 1.0)
    numbers, _ = table.numbers(AMOUNT, lowest=0.0, unit="ML per share", allowed=allowed)
    amounts = [number / one_share for number in numbers]
    for line, text, amount in zip(table.lines, table.column(AMOUNT), amounts, strict=True):
        if math.isnan(amount) and is_missing(text) and line not in table.ragged:
            table.fault(line, AMOUNT, text, "there is no value", allowed)
        elif amount > MOST_ML_PER_SHARE:
            table.fault(line, AMOUNT, text, "it is out of range", allowed)
    when = _moments(table, kind)
    faults = table.all_faults()
    if faults:
        raise InputError(name, [_in_percent(fault) for fault in faults])
    return AnnouncedRows(kind, when, tuple(amounts))


def _in_percent(fault: Fault) -> Fault:
    """Return a fault that says of an amount in percent how the column is read."""
    return replace(fault, problem=IS_PERCENT) if fault.problem == "it is in percent" else fault


def _moments(table: Table, kind: Kind) -> tuple[str, ...]:
    """Read when each row stands for, written as a plan has it; note what is wrong."""
    column, texts = COLUMN_OF[kind], []
    before: Moment = (-1, 0)
    for line, text, moment in zip(
        table.lines, table.column(column), _read_moments(table, kind), strict=True
    ):
        if moment is None:
            continue
        problem = order_problem(before, moment)
        if problem:
            table.fault(line, column, text, problem, "the order of time, each once")
        before = max(before, moment)
        texts.append(water_year_label(moment[0]) if kind == "water_years" else date_text(moment))
    return tuple(texts)


def _read_moments(table: Table, kind: Kind) -> list[Moment | None]:
    """Read the column that says when; note what is no moment."""
    if kind == "dates":
        return table.moments(COLUMN_OF[kind], "either")
    moments: list[Moment | None] = []
    for line, text in zip(table.lines, table.column("water_year"), strict=True):
        try:
            moments.append(water_year_moment(text))
        except ValueError:
            moments.append(None)
            table.fault(line, "water_year", text, *NO_WATER_YEAR)
    return moments
