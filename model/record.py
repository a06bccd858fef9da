"""What was observed, month by month, and may it be used?

A record is one row a month, consecutive, in the order of time. It is read from a CSV file of
months, or of days that are summed to months (`daily_flow`). All faults are reported at once.
Nothing is filled unless a policy is named, and what is filled is counted. Zero is a real value.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from model.daily_flow import is_daily, months_from_days
from model.errors import Fault, RecordError
from model.files import read_bytes
from model.table import Table, read_table, require_columns
from model.water_year import JULY, MONTHS_IN_YEAR, format_month, month_of_water_year, parse_month

FloatArray = NDArray[np.float64]
FillPolicy = Literal["none", "calendar_month_median"]
FILL_POLICIES: Final[tuple[FillPolicy, ...]] = get_args(FillPolicy)

FEWEST_WATER_YEARS: Final = 20
"""Below this a record says too little about dry runs to resample (the project's own rule)."""

OPTIONAL_COLUMNS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "tributary_ml": "ML in the month",
        "lake_rain_mm": "mm in the month",
        "lake_evaporation_mm": "mm in the month",
        "farm_rain_mm": "mm in the month",
        "farm_eto_mm": "mm in the month",
    }
)
"""Columns a record may carry beside the inflow; where absent, the plan's own values serve."""


