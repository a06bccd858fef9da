"""Which months does a table hold, and what does it say of each?

A table of months has `month` (or `date`, or `year` and `month`) and an inflow; one of days has
`date` and a flow, and is summed to months (`daily`). The unit stands in the column's name
(`inflow_ml`, `flow_m3_per_s`) or is said by the person. Rows whose month cannot be read, or stands
already, are noted and left out; all others are read to the end, so that every fault of a file is
told at once.
"""

from __future__ import annotations

import calendar
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.errors import Fault
from model.record.dates import month_number
from model.record.reading import HowToRead
from model.record.table import Table
from model.units import UNITS_IN_WORDS, ml_per_unit
from model.water_year import MONTHS_IN_YEAR, format_month

OPTIONAL_COLUMNS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "tributary_ml": "ML in the month",
        "lake_rain_mm": "mm in the month",
        "lake_evaporation_mm": "mm in the month",
        "farm_rain_mm": "mm in the month",
        "farm_eto_mm": "mm in the month",
        "farm_warmest_c": "degrees Celsius, mean of the days' highest",
        "farm_coolest_c": "degrees Celsius, mean of the days' lowest",
    }
)
"""Columns a record may carry beside the inflow; where absent, the plan's own values serve."""

TEMPERATURES: Final = frozenset({"farm_warmest_c", "farm_coolest_c"})
COLDEST_C: Final = -60.0

_FEWEST_MONTH_COLUMNS: Final = 10


@dataclass(frozen=True, slots=True)
class MonthlyValues:
    """What a file says, month by month, in the order of its rows."""

    months: list[int] = field(default_factory=list)  # month numbers
    values: dict[str, NDArray[np.float64]] = field(default_factory=dict)  # NaN where blank
    row_of_month: dict[int, int] = field(default_factory=dict)  # as a spreadsheet counts
    told: frozenset[tuple[int, str]] = frozenset()  # months and columns whose fault is noted
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Columns:
    """Which columns of a table say when and how much."""

    time: str
    inflow: str
    unit: str  # of inflow, and of the tributary
    daily: bool


def is_inflow(name: str) -> bool:
    """Return whether a column of this name holds inflow or flow in a known unit.

    Examples
    --------
    >>> [name for name in ("inflow_ml", "inflow_gl", "flow_cumecs", "q") if is_inflow(name)]
    ['inflow_ml', 'inflow_gl', 'flow_cumecs']
    """
    quantity, _, unit = name.partition("_")
    return quantity in ("inflow", "flow") and ml_per_unit(unit, 1) is not None


def columns_of(table: Table, how: HowToRead) -> Columns | None:
    """Find the columns that say when and how much; note what is missing or there twice.

    Rows with a year and a month apart are given one column, `month` or `date`.
    """
    if table.faults or not table.header:
        return None
    _join_year_and_month(table)
    times = [name for name in ("month", "date") if name in table.header]
    inflows = [name for name in table.header if is_inflow(name)]
    if len(_month_columns(table)) >= _FEWEST_MONTH_COLUMNS:
        problem = "it has a row a year and a column a month"
        table.faults.append(Fault("the header", "", problem, "a row a month: month and inflow_ml"))
        return None
    if not times or not inflows:
        inflow = "flow_ml_per_day" if times == ["date"] else "inflow_ml"
        _say_missing(table, "" if times else "month", "" if inflows else inflow)
        return None
    if len(inflows) > 1:
        where = f"columns {' and '.join(inflows)}"
        allowed = "one of them: leave the others out, or --columns inflow=NAME"
        table.faults.append(Fault(where, "", "there is more than one flow", allowed))
        return None
    quantity, _, unit = inflows[0].partition("_")
    if how.unit and ml_per_unit(how.unit, 1) is None:
        table.faults.append(Fault("--unit", how.unit, "it is not a known unit", UNITS_IN_WORDS))
        return None
    daily = times[0] == "date" and quantity == "flow"
    return Columns(times[0], inflows[0], how.unit or unit, daily)


