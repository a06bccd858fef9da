"""How is an amount spread over sequences, and how sure is that?

Mean, quantiles and the mean of the worst tenth, each with the error of the draws and that of the
record (its years resampled in blocks, and all run again).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from model.decide.risk import worst_mean, worst_mean_error
from model.outlook.chances import (
    CONFIDENCE_TAILS,
    QUANTILES,
    Bounds,
    Estimate,
    Spread,
    quantiles_of_rows,
    spread,
    widened_amount,
)
from model.outlook.outlook import RecordResampling
from model.record.memory import TWO_SIDED_95_Z
from model.record.record import FloatArray

BAD_WHEN_HIGH: Final = frozenset(
    {
        "water_lost_ml",
        "water_spilled_ml",
        "costs_aud",
        "peak_overdraft_aud",
        "past_limit_aud",
        "tax_owing_aud",
        "arrears_aud",
        "principal_put_off_aud",
        "debt_service_aud",
        "debt_aud",
        "loan_to_value_frac",
        "owed_beyond_terms_aud",
        "farms_missing",
        "farms_past_limit",
    }
)
"""Of these the worst tenth is the highest."""


@dataclass(frozen=True, eq=False)
class Amount:
    """How an amount is spread, over the sequences in which there is one.

    Spread, mean and worst tenth are each worked out when asked for: a page asks for few of many.
    """

    sequences_frac: float  # in which there is such an amount
    high_is_bad: bool
    widened_by: float  # how far the record's intervals are
    known: Callable[[], tuple[FloatArray, FloatArray]]
    """Gives (sequence,) those there are, and (resample, draw) of the records that have some."""

    @cached_property
    def spread(self) -> Spread:
        """The quantiles, with both errors."""
        values, by_record = self.known()
        return spread(values, _quantiles_again(by_record), self.widened_by)

    @cached_property
    def mean(self) -> Estimate:
        """The mean, with both errors."""
        values, by_record = self.known()
        half = TWO_SIDED_95_Z * float(values.std(ddof=1 if values.size > 1 else 0))
        again = np.nanmean(by_record, axis=1)
        within = float(values.min()), float(values.max())
        return self._with_record(float(values.mean()), half / math.sqrt(values.size), again, within)

    @cached_property
    def worst_tenth(self) -> Estimate:
        """The mean of the lowest tenth, or of the highest where high is bad; with both errors."""
        values, by_record = self.known()
        sign = -1.0 if self.high_is_bad else 1.0
        half = TWO_SIDED_95_Z * worst_mean_error(sign * values) if values.size > 1 else 0.0
        again = sign * _worst_again(sign * by_record)
        within = float(values.min()), float(values.max())
        return self._with_record(sign * float(worst_mean(sign * values)), half, again, within)

    def _with_record(
        self, value: float, half: float, resampled: FloatArray, within: Bounds
    ) -> Estimate:
        """Join a value with both errors; the record's interval always holds the value itself."""
        ends = np.quantile(resampled, CONFIDENCE_TAILS)
        low, high = widened_amount(value, ends, self.widened_by, within).tolist()
        return Estimate(value, value - half, value + half, min(low, value), max(high, value))


def amount_of(
    name: str, drawn: Callable[[], tuple[FloatArray, FloatArray]], how: RecordResampling
) -> Amount | None:
    """Return the spread of an amount, None where no sequence has one.

    Parameters
    ----------
    name
        The amount's: some are bad when high.
    drawn
        Gives the amount in the plan's sequences, (sequence,), and in those of resampled records,
        one record after the other; not a number where there is none.
    how
        How records were resampled.
    """

    def known() -> tuple[FloatArray, FloatArray]:
        values, again = drawn()
        by_record = by_record_of(again, how)
        return values[~np.isnan(values)], by_record[~np.isnan(by_record).all(axis=1)]

    values, _ = drawn()
    there_is = ~np.isnan(values)
    if not there_is.any():
        return None
    return Amount(float(there_is.mean()), name in BAD_WHEN_HIGH, how.widening.factor, known)


def some(amount: Amount | None) -> Amount:
    """Keep what there always is."""
    assert amount is not None  # every sequence has a number
    return amount


def _quantiles_again(by_record: FloatArray) -> FloatArray:
    """Return the quantiles of each record, (quantile, resample)."""
    if not np.isnan(by_record).any():
        return quantiles_of_rows(by_record)
    return np.array([np.quantile(row, QUANTILES) for row in _rows_known(by_record)]).T


def _worst_again(by_record: FloatArray) -> FloatArray:
    """Return the mean of the worst tenth of each record, (resample,)."""
    if not np.isnan(by_record).any():
        return worst_mean(by_record)
    return np.array([float(worst_mean(row)) for row in _rows_known(by_record)])


def _rows_known(by_record: FloatArray) -> list[FloatArray]:
    """Return what there is of each record."""
    return [row[~np.isnan(row)] for row in by_record]


def by_record_of(again: FloatArray, how: RecordResampling) -> FloatArray:
    """Arrange the sequences of resampled records, (resample, draw)."""
    return again.reshape(how.resamples, how.draws_each)