@dataclass(frozen=True, slots=True)
class Record:
    """Observed months without a gap.

    Attributes
    ----------
    name
        The file's name.
    sha256
        Hash of the file's bytes: which record a result was made from.
    first_month
        Month number of the first row.
    inflow_ml
        (months,) flow into the dam in the month.
    columns
        The optional columns that the file has, each (months,).
    indices
        Any other numeric columns, each (months,): climate indices.
    filled
        How many cells of each column the fill policy made.
    notes
        What else was done to the file on the way in, in words.
    """

    name: str
    sha256: str
    first_month: int
    inflow_ml: FloatArray
    columns: Mapping[str, FloatArray]
    indices: Mapping[str, FloatArray]
    filled: Mapping[str, int]
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Check lengths and make the arrays read-only."""
        for name, values in {"inflow_ml": self.inflow_ml, **self.columns, **self.indices}.items():
            if values.shape != self.inflow_ml.shape or not np.isfinite(values).all():
                raise ValueError(f"column {name}: one finite number a month is needed")
            values.setflags(write=False)

    @property
    def months(self) -> int:
        """How many months the record holds."""
        return self.inflow_ml.size

    @property
    def last_month(self) -> int:
        """Month number of the last row."""
        return self.first_month + self.months - 1

    @property
    def span(self) -> tuple[str, str]:
        """First and last month, YYYY-MM."""
        return format_month(self.first_month), format_month(self.last_month)

    def months_of_water_year(self) -> NDArray[np.int64]:
        """(months,) the month of the water year of each row, 0 = July."""
        return (np.arange(self.months) + month_of_water_year(self.first_month)) % MONTHS_IN_YEAR

    def slice_starts(self, opening_month: int) -> NDArray[np.int64]:
        """(slices,) the rows at which whole runs of twelve months begin, end to end.

        They begin in the calendar month of `opening_month`, from the record's first such month on.
        """
        first = (opening_month - self.first_month) % MONTHS_IN_YEAR
        slices = max(0, (self.months - first) // MONTHS_IN_YEAR)
        return first + MONTHS_IN_YEAR * np.arange(slices)

    def water_year_totals_ml(self) -> tuple[NDArray[np.int64], FloatArray]:
        """(years,) first month number and July-June inflow total of each complete water year."""
        starts = self.slice_starts(JULY)
        rows = starts[:, None] + np.arange(MONTHS_IN_YEAR)
        return self.first_month + starts, self.inflow_ml[rows].sum(axis=1)


def read_record(path: Path, *, fill: FillPolicy = "none", missing_days_frac: float = 0.0) -> Record:
    """Read a record from a CSV file; see `parse_record`."""
    return parse_record(
        read_bytes(path, "record"), path.name, fill=fill, missing_days_frac=missing_days_frac
    )


def parse_record(
    data: bytes, name: str, *, fill: FillPolicy = "none", missing_days_frac: float = 0.0
) -> Record:
    """Read a record from the bytes of a CSV file.

    Parameters
    ----------
    data
        Months (`month`, `inflow_ml`, optional columns) or days (`date` and `flow_ml_per_day` or
        `flow_m3_per_s`).
    name
        What to call the record.
    fill
        `none` refuses blank cells and missing months; `calendar_month_median` gives them the
        median of the same calendar month over the record, and counts them.
    missing_days_frac
        For days: the share of a month's days that may be missing (0 to 1); the month's total is
        then the mean of the days there are, times the days of the month, and is counted.

    Raises
    ------
    RecordError
        With every fault found: row, column, value and what is allowed.
    """
    table = read_table(data)
    if is_daily(table):
        months, values, notes = months_from_days(table, missing_days_frac=missing_days_frac)
    else:
        months, values, notes = _monthly(table)
    if table.faults:
        raise RecordError(name, table.faults)
    row_of_month = dict(zip(months, table.lines, strict=False)) if not is_daily(table) else {}
    every_month, laid, filled = _without_gaps(months, values, fill, name, row_of_month)
    inflow_ml = laid.pop("inflow_ml")
    record = Record(
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        first_month=int(every_month[0]),
        inflow_ml=inflow_ml,
        columns=MappingProxyType({n: v for n, v in laid.items() if n in OPTIONAL_COLUMNS}),
        indices=MappingProxyType({n: v for n, v in laid.items() if n not in OPTIONAL_COLUMNS}),
        filled=MappingProxyType(filled),
        notes=notes,
    )
    _refuse_short(record)
    return record


def _monthly(table: Table) -> tuple[list[int], dict[str, FloatArray], tuple[str, ...]]:
    """Read the months and all numeric columns of a monthly table."""
    require_columns(table, ("month", "inflow_ml"))
    if table.faults:
        return [], {}, ()
    months = _consecutive_months(table)
    values = {}
    for name in table.header:
        if name == "month":
            continue
        known = name == "inflow_ml" or name in OPTIONAL_COLUMNS
        unit = OPTIONAL_COLUMNS.get(name, "ML in the month")
        numbers = table.numbers(name, lowest=0.0 if known else -math.inf, unit=unit)
        values[name] = np.array(numbers, dtype=np.float64)
    return months, values, ()


def _consecutive_months(table: Table) -> list[int]:
    """Read the months of a table; note those that are no month, stand twice or out of order."""
    months: list[int] = []
    seen: dict[int, int] = {}
    latest = None
    for line, text in zip(table.lines, table.column("month"), strict=True):
        try:
            month = parse_month(text)
        except ValueError:
            table.fault(line, "month", text, "it is not a month", "YYYY-MM, such as 1987-03")
            continue
        if month in seen:
            problem = f"the month stands twice, first in row {seen[month]}"
            table.fault(line, "month", text, problem, "each month once")
        elif latest is not None and month < latest:
            problem = f"it comes after {format_month(latest)}"
            table.fault(line, "month", text, problem, "months in the order of time")
        seen.setdefault(month, line)
        latest = month if latest is None else max(latest, month)
        months.append(month)
    return months


def _without_gaps(
    months: Sequence[int],
    values: Mapping[str, FloatArray],
    fill: FillPolicy,
    name: str,
    row_of_month: Mapping[int, int],
) -> tuple[NDArray[np.int64], dict[str, FloatArray], dict[str, int]]:
    """Lay the rows on consecutive months; refuse what is missing, or fill it by the policy."""
    every_month = np.arange(months[0], months[-1] + 1)
    at = np.array(months) - months[0]
    laid = {column: np.full(every_month.size, np.nan) for column in values}
    for column, numbers in values.items():
        laid[column][at] = numbers
    missing = {column: np.flatnonzero(np.isnan(numbers)) for column, numbers in laid.items()}
    if fill == "none":
        faults = _missing_faults(months, every_month, missing, row_of_month)
        if faults:
            raise RecordError(name, faults)
        return every_month, laid, {}
    for column, rows in missing.items():
        _fill_with_calendar_median(laid[column], rows, name, column)
    return every_month, laid, {column: rows.size for column, rows in missing.items() if rows.size}


def _missing_faults(
    months: Sequence[int],
    every_month: NDArray[np.int64],
    missing: Mapping[str, NDArray[np.int64]],
    row_of_month: Mapping[int, int],
) -> list[Fault]:
    """Name each month that has no row, and each blank cell of the others."""
    allowed = "every month, or a named fill policy (record_fill)"
    given = set(months)
    absent = [month for month in every_month.tolist() if month not in given]
    faults = [Fault(f"month {format_month(m)}", "", "it is missing", allowed) for m in absent]
    for column, rows in missing.items():
        for month in every_month[rows].tolist():
            if month in given:
                row = f"row {row_of_month[month]}, " if month in row_of_month else ""
                where = f"{row}month {format_month(month)}, column {column}"
                faults.append(Fault(where, "", "there is no value", allowed))
    return faults


def _fill_with_calendar_median(
    values: FloatArray, rows: NDArray[np.int64], name: str, column: str
) -> None:
    """Give each missing month the median of its calendar month, in place."""
    for phase in np.unique(rows % MONTHS_IN_YEAR):
        same_month = values[phase::MONTHS_IN_YEAR]
        if np.isnan(same_month).all():
            fault = Fault(
                f"column {column}", "", "one calendar month is missing in every year", "some values"
            )
            raise RecordError(name, [fault])
        same_month[np.isnan(same_month)] = np.nanmedian(same_month)


def _refuse_short(record: Record) -> None:
    """Refuse a record with too few complete water years."""
    years = record.slice_starts(JULY).size
    if years < FEWEST_WATER_YEARS:
        fault = Fault(
            f"{record.span[0]} to {record.span[1]}",
            "",
            f"it holds {years} complete water years (July to June)",
            f"{FEWEST_WATER_YEARS} or more",
        )
        raise RecordError(record.name, [fault])