def months_from_rows(table: Table, columns: Columns) -> MonthlyValues:
    """Read the months and all numeric columns of a monthly table; note every fault in it."""
    kept, months, unsure = _months(table, columns.time)
    lines = [table.lines[row] for row in kept]
    month_of_line = dict(zip(lines, months, strict=True))
    values, told = {}, {(month, "month") for month in unsure}
    for name in table.header:
        known = name == columns.inflow or name in OPTIONAL_COLUMNS
        if name in ("month", "date") or (not known and _left_out(table, name)):
            continue
        unit = OPTIONAL_COLUMNS.get(name, f"{columns.unit} in the month".replace("ml ", "ML "))
        lowest = COLDEST_C if name in TEMPERATURES else 0.0 if known else -math.inf
        numbers, at_fault = table.numbers(name, lowest=lowest, unit=unit)
        filed = "inflow_ml" if name == columns.inflow else name
        values[filed] = np.array(numbers, dtype=np.float64)[kept]
        if filed in ("inflow_ml", "tributary_ml"):
            values[filed] = values[filed] * _ml_of_each(months, columns.unit)
        told |= {(month_of_line[line], filed) for line in at_fault if line in month_of_line}
    row_of_month = dict(zip(months, lines, strict=True))
    return MonthlyValues(months, values, row_of_month, frozenset(told), tuple(table.notes))


def days_of_month(month: int) -> int:
    """Return the days of a month number."""
    return calendar.monthrange(month // MONTHS_IN_YEAR, month % MONTHS_IN_YEAR + 1)[1]


def _ml_of_each(months: list[int], unit: str) -> NDArray[np.float64]:
    """Return how many ML one of the unit is in each month."""
    each = [ml_per_unit(unit, days_of_month(month)) for month in months]
    return np.array(each, dtype=np.float64)


def _left_out(table: Table, name: str) -> bool:
    """Return whether a column holds no numbers; say that it is left out."""
    if not table.is_text(name):
        return False
    table.notes.append(f"the column {name} holds no numbers and is left out")
    return True


def _month_columns(table: Table) -> list[str]:
    """List the columns that are named as a month of the calendar."""
    return [name for name in table.header if name.isalpha() and month_number(name)]


def _join_year_and_month(table: Table) -> None:
    """Make one column of a year, a month and, where there is one, a day."""
    if not {"year", "month"} <= set(table.header):
        return
    parts = [name for name in ("year", "month", "day") if name in table.header]
    texts = [table.column(name) for name in parts]
    joined = ["-".join(row) if all(row) else "" for row in zip(*texts, strict=True)]
    keep = [at for at, name in enumerate(table.header) if name not in parts]
    table.header = ["date" if "day" in parts else "month", *(table.header[at] for at in keep)]
    table.cells = [
        [moment, *(row[at] for at in keep)] for moment, row in zip(joined, table.cells, strict=True)
    ]


def _say_missing(table: Table, *names: str) -> None:
    """Note a column that is wanted and not there."""
    told = {
        "month": "--columns month=NAME",
        "inflow_ml": "--columns inflow=NAME --unit UNIT",
        "flow_ml_per_day": "--columns flow=NAME --unit UNIT (inflow=NAME for a row a month)",
    }
    for name in filter(None, names):
        problem = f"the column {name} is missing"
        allowed = f"{name}, or say which column it is: {told[name]}"
        table.faults.append(Fault("the header", ", ".join(table.header), problem, allowed))


def _months(table: Table, time: str) -> tuple[list[int], list[int], set[int]]:
    """Return the rows that can be kept and their months; note the others.

    Return also the months that are missing where a row could not be kept: likely that row's own.
    """
    kept: list[int] = []
    months: list[int] = []
    left_out_at: list[int] = []
    seen: dict[int, int] = {}
    texts = table.column(time)
    for row, moment in enumerate(table.moments(time, "month")):
        line, text = table.lines[row], texts[row]
        if moment is None:
            left_out_at.append(len(months))
            continue
        month = moment[0]
        if month in seen:
            problem = f"the month stands twice, first in row {seen[month]}"
            table.fault(line, time, text, problem, "each month once")
            left_out_at.append(len(months))
            continue
        if months and month < months[-1]:
            problem = f"it comes after {format_month(months[-1])}"
            table.fault(line, time, text, problem, "months in the order of time")
        seen[month] = line
        kept.append(row)
        months.append(month)
    unsure = {
        month
        for at in left_out_at
        if 0 < at < len(months)
        for month in range(months[at - 1] + 1, months[at])
    }
    return kept, months, unsure
