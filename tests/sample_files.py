"""Small record and plan files as a person would make them, for tests to read and to spoil.

A row is named as a spreadsheet shows it: the header is row 1.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection
from pathlib import Path

from model.water_year import format_month, parse_month

FIRST_MONTH = "1990-07"
YEARS = 22
CONTRACT = Path(__file__).parent / "reference" / "contract"


def inflow_ml(row: int) -> float:
    """Return the inflow of a month, counted from 0: no two months alike."""
    return 100.0 + row


def monthly_csv(
    *,
    first: str = FIRST_MONTH,
    months: int = 12 * YEARS,
    inflow: Callable[[int], object] = inflow_ml,
    **columns: Callable[[int], object],
) -> str:
    """Write a record of months; each column is a function of the month, counted from 0."""
    values = {"inflow_ml": inflow, **columns}
    lines = [",".join(("month", *values))]
    for row in range(months):
        cells = (str(value_of(row)) for value_of in values.values())
        lines.append(",".join((format_month(parse_month(first) + row), *cells)))
    return "\n".join(lines) + "\n"


def daily_csv(
    *,
    first: str = "1990-07-01",
    last: str = "2012-06-30",
    column: str = "flow_ml_per_day",
    flow: Callable[[dt.date], object] = lambda day: 10 + day.day,
    leave_out: Collection[str] = (),
) -> str:
    """Write a record of days; the flow is a function of the day."""
    lines = [f"date,{column}"]
    day, end = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    while day <= end:
        if day.isoformat() not in leave_out:
            lines.append(f"{day.isoformat()},{flow(day)}")
        day += dt.timedelta(days=1)
    return "\n".join(lines) + "\n"


def with_row(text: str, row: int, *new: str) -> str:
    """Put other lines (or none) in place of a row."""
    lines = text.splitlines()
    lines[row - 1 : row] = new
    return "\n".join(lines) + "\n"


def plan_text(name: str = "plan.toml") -> str:
    """Return the text of a reference plan."""
    return (CONTRACT / name).read_text(encoding="utf-8")


def changed(text: str, old: str, new: str) -> str:
    """Put one piece of a text in place of another that stands in it once."""
    if text.count(old) != 1:
        raise ValueError(f"{old!r} stands {text.count(old)} times in the text")
    return text.replace(old, new)
