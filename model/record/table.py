"""What does each cell of a table hold, and which cells are at fault?

A table keeps the row number that a spreadsheet shows, so that a fault can be found again. All
faults are collected; one that comes again and again is told once, with its count and first rows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from model.errors import Fault
from model.record.dates import TWO_DIGITS, Moment, Wanted, moments_of, no_moment
from model.record.grid import Cell, text_of
from model.record.numbers import Decimal, is_missing, is_number_like, number_of, why_no_number

MOST_MEASURED: Final = 1e15
"""In any unit: the Amazon carries some 5e11 m3 a month (from memory)."""

_ROWS_NAMED: Final = 3
_LONGEST_SHOWN: Final = 60


@dataclass(slots=True)
class Table:
    """The cells of a file under their header, with the faults found so far."""

    header: list[str]  # names, plain
    lines: list[int]  # (rows,) the row number a spreadsheet shows
    cells: list[list[Cell]]  # (rows, columns)
    faults: list[Fault] = field(default_factory=list)
    ragged: set[int] = field(default_factory=set)  # lines with too many or too few cells
    notes: list[str] = field(default_factory=list)
    decimal: Decimal = "point"
    _noted: dict[tuple[str, str], list[tuple[int, Fault]]] = field(default_factory=dict)

    def column(self, name: str) -> list[str]:
        """Return one column as text."""
        at = self.header.index(name)
        return [text_of(row[at]) for row in self.cells]

    def numbers(
        self, name: str, *, lowest: float, unit: str, allowed: str = ""
    ) -> tuple[list[float], set[int]]:
        """Return one column as numbers, NaN where missing, and the lines at which it is at fault.

        A cell at fault is noted and left NaN; so are those of a ragged row, which is noted itself.
        """
        if not allowed:
            bounded = f"a number of {lowest:g} or more, {unit}, or a blank cell"
            allowed = bounded if lowest > -math.inf else "a number, or a blank cell"
        at = self.header.index(name)
        numbers, at_fault = [], set(self.ragged)
        for line, row in zip(self.lines, self.cells, strict=True):
            number, problem = self._number(row[at], lowest)
            numbers.append(math.nan if line in self.ragged else number)
            if problem and line not in self.ragged:
                self.fault(line, name, text_of(row[at]), problem, allowed)
                at_fault.add(line)
        return numbers, at_fault

    def moments(self, name: str, wanted: Wanted) -> list[Moment | None]:
        """Return what each row stands for, None where it cannot be read; note these."""
        texts = self.column(name)
        found = moments_of(texts, wanted)
        if found.unsure:
            first, second = found.unsure
            at = next(row for row, moment in enumerate(found.moments) if moment is not None)
            problem = f"the days may be read in two ways, such as {first} or {second}"
            self.fault(self.lines[at], name, texts[at], problem, "days written YYYY-MM-DD")
        for line, text, moment in zip(self.lines, texts, found.moments, strict=True):
            if moment is None and line not in self.ragged:
                problem, allowed = no_moment(text, wanted)
                self.fault(line, name, text, problem, allowed)
        if found.two_digit_years:
            self.notes.append(TWO_DIGITS)
        return list(found.moments)

    def is_text(self, name: str) -> bool:
        """Return whether a column holds words and no number at all."""
        texts = [text for text in self.column(name) if not is_missing(text)]
        return not any(is_number_like(text) for text in texts)

    def fault(self, line: int, column: str, value: str, problem: str, allowed: str) -> None:
        """Note a fault at a row and column; one of a kind already noted is counted with it."""
        kind = column, re.sub(r"[0-9]+", "0", problem)
        noted = self._noted.setdefault(kind, [])
        where = f"row {line}, column {column}" if column else f"row {line}"
        noted.append((line, Fault(where, value[:_LONGEST_SHOWN], problem, allowed)))

    def all_faults(self) -> list[Fault]:
        """Return the faults of the file, then of its cells, each kind once."""
        return [*self.faults, *(_said_once(noted) for noted in self._noted.values())]

    def _number(self, cell: Cell, lowest: float) -> tuple[float, str]:
        """Return the number of a cell, or NaN and what is the matter."""
        if isinstance(cell, str) and is_missing(cell):
            return math.nan, ""
        number = cell if isinstance(cell, float) else number_of(cell, self.decimal)
        if number is None:
            return math.nan, why_no_number(text_of(cell))
        if not math.isfinite(number):
            return math.nan, "it is not a finite number"
        if abs(number) > MOST_MEASURED:
            return math.nan, "it is larger than anything that is measured"
        if number < lowest:
            return math.nan, "it is negative"
        return number, ""


def _said_once(noted: Sequence[tuple[int, Fault]]) -> Fault:
    """Return faults of one kind as one, with their count and first rows."""
    line, first = noted[0]
    if len(noted) == 1:
        return first
    rows = ", ".join(f"{line:,}" for line, _ in noted[:_ROWS_NAMED])
    more = len(noted) - _ROWS_NAMED
    rows += f" and {more:,} more" if more > 0 else ""
    return replace(first, where=first.where.replace(f"row {line}", f"rows {rows}", 1))
