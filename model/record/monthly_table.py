"""Which month does each row of a table speak of, and what does it say of it?

Rows whose month cannot be read, or stands already, are noted as faults and left out; all others are
read to the end, so that every fault of a file is told at once. What is told is remembered, so that
it is not told a second time as something missing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.record.table import Table, require_columns
from model.water_year import format_month, parse_month

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


@dataclass(frozen=True, slots=True)
class MonthlyValues:
    """What a file says, month by month, in the order of its rows."""

    months: list[int] = field(default_factory=list)  # month numbers
    values: dict[str, NDArray[np.float64]] = field(default_factory=dict)  # NaN where blank
    row_of_month: dict[int, int] = field(default_factory=dict)  # as a spreadsheet counts
    told: frozenset[tuple[int, str]] = frozenset()  # months and columns whose fault is noted
    notes: tuple[str, ...] = ()


def months_from_rows(table: Table) -> MonthlyValues:
    """Read the months and all numeric columns of a monthly table; note every fault in it."""
    require_columns(table, ("month", "inflow_ml"))
    if "month" not in table.header:
        return MonthlyValues()
    kept, months, unsure = _months(table)
    lines = [table.lines[row] for row in kept]
    month_of_line = dict(zip(lines, months, strict=True))
    values, told = {}, {(month, "month") for month in unsure}
    for name in table.header:
        if name in ("month", ""):
            continue
        known = name == "inflow_ml" or name in OPTIONAL_COLUMNS
        unit = OPTIONAL_COLUMNS.get(name, "ML in the month")
        lowest = COLDEST_C if name in TEMPERATURES else 0.0 if known else -math.inf
        numbers, at_fault = table.numbers(name, lowest=lowest, unit=unit)
        values[name] = np.array(numbers, dtype=np.float64)[kept]
        told |= {(month_of_line[line], name) for line in at_fault if line in month_of_line}
    row_of_month = dict(zip(months, lines, strict=True))
    return MonthlyValues(months, values, row_of_month, frozenset(told))


def _months(table: Table) -> tuple[list[int], list[int], set[int]]:
    """Give the rows that can be kept and their months; note the others.

    Give also the months that are missing where a row could not be kept: likely that row's own.
    """
    kept: list[int] = []
    months: list[int] = []
    left_out_at: list[int] = []
    seen: dict[int, int] = {}
    for row, (line, text) in enumerate(zip(table.lines, table.column("month"), strict=True)):
        try:
            month = parse_month(text)
        except ValueError:
            table.fault(line, "month", text, "it is not a month", "YYYY-MM, such as 1987-03")
            left_out_at.append(len(months))
            continue
        if month in seen:
            problem = f"the month stands twice, first in row {seen[month]}"
            table.fault(line, "month", text, problem, "each month once")
            left_out_at.append(len(months))
            continue
        if months and month < months[-1]:
            problem = f"it comes after {format_month(months[-1])}"
            table.fault(line, "month", text, problem, "months in the order of time")
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
