"""How daily flow becomes monthly volume, and which months have enough days?

A month's volume is the sum of its days. Where no more than a stated share of its days is missing,
the days there are stand for those that are not (their mean times the days of the month), and the
month is counted. A month with more missing is missing as a whole, and the record's fill policy
decides. Broken months at the ends of the file are left off, and said.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
import re

import numpy as np
from numpy.typing import NDArray

from model.record.monthly_table import MonthlyValues
from model.record.table import Table, require_columns
from model.units import ML_PER_DAY_PER_M3_PER_S
from model.water_year import MONTHS_IN_YEAR, format_month

_DATE_TEXT = re.compile(r"\d{4}-\d{2}-\d{2}")
_ML_PER_DAY_OF_COLUMN = {"flow_ml_per_day": 1.0, "flow_m3_per_s": ML_PER_DAY_PER_M3_PER_S}


def is_daily(table: Table) -> bool:
    """Tell whether a table is one of days: it has a `date` and no `month`."""
    return "date" in table.header and "month" not in table.header


def months_from_days(table: Table, *, missing_days_frac: float) -> MonthlyValues:
    """Sum the days of a table to months.

    Parameters
    ----------
    table
        Columns `date` (YYYY-MM-DD) and either `flow_ml_per_day` or `flow_m3_per_s`. Faults are
        noted in it.
    missing_days_frac
        Share of a month's days that may be missing, 0 to 1.

    Returns
    -------
    MonthlyValues
        `inflow_ml` of each month, NaN where too many days are missing; a month with a cell at
        fault counts as told.
    """
    column = _flow_column(table)
    require_columns(table, ("date", column))
    if not {"date", column} <= set(table.header):
        return MonthlyValues()
    flows, at_fault = table.numbers(column, lowest=0.0, unit="flow on the day")
    by_month: dict[int, list[float]] = {}
    told: set[tuple[int, str]] = set()
    for line, day, flow in zip(table.lines, _dates(table), flows, strict=True):
        if day is None:  # at fault: likely a day of the month before it in the file
            told |= {(month, "inflow_ml") for month in list(by_month)[-1:]}
            continue
        month = day.year * MONTHS_IN_YEAR + day.month - 1
        by_month.setdefault(month, [])
        if line in at_fault:
            told.add((month, "inflow_ml"))
        elif not math.isnan(flow):
            by_month[month].append(flow * _ML_PER_DAY_OF_COLUMN[column])
    if not by_month:
        return MonthlyValues()
    months, volumes_ml, notes = _volumes(by_month, missing_days_frac)
    unused = [name for name in table.header if name not in ("date", column)]
    if unused:
        notes.append(f"other columns of a daily file are not used: {', '.join(unused)}")
    values = {"inflow_ml": volumes_ml}
    return MonthlyValues(months, values, told=frozenset(told), notes=tuple(notes))


def _volumes(
    by_month: dict[int, list[float]], missing_days_frac: float
) -> tuple[list[int], NDArray[np.float64], list[str]]:
    """Sum each month's days, and leave off broken months at either end."""
    months = list(by_month)
    volumes_ml, scaled = [], 0
    for month, flows in by_month.items():
        days = calendar.monthrange(month // MONTHS_IN_YEAR, month % MONTHS_IN_YEAR + 1)[1]
        missing = days - len(flows)
        if missing > missing_days_frac * days or not flows:
            volumes_ml.append(math.nan)
            continue
        scaled += missing > 0
        volumes_ml.append(math.fsum(flows) * days / len(flows))
    notes = []
    if scaled:
        notes.append(f"{scaled} months had days missing and were scaled up from the days there are")
    for end, name in ((0, "first"), (-1, "last")):
        if len(months) > 1 and math.isnan(volumes_ml[end]):
            notes.append(f"the broken {name} month {format_month(months.pop(end))} was left off")
            volumes_ml.pop(end)
    return months, np.array(volumes_ml), notes


def _flow_column(table: Table) -> str:
    """Say which flow column the table has; one of the two is wanted, not both."""
    found = [name for name in _ML_PER_DAY_OF_COLUMN if name in table.header]
    if len(found) > 1:
        table.fault(1, "flow_m3_per_s", "", "there are two flow columns", "one of them")
    return found[0] if found else "flow_ml_per_day"


def _dates(table: Table) -> list[dt.date | None]:
    """Read the date of each row; note those that are none, stand twice or out of order."""
    days: list[dt.date | None] = []
    latest: dt.date | None = None
    for line, text in zip(table.lines, table.column("date"), strict=True):
        day = _date(text)
        if day is None:
            table.fault(line, "date", text, "it is not a date", "YYYY-MM-DD, such as 1987-03-21")
        elif latest is not None and day == latest:
            table.fault(line, "date", text, "the day stands twice", "each day once")
            day = None
        elif latest is not None and day < latest:
            problem = f"it comes after {latest.isoformat()}"
            table.fault(line, "date", text, problem, "days in the order of time")
            day = None
        days.append(day)
        latest = day or latest
    return days


def _date(text: str) -> dt.date | None:
    """Read a date written YYYY-MM-DD, and in no other way."""
    if not _DATE_TEXT.fullmatch(text):
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return None
