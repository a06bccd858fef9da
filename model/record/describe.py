"""What kind of river is this: how dry, how variable, how long do its dry runs last?

All yearly figures are of July-June totals of complete water years. Dry means below the median year.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.memory import (
    has_spread,
    hurst_k,
    lag_correlation,
    one_shift,
    optimal_block_years,
    shift_explains_persistence,
)
from model.record.record import FloatArray, Record
from model.water_year import water_year_label

HURST_K_DEFINITION: Final = (
    "K = ln(R/S) / ln(n/2), R the adjusted range, S the standard deviation over n (Hurst 1951)"
)
LONGEST_DRY_STRETCH_YEARS: Final = 3


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of water years, by its first and last."""

    years: int
    first: str
    last: str
    share_of_mean: float  # its mean yearly inflow over that of all years


@dataclass(frozen=True, slots=True)
class Description:
    """A record in figures."""

    complete_years: int
    first_year: str
    last_year: str
    mean_ml: float
    cv: float  # standard deviation over n - 1, by the mean
    lag_1: float
    skew: float  # third moment by the 1.5th power of the second, both over n
    hurst_k: float
    longest_dry_run: Stretch | None  # None where no year lies below the median
    driest: tuple[Stretch, ...]  # of 1, 2 and 3 years
    block_years: float  # block length the data ask for (stationary)
    warnings: tuple[str, ...]


def describe_record(record: Record) -> Description:
    """Describe the inflow of a record.

    Returns
    -------
    Description
        `cv`, `skew` and `hurst_k` are not numbers where all years are alike (or all zero).

    Examples
    --------
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> found = describe_record(record)
    >>> found.complete_years, found.longest_dry_run.years
    (131, 8)
    """
    months, totals_ml = record.water_year_totals_ml()
    labels = [water_year_label(int(month)) for month in months]
    mean_ml, years = float(totals_ml.mean()), totals_ml.size
    spread = float(totals_ml.std()) if has_spread(totals_ml) else 0.0
    return Description(
        complete_years=years,
        first_year=labels[0],
        last_year=labels[-1],
        mean_ml=mean_ml,
        cv=spread * math.sqrt(years / (years - 1)) / mean_ml if mean_ml > 0.0 else math.nan,
        lag_1=lag_correlation(totals_ml),
        skew=float(np.mean((totals_ml - mean_ml) ** 3)) / spread**3 if spread else math.nan,
        hurst_k=hurst_k(totals_ml),
        longest_dry_run=_longest_dry_run(totals_ml, labels),
        driest=tuple(
            driest_stretch(totals_ml, labels, length)
            for length in range(1, LONGEST_DRY_STRETCH_YEARS + 1)
        ),
        block_years=max(1.0, optimal_block_years(totals_ml).stationary),
        warnings=_warnings(record, totals_ml, labels),
    )


def driest_stretch(totals_ml: FloatArray, labels: list[str], years: int) -> Stretch:
    """Find the consecutive years with the least inflow; the first of them where several tie."""
    sums = np.lib.stride_tricks.sliding_window_view(totals_ml, years).sum(axis=1)
    return _stretch(totals_ml, labels, int(np.argmin(sums)), years)


def _longest_dry_run(totals_ml: FloatArray, labels: list[str]) -> Stretch | None:
    """Find the longest run of years below the median; the first of them where several tie."""
    dry = totals_ml < np.median(totals_ml)
    ends = np.flatnonzero(np.diff(np.concatenate([[0], dry.astype(int), [0]])))
    firsts, lasts = ends[::2], ends[1::2]
    if firsts.size == 0:
        return None
    longest = int(np.argmax(lasts - firsts))
    return _stretch(totals_ml, labels, int(firsts[longest]), int((lasts - firsts)[longest]))


def _stretch(totals_ml: FloatArray, labels: list[str], first: int, years: int) -> Stretch:
    mean_ml = float(totals_ml.mean())
    share = float(totals_ml[first : first + years].mean()) / mean_ml if mean_ml > 0 else math.nan
    return Stretch(years, labels[first], labels[first + years - 1], share)


def _warnings(record: Record, totals_ml: FloatArray, labels: list[str]) -> tuple[str, ...]:
    """Describe what a reader of this record must know."""
    warnings = [
        f"{cells} cells of {column} were filled, not observed"
        for column, cells in record.filled.items()
    ]
    if not totals_ml.any():
        warnings.append("the record holds no inflow at all")
    if shift_explains_persistence(totals_ml):
        shift = one_shift(totals_ml)
        warnings.append(
            f"one shift of the mean after {labels[shift.years_before - 1]} "
            f"(from {shift.mean_before:,.0f} to {shift.mean_after:,.0f} ML a year) explains the "
            "likeness of neighbouring years: look for a change of river, gauge or use there before "
            "trusting dry runs drawn from the whole record"
        )
    return tuple(warnings)
