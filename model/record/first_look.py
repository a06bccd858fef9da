"""What do the columns of a file seem to be, before anybody has said so?

A guess to be looked at: which column says when, which is the flow, in what unit, and whether rows
are months or days. The person says what is right; the record is then read by that alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from model.record.dates import moments_of
from model.record.months import OPTIONAL_COLUMNS, is_inflow
from model.record.numbers import is_number_like
from model.record.reading import AS_WRITTEN, NAMES, TIMES, HowToRead, plain_name, rows_as_written
from model.units import unit_told

ROWS_TRIED: Final = 60
FLOW_WORDS: Final = ("inflow", "flow", "discharge", "runoff", "volume", "q")


@dataclass(frozen=True, slots=True)
class FirstLook:
    """A file before it is read."""

    titles: tuple[str, ...]  # of its columns, as written
    rows: tuple[tuple[str, ...], ...]  # the first ones under them
    time: str  # title of the column that seems to say when; empty where none does
    flow: str  # of the column that seems to be the flow
    unit: str  # of it, as its title says; empty where it does not
    daily: bool  # whether rows seem to be days
    plain: bool  # whether the file's own titles say it all

    def others(self) -> dict[str, str]:
        """Return the other columns that their titles tell, our names by title."""
        known = {title: plain_name(title) for title in self.titles}
        return {title: name for title, name in known.items() if name in OPTIONAL_COLUMNS}


def first_look(data: bytes, how: HowToRead = AS_WRITTEN) -> FirstLook:
    """Look at a file before it is read.

    Parameters
    ----------
    data
        The file's bytes.
    how
        Its sheet, where the person names one; columns and unit are what is looked for here.

    Raises
    ------
    RecordError
        It is no table.
    """
    header, *rows = rows_as_written(data, is_inflow, how)
    titles = tuple(title for title in header if title)
    cells = {
        title: [row[at] for row in rows[:ROWS_TRIED] if at < len(row) and row[at]]
        for at, title in enumerate(header)
        if title
    }
    time = _time(cells)
    flow = _flow({title: column for title, column in cells.items() if title != time})
    names = [plain_name(title) for title in titles]
    return FirstLook(
        titles,
        tuple(
            tuple(cell for cell, title in zip(row, header, strict=False) if title)
            for row in rows[:ROWS_TRIED]
        ),
        time,
        flow,
        unit_told(plain_name(flow)),
        _is_daily(cells.get(time, ())),
        plain=any(name in ("month", "date") for name in names)
        and sum(is_inflow(name) for name in names) == 1,
    )


def columns_said(look: FirstLook, time: str, flow: str) -> tuple[tuple[str, str], ...]:
    """Return which column holds what, once the person has said so; none where titles say it all."""
    if look.plain and (time, flow) == (look.time, look.flow):
        return ()
    names = ("date", "flow") if look.daily else ("month", "inflow")
    return tuple((NAMES[name], title) for name, title in zip(names, (time, flow), strict=True))


def _time(cells: dict[str, list[str]]) -> str:
    """Return the title of the column that seems to say when."""
    named = [title for title in cells if plain_name(title) in TIMES]
    read = [title for title, column in cells.items() if column and _are_moments(column)]
    return next(iter([*(title for title in named if title in read), *read, *named]), "")


def _are_moments(column: Sequence[str]) -> bool:
    """Return whether cells are months or days, most of them."""
    found = moments_of(column, "month").moments
    return sum(moment is not None for moment in found) > len(column) // 2


def _flow(cells: dict[str, list[str]]) -> str:
    """Return the title of the column that seems to be the flow: by its name, else the first.

    Most of its cells are numbers: a few that are none are faults to be told, not another column.
    """
    numeric = [
        title
        for title, column in cells.items()
        if sum(map(is_number_like, column)) > len(column) // 2 and not _is_other(title)
    ]
    by_name = [title for title in numeric if is_inflow(plain_name(title))]
    by_word = [title for title in numeric if set(plain_name(title).split("_")) & set(FLOW_WORDS)]
    return next(iter([*by_name, *by_word, *numeric]), "")


def _is_other(title: str) -> bool:
    return plain_name(title) in OPTIONAL_COLUMNS


def _is_daily(column: Sequence[str]) -> bool:
    """Return whether some month comes twice, as in a file of days."""
    months = [moment[0] for moment in moments_of(column, "month").moments if moment is not None]
    return len(set(months)) < math.ceil(len(months) / 2)
