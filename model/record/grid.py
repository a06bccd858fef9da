"""Which cells does a file hold, row by row, as a spreadsheet would show them?

Text is UTF-8, with or without a byte order mark, or UTF-16; cells are separated by commas,
semicolons or tabs. A workbook's cells are what its program last worked out; a day is written
YYYY-MM-DD. Nothing is made of the cells here.
"""

from __future__ import annotations

import codecs
import csv
import datetime as dt
import io
import warnings
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from model.record.kinds import TABLE, kind_of
from model.record.numbers import shown

Cell = str | float
"""Text as it was written; or a number that a workbook holds as one."""

SEPARATORS: Final = {",": "commas", ";": "semicolons", "\t": "tabs"}

MOST_ROWS: Final = 200_000
MOST_COLUMNS: Final = 500
"""Five hundred years of days, and as many columns as nobody reads."""

_MARK_LINE: Final = "sep="
"""What some spreadsheets write above a table to say how its cells are separated."""


class UnreadableError(ValueError):
    """A file that holds no table; `allowed` says what to do."""

    def __init__(self, problem: str, allowed: str = TABLE) -> None:
        super().__init__(problem)
        self.problem, self.allowed = problem, allowed


@dataclass(frozen=True, slots=True)
class Grid:
    """The rows of a file that hold anything."""

    lines: tuple[int, ...]  # (rows,) the row number a spreadsheet shows
    rows: tuple[tuple[Cell, ...], ...]  # as many cells as the file has in the row
    separator: str = ""  # "" for a workbook
    notes: tuple[str, ...] = ()


def grids_of(data: bytes, sheet: str | None = None) -> list[Grid]:
    """Read a file in every way its cells may be separated; a workbook has one.

    Parameters
    ----------
    data
        The file's bytes.
    sheet
        Of a workbook; the first unless named.

    Raises
    ------
    UnreadableError
        It holds no table.
    """
    if not data.strip():
        raise UnreadableError("the file is empty", "a header and rows")
    kind, what, remedy = kind_of(data)
    if kind is None:
        raise UnreadableError(what, remedy)
    if kind == "workbook":
        return [_workbook_grid(data, sheet)]
    if sheet is not None:
        raise UnreadableError("it is a text file and has no sheets", "no --sheet, or a workbook")
    text = _decoded(data)
    first, _, rest = text.partition("\n")
    if first.strip().strip('"').lower().startswith(_MARK_LINE) and len(first.strip(' "\r')) == 5:
        return [_text_grid(rest, first.strip(' "\r')[-1], first_line=2)]
    there = [separator for separator in SEPARATORS if separator in text]
    return [_text_grid(text, separator) for separator in there or [","]]


def _decoded(data: bytes) -> str:
    """Return a file's text."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        coding, said = "utf-16", "UTF-16"
    elif data[1:2] == b"\x00":
        coding, said = "utf-16-le", "UTF-16"
    elif data[:1] == b"\x00":
        coding, said = "utf-16-be", "UTF-16"
    else:
        coding, said = "utf-8-sig", "UTF-8"
    try:
        text = data.decode(coding)
    except UnicodeDecodeError as error:
        problem = f"byte {error.start + 1:,} is not text in {said}"
        raise UnreadableError(problem, "text in UTF-8: save it as CSV UTF-8") from error
    if "\x00" in text:
        raise UnreadableError("it holds bytes that no text has", "a CSV text file")
    return text


def _text_grid(text: str, separator: str, first_line: int = 1) -> Grid:
    """Split text into cells."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=separator)
    try:
        numbered = [(reader.line_num + first_line - 1, row) for row in reader]
    except csv.Error as error:
        raise UnreadableError(f"it cannot be read as CSV ({error})", "a CSV text file") from error
    return _grid(((line, [cell.strip() for cell in row]) for line, row in numbered), separator)


def _grid(
    numbered: Iterable[tuple[int, list[Any]]], separator: str = "", notes: tuple[str, ...] = ()
) -> Grid:
    """Keep the rows that hold anything, without empty cells at their end where no row has any."""
    kept = [(line, row) for line, row in numbered if any(cell != "" for cell in row)]
    if not kept:
        raise UnreadableError("the file is empty", "a header and rows")
    if len(kept) > MOST_ROWS or max(len(row) for _, row in kept) > MOST_COLUMNS:
        allowed = f"at most {MOST_ROWS:,} rows and {MOST_COLUMNS} columns"
        raise UnreadableError("it holds more rows or columns than a record has", allowed)
    used = max(at for _, row in kept for at, cell in enumerate(row, start=1) if cell != "")
    lines, rows = zip(*((line, tuple(row[:used])) for line, row in kept), strict=True)
    return Grid(lines, rows, separator, notes)


def _workbook_grid(data: bytes, sheet: str | None) -> Grid:
    """Read one sheet of a workbook."""
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and rules of a sheet that are not read
        try:
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            title = _sheet_title(book.sheetnames, sheet)
            numbered = list(_numbered_rows(book[title]))
            others = [name for name in book.sheetnames if name != title]
            book.close()
            if any("" in row for _, row in numbered):
                _refuse_formulas_without_value(data, title, dict(numbered))
        except UnreadableError:
            raise
        except Exception as error:  # whatever a damaged workbook makes the reader raise
            problem = "it is a damaged workbook"
            raise UnreadableError(problem, "save it again as XLSX or as CSV") from error
    notes = (f"read from the sheet {title}; not read: {', '.join(others)}",) if others else ()
    return _grid(numbered, notes=notes)


def _sheet_title(titles: list[str], wanted: str | None) -> str:
    """Return the sheet that is wanted, the first unless named."""
    if wanted is None:
        return titles[0]
    for title in titles:
        if title.strip().lower() == wanted.strip().lower():
            return title
    raise UnreadableError(f"it has no sheet {wanted}", f"one of its sheets: {', '.join(titles)}")


def _numbered_rows(sheet: Any) -> Iterator[tuple[int, list[Cell]]]:
    """Yield the rows of a sheet that hold anything, by number."""
    if not hasattr(sheet, "iter_rows"):
        raise UnreadableError("this sheet is a chart", "a sheet with a table")
    sheet.reset_dimensions()  # what the file says of its size may be wrong
    kept = 0
    for line, row in enumerate(sheet.iter_rows(values_only=True), start=1):
        if any(cell is not None for cell in row):
            kept += 1
            yield line, [_cell(value) for value in row]
        if kept > MOST_ROWS:
            return


def _refuse_formulas_without_value(
    data: bytes, title: str, values: Mapping[int, list[Cell]]
) -> None:
    """Refuse a sheet that a program wrote and no spreadsheet has worked out yet."""
    from openpyxl import load_workbook

    sheet = load_workbook(io.BytesIO(data), read_only=True)[title]
    sheet.reset_dimensions()
    for line, row in enumerate(sheet.iter_rows(values_only=True), start=1):
        for value, formula in zip(values.get(line, ()), row, strict=False):
            if value == "" and isinstance(formula, str) and formula.startswith("="):
                problem = f"the formulas of row {line} have no values yet"
                raise UnreadableError(problem, "open it in a spreadsheet and save it again")


def _cell(value: object) -> Cell:
    """Return what a workbook's cell holds."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, dt.datetime | dt.date):
        return value.isoformat()[:10]
    return str(value).strip()


def text_of(cell: Cell) -> str:
    """Return a cell as text, a number as a person types it."""
    return cell if isinstance(cell, str) else shown(cell)
