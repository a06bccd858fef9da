"""What was observed, month by month, and may it be used?

A record is one row a month, consecutive, in the order of time. It is read from a CSV file or a
workbook of months (`months`), or of days that are summed to months (`daily`). All faults are
reported at once. Nothing is filled unless a policy is named, and what is filled is counted. Zero is
a real value.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from model.errors import Fault, RecordError
from model.files import read_bytes
from model.record.daily import months_from_days
from model.record.months import (
    OPTIONAL_COLUMNS,
    MonthlyValues,
    columns_of,
    is_inflow,
    months_from_rows,
)
from model.record.reading import AS_WRITTEN, HowToRead, read_table
from model.record.table import Table
from model.water_year import JULY, MONTHS_IN_YEAR, format_month, month_of_water_year

FloatArray = NDArray[np.float64]
FillPolicy = Literal["none", "calendar_month_median"]
FILL_POLICIES: Final[tuple[FillPolicy, ...]] = get_args(FillPolicy)

FEWEST_WATER_YEARS: Final = 20
"""Below this a record says too little about dry runs to resample (the project's own rule)."""

MOST_FILLED_FRAC: Final = 0.1
"""Beyond this a column is more made than observed (the project's own rule)."""


_MONTHS_NAMED: Final = 3


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
    def values_sha256(self) -> str:
        """Hash of what was read: one file can be read in several ways."""
        values = {"inflow_ml": self.inflow_ml, **self.columns, **self.indices}
        digest = hashlib.sha256(str(self.first_month).encode())
        for name, numbers in values.items():
            digest.update(name.encode() + numbers.tobytes())
        return digest.hexdigest()

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


def read_record(
    path: Path,
    *,
    fill: FillPolicy = "none",
    missing_days_frac: float = 0.0,
    how: HowToRead = AS_WRITTEN,
) -> Record:
    """Read a record from a file; see `parse_record`.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> read_record(demonstration_plan().parent / "demonstration_record.csv").span
    ('1894-07', '2025-08')
    """
    return parse_record(
        read_bytes(path, "record"),
        path.name,
        fill=fill,
        missing_days_frac=missing_days_frac,
        how=how,
    )


def parse_record(
    data: bytes,
    name: str,
    *,
    fill: FillPolicy = "none",
    missing_days_frac: float = 0.0,
    how: HowToRead = AS_WRITTEN,
) -> Record:
    r"""Read a record from the bytes of a CSV file or an XLSX workbook.

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
    how
        What the person says of the file: columns, unit, sheet, decimal mark.

    Raises
    ------
    RecordError
        With every fault found: row, column, value and what is allowed.

    Examples
    --------
    >>> months = [f"{year}-{month:02d},10" for year in range(1980, 2005) for month in range(1, 13)]
    >>> record = parse_record("\n".join(["month,inflow_ml", *months]).encode(), "ours.csv")
    >>> record.months, record.span
    (300, ('1980-01', '2004-12'))
    """
    table = read_table(data, is_inflow, how)
    found = _found(table, how, missing_days_frac)
    every_month, laid = _on_every_month(found)
    missing = {column: np.flatnonzero(np.isnan(numbers)) for column, numbers in laid.items()}
    faults = [*table.all_faults(), *_too_short(every_month)]
    if fill == "none":
        faults += _missing_faults(found, every_month, missing)
    else:
        faults += _fill_with_calendar_median(laid, missing)
    if faults:
        raise RecordError(name, faults)
    filled = {column: rows.size for column, rows in missing.items() if rows.size}
    inflow_ml = laid.pop("inflow_ml")
    return Record(
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        first_month=int(every_month[0]),
        inflow_ml=inflow_ml,
        columns=MappingProxyType({n: v for n, v in laid.items() if n in OPTIONAL_COLUMNS}),
        indices=MappingProxyType({n: v for n, v in laid.items() if n not in OPTIONAL_COLUMNS}),
        filled=MappingProxyType(filled),
        notes=found.notes,
    )


def _found(table: Table, how: HowToRead, missing_days_frac: float) -> MonthlyValues:
    """Return what a table of months or of days says, month by month."""
    columns = columns_of(table, how)
    if columns is None:
        return MonthlyValues()
    if columns.daily:
        return months_from_days(table, columns, missing_days_frac=missing_days_frac)
    return months_from_rows(table, columns)


def _on_every_month(found: MonthlyValues) -> tuple[NDArray[np.int64], dict[str, FloatArray]]:
    """Return what was found on consecutive months, NaN where there is nothing."""
    if not found.months:
        return np.empty(0, dtype=np.int64), {}
    every_month = np.arange(min(found.months), max(found.months) + 1)
    at = np.array(found.months) - every_month[0]
    laid = {column: np.full(every_month.size, np.nan) for column in found.values}
    for column, numbers in found.values.items():
        laid[column][at] = numbers
    return every_month, laid


def _missing_faults(
    found: MonthlyValues,
    every_month: NDArray[np.int64],
    missing: Mapping[str, NDArray[np.int64]],
) -> list[Fault]:
    """Name each month that has no row, and each blank cell of the others."""
    given = set(found.months)
    absent = [
        month
        for month in every_month.tolist()
        if month not in given and (month, "month") not in found.told
    ]
    faults = [_missing(absent, "", "it is missing")] if absent else []
    for column, rows in missing.items():
        blank = [
            month
            for month in every_month[rows].tolist()
            if month in given and (month, column) not in found.told
        ]
        if blank:
            row = f"row {found.row_of_month[blank[0]]}, " if found.row_of_month else ""
            faults.append(_missing(blank, f", column {column}", "there is no value", row))
    return faults


def _missing(months: Sequence[int], column: str, problem: str, row: str = "") -> Fault:
    """Return one fault for months without a value: the first of them named, the rest counted."""
    named = ", ".join(format_month(month) for month in months[:_MONTHS_NAMED])
    more = len(months) - _MONTHS_NAMED
    named += f" and {more:,} more" if more > 0 else ""
    where = f"{row}month{'s' if len(months) > 1 else ''} {named}{column}"
    return Fault(where, "", problem, "every month, or a named fill policy (record_fill)")


def _fill_with_calendar_median(
    laid: Mapping[str, FloatArray], missing: Mapping[str, NDArray[np.int64]]
) -> list[Fault]:
    """Return each missing month the median of its calendar month, in place; say what cannot be."""
    faults = []
    for column, rows in missing.items():
        values = laid[column]
        if rows.size > MOST_FILLED_FRAC * values.size:
            faults.append(
                Fault(
                    f"column {column}",
                    "",
                    f"{rows.size:,} of {values.size:,} months would be filled, not observed",
                    f"at most {MOST_FILLED_FRAC:.0%} of the months missing",
                )
            )
            continue
        for phase in np.unique(rows % MONTHS_IN_YEAR):
            same_month = values[phase::MONTHS_IN_YEAR]
            unknown = np.isnan(same_month)
            if unknown.all():
                problem = "one calendar month is missing in every year"
                faults.append(Fault(f"column {column}", "", problem, "some observed values"))
                continue
            same_month[unknown] = np.median(same_month[~unknown])
    return faults


def _too_short(every_month: NDArray[np.int64]) -> list[Fault]:
    """Refuse too few complete water years."""
    if every_month.size == 0:
        return []
    to_july = (JULY - int(every_month[0])) % MONTHS_IN_YEAR
    years = max(0, (every_month.size - to_july) // MONTHS_IN_YEAR)
    if years >= FEWEST_WATER_YEARS:
        return []
    first, last = format_month(int(every_month[0])), format_month(int(every_month[-1]))
    problem = f"it holds {years} complete water years (July to June)"
    return [Fault(f"{first} to {last}", "", problem, f"{FEWEST_WATER_YEARS} or more")]
