"""What stands in each cell of a CSV file that a person made, and which cells are at fault?

A table keeps the row number that a spreadsheet shows (the header is row 1), so that a fault can be
found again. Cells are numbers or blank (NaN); anything else is a fault, all of them collected.
"""

from __future__ import annotations

import _csv
import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from model.errors import Fault

_OTHER_SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars"}


@dataclass(slots=True)
class Table:
    """The cells of a CSV file as text, with the faults found so far."""

    header: list[str]
    lines: list[int]  # (rows,) the row number a spreadsheet shows
    cells: list[list[str]]  # (rows, columns) text, stripped
    faults: list[Fault] = field(default_factory=list)
    ragged: set[int] = field(default_factory=set)  # lines with too many or too few cells

    def column(self, name: str) -> list[str]:
        """Give one column as text."""
        at = self.header.index(name)
        return [row[at] for row in self.cells]

    def numbers(self, name: str, *, lowest: float, unit: str) -> tuple[list[float], set[int]]:
        """Give one column as numbers, NaN where blank, and the lines at which it is at fault.

        A cell at fault is noted and left NaN; so are those of a ragged row, which is noted itself.
        """
        numbers, at_fault = [], set(self.ragged)
        for line, text in zip(self.lines, self.column(name), strict=True):
            if line in self.ragged:
                numbers.append(math.nan)
                continue
            told = len(self.faults)
            numbers.append(self._number(line, name, text, lowest, unit))
            if len(self.faults) > told:
                at_fault.add(line)
        return numbers, at_fault

    def fault(self, line: int, column: str, value: str, problem: str, allowed: str) -> None:
        """Note a fault at a row and column."""
        self.faults.append(Fault(f"row {line}, column {column}", value, problem, allowed))

    def _number(self, line: int, name: str, text: str, lowest: float, unit: str) -> float:
        if not text:
            return math.nan
        allowed = f"a number of {lowest:g} or more, {unit}" if lowest > -math.inf else "a number"
        try:
            number = float(text.replace("_", "x"))
        except ValueError:
            self.fault(line, name, text, _why_no_number(text), f"{allowed}, or a blank cell")
            return math.nan
        if not math.isfinite(number):
            self.fault(line, name, text, "it is not a finite number", allowed)
            return math.nan
        if number < lowest:
            self.fault(line, name, text, "it is negative", allowed)
            return math.nan
        return number


def read_table(data: bytes) -> Table:
    """Read a CSV file into cells.

    Parameters
    ----------
    data
        The file's bytes, UTF-8, with or without a byte order mark.

    Returns
    -------
    Table
        Its faults are what is wrong with the file as a table; header names are lower case.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return _unreadable("text in UTF-8", f"byte {error.start + 1:,} is not text in UTF-8")
    if "\x00" in text:
        return _unreadable("a CSV text file", "it holds bytes that no text has")
    try:
        return _from_reader(csv.reader(io.StringIO(text), strict=True))
    except csv.Error as error:
        return _unreadable("a CSV text file", f"it cannot be read as CSV ({error})")


def require_columns(table: Table, wanted: Sequence[str]) -> None:
    """Note every wanted column that the header, where there is one, does not name."""
    for name in wanted if table.header else ():
        if name not in table.header:
            table.faults.append(
                Fault("row 1", ",".join(table.header), f"the column {name} is missing", name)
            )


def _from_reader(reader: _csv.Reader) -> Table:
    """Split header and rows, with the row number of each."""
    table = Table([], [], [])
    for row in reader:
        cells = [cell.strip() for cell in row]
        if not table.header:
            if any(cells):
                table.header = [cell.lower() for cell in cells]
                _check_header(table)
            continue
        if not any(cells):
            continue
        if len(cells) != len(table.header):
            table.faults.append(
                Fault(
                    f"row {reader.line_num}",
                    ",".join(cells),
                    f"it has {len(cells)} cells and the header has {len(table.header)}",
                    f"{len(table.header)} cells, separated by commas",
                )
            )
            table.ragged.add(reader.line_num)
            cells = (cells + [""] * len(table.header))[: len(table.header)]
        table.lines.append(reader.line_num)
        table.cells.append(cells)
    if not table.header:
        table.faults.append(Fault("row 1", "", "the file is empty", "a header and rows"))
    elif not table.cells:
        table.faults.append(Fault("row 2", "", "there are no rows under the header", "rows"))
    return table


def _check_header(table: Table) -> None:
    """Note a header that is separated by something else, or names a column twice or not at all."""
    if len(table.header) == 1:
        for mark, name in _OTHER_SEPARATORS.items():
            if mark in table.header[0]:
                table.faults.append(
                    Fault("row 1", table.header[0], f"cells are separated by {name}", "commas")
                )
    for at, name in enumerate(table.header, start=1):
        if not name:
            table.faults.append(
                Fault(f"row 1, column {at}", "", "it has no name", "a name for each column")
            )
        elif name in table.header[: at - 1]:
            table.faults.append(
                Fault(f"row 1, column {at}", name, "the name stands twice", "one column a name")
            )


def _unreadable(allowed: str, problem: str) -> Table:
    return Table([], [], [], [Fault("the file", "", problem, allowed)])


def _why_no_number(text: str) -> str:
    """Say why a cell is not a number, as far as can be guessed."""
    if "," in text:
        return "it is not a number (write it without commas, with a point for decimals)"
    return "it is text, not a number"
