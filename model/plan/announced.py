"""What was announced in past years, as a person gives it?

From a CSV file: `ml_per_share`, and either `water_year` (2010-11: announced to date at its end) or
`date` (YYYY-MM-DD or YYYY-MM: announced to date in the water year then); from rows typed on a page;
or from the lists of a plan's `[announced]`. Of several figures in a water year the last counts.
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
    NO_DATE,
    NO_WATER_YEAR,
    Moment,
    date_moment,
    order_problem,
    water_year_moment,
)
from model.record.table import Table, read_table
from model.water_year import first_month_of_water_year, water_year_label

Kind = Literal["water_years", "dates"]

COLUMN_OF: Final[dict[Kind, str]] = {"water_years": "water_year", "dates": "date"}
_MOMENT_OF: Final[dict[Kind, Callable[[str], Moment]]] = {
    "water_years": water_year_moment,
    "dates": date_moment,
}
_NO_MOMENT: Final = {"water_years": NO_WATER_YEAR, "dates": NO_DATE}

MOST_ML_PER_SHARE: Final = 100.0
"""As in a plan: beyond any announcement, even one read in percent."""

ALLOWED: Final = f"0 to {MOST_ML_PER_SHARE:g} ML per share (35 % is 0.35)"

ALLOWED_PERCENT: Final = f"0 to {100.0 * MOST_ML_PER_SHARE:,.0f} % of a share"

IS_PERCENT: Final = "it is in percent, and this column is read as ML per share"

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
        """Give the rows as the lists of `[announced]`."""
        return {self.kind: list(self.when), "ml_per_share": list(self.ml_per_share)}


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
    return parse_rows(data, name).announcements(name)


def announcements_of(plan: Plan, folder: Path) -> Announcements | None:
    """Give what a plan says was announced, if anything.

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
    """
    if plan.announced is None:
        return None
    name = plan.announced.file or IN_THE_PLAN
    rows = rows_of(plan, folder)
    return None if rows is None else rows.announcements(name)


def rows_of(plan: Plan, folder: Path) -> AnnouncedRows | None:
    """Give the rows that a plan holds or names, if any; see `announcements_of`."""
    return None if plan.announced is None else rows_stated(plan.announced, folder)


def rows_stated(stated: Announced, folder: Path) -> AnnouncedRows:
    """Give the rows of a plan's `[announced]`; see `announcements_of`."""
    if stated.file is not None:
        return parse_rows(read_bytes(folder / stated.file, "announcements"), stated.file)
    kind: Kind = "water_years" if stated.water_years else "dates"
    return AnnouncedRows(kind, getattr(stated, kind), stated.ml_per_share or ())


def parse_rows(data: bytes, name: str, *, percent: bool = False) -> AnnouncedRows:
    """Read announced figures from the bytes of a CSV file, every row kept.

    Parameters
    ----------
    data, name
        Of the file.
    percent
        Whether `ml_per_share` holds percent of a share, with or without a percent sign.

    Raises
    ------
    InputError
        With every fault found.
    """
    table = read_table(data)
    kind: Kind = "water_years" if "water_year" in table.header else "dates"
    for wanted in (COLUMN_OF[kind], "ml_per_share"):
        if table.header and wanted not in table.header:
            allowed = "water_year (or date) and ml_per_share"
            fault = Fault("row 1", ",".join(table.header), f"no column {wanted}", allowed)
            table.faults.append(fault)
    if table.faults:
        raise InputError(name, table.faults)
    return _checked(_without_signs(table) if percent else table, kind, name, percent=percent)


def signed_throughout(data: bytes) -> bool:
    r"""Tell whether every figure of a CSV file has a percent sign; 0 and blank may go without.

    Examples
    --------
    >>> signed_throughout(b"water_year,ml_per_share\n2001-02,35 %\n2002-03,0\n")
    True
    >>> signed_throughout(b"water_year,ml_per_share\n2001-02,35%\n2002-03,0.4\n")
    False
    """
    table = read_table(data)
    cells = table.column("ml_per_share") if "ml_per_share" in table.header else []
    signed = [cell.endswith("%") for cell in cells]
    return any(signed) and all(
        sign or cell in ("", "0") for sign, cell in zip(signed, cells, strict=True)
    )


def _without_signs(table: Table) -> Table:
    """Take the percent signs off the figures."""
    at = table.header.index("ml_per_share")
    cells = [
        [
            cell.removesuffix("%").strip() if column == at else cell
            for column, cell in enumerate(row)
        ]
        for row in table.cells
    ]
    return replace(table, cells=cells)


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
    lines, rows = zip(*given, strict=True)
    return _checked(Table([COLUMN_OF[kind], "ml_per_share"], list(lines), list(rows)), kind, name)


def _checked(table: Table, kind: Kind, name: str, *, percent: bool = False) -> AnnouncedRows:
    """Read the rows of a table; every cell at fault is noted before any is refused."""
    allowed, one_share = (ALLOWED_PERCENT, 100.0) if percent else (ALLOWED, 1.0)
    numbers, _ = table.numbers("ml_per_share", lowest=0.0, unit="ML per share")
    amounts = [number / one_share for number in numbers]
    table.faults = [
        _of_amount(fault, allowed) if fault.where.endswith("column ml_per_share") else fault
        for fault in table.faults
    ]
    for line, text, amount in zip(table.lines, table.column("ml_per_share"), amounts, strict=True):
        if math.isnan(amount) and not text and line not in table.ragged:
            table.fault(line, "ml_per_share", "", "there is no value", allowed)
        elif amount > MOST_ML_PER_SHARE:
            table.fault(line, "ml_per_share", text, "it is out of range", allowed)
    when = _moments(table, kind)
    if table.faults:
        raise InputError(name, table.faults)
    return AnnouncedRows(kind, when, tuple(amounts))


def _of_amount(fault: Fault, allowed: str) -> Fault:
    """Say what is allowed of an amount, and of one in percent why it is none."""
    problem = IS_PERCENT if fault.value.endswith("%") else fault.problem
    return replace(fault, problem=problem, allowed=allowed)


def _moments(table: Table, kind: Kind) -> tuple[str, ...]:
    """Read when each row stands for, written as a plan has it; note what is wrong."""
    column, texts = COLUMN_OF[kind], []
    before: Moment = (-1, 0)
    for line, text in zip(table.lines, table.column(column), strict=True):
        try:
            moment = _MOMENT_OF[kind](text)
        except ValueError:
            table.fault(line, column, text, *_NO_MOMENT[kind])
            continue
        problem = order_problem(before, moment)
        if problem:
            table.fault(line, column, text, problem, "the order of time, each once")
        before = max(before, moment)
        texts.append(water_year_label(moment[0]) if kind == "water_years" else text)
    return tuple(texts)
