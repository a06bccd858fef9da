"""How does daily flow become monthly volume, and which months have enough days?

A month's volume is the sum of its days. Where no more than a stated share of its days is missing,
the days there are stand for those that are not (their mean times the days of the month), and the
month is counted. A month with more missing is missing as a whole, and the record's fill policy
decides. Broken months at the ends of the file are left off, and said.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from model.record.months import Columns, MonthlyValues, days_of_month
from model.record.table import Table
from model.units import ml_per_unit
from model.water_year import format_month


def months_from_days(table: Table, columns: Columns, *, missing_days_frac: float) -> MonthlyValues:
    """Sum the days of a table to months.

    Parameters
    ----------
    table
        Faults are noted in it.
    columns
        Which of its columns are the day and the flow, and the flow's unit.
    missing_days_frac
        Share of a month's days that may be missing, 0 to 1.

    Returns
    -------
    MonthlyValues
        `inflow_ml` of each month, NaN where too many days are missing; a month with a cell at
        fault counts as told.
    """
    flows, at_fault = table.numbers(columns.inflow, lowest=0.0, unit="flow on the day")
    ml_per_day = ml_per_unit(columns.unit, 1) or math.nan
    by_month: dict[int, list[float]] = {}
    told: set[tuple[int, str]] = set()
    for line, month, flow in zip(table.lines, _months(table, columns.time), flows, strict=True):
        if month is None:  # at fault: likely a day of the month before it in the file
            told |= {(month, "inflow_ml") for month in list(by_month)[-1:]}
            continue
        by_month.setdefault(month, [])
        if line in at_fault:
            told.add((month, "inflow_ml"))
        elif not math.isnan(flow):
            by_month[month].append(flow * ml_per_day)
    if not by_month:
        return MonthlyValues()
    months, volumes_ml, notes = _volumes(by_month, missing_days_frac)
    unused = [name for name in table.header if name not in (columns.time, columns.inflow)]
    if unused:
        notes.append(f"other columns of a daily file are not used: {', '.join(unused)}")
    values = {"inflow_ml": volumes_ml}
    return MonthlyValues(months, values, told=frozenset(told), notes=(*table.notes, *notes))


def _volumes(
    by_month: dict[int, list[float]], missing_days_frac: float
) -> tuple[list[int], NDArray[np.float64], list[str]]:
    """Sum each month's days, and leave off broken months at either end."""
    months = list(by_month)
    volumes_ml, scaled = [], 0
    for month, flows in by_month.items():
        days = days_of_month(month)
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


def _months(table: Table, time: str) -> list[int | None]:
    """Return the month of each day, None where it is no day, stands twice or out of order."""
    months: list[int | None] = []
    latest = (0, 0)
    texts = table.column(time)
    for line, text, day in zip(table.lines, texts, table.moments(time, "day"), strict=True):
        month = day and day[0]
        if day is not None and day == latest:
            table.fault(line, time, text, "the day stands twice", "each day once")
            month = None
        elif day is not None and day < latest:
            problem = f"it comes after {format_month(latest[0])}-{latest[1]:02d}"
            table.fault(line, time, text, problem, "days in the order of time")
            month = None
        months.append(month)
        latest = day if month is not None and day else latest
    return months
