"""How is an amount spread over sequences, and how sure is that?

Mean, quantiles and the mean of the worst tenth, each with the error of the draws and that of the
record (its years resampled in blocks, and all run again).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.chances import CONFIDENCE_TAILS, QUANTILES, Estimate, Spread, spread
from model.decide.risk import worst_mean, worst_mean_error
from model.outlook import RecordResampling
from model.persistence import TWO_SIDED_95_Z
from model.record import FloatArray

BAD_WHEN_HIGH: Final = frozenset(
    {
        "water_lost_ml",
        "water_spilled_ml",
        "costs_aud",
        "peak_overdraft_aud",
        "arrears_aud",
        "debt_service_aud",
        "debt_aud",
        "loan_to_value_frac",
    }
)
"""Of these the worst tenth is the highest."""


@dataclass(frozen=True, slots=True)
class Amount:
    """How an amount is spread, over the sequences in which there is one."""

    spread: Spread
    mean: Estimate
    worst_tenth: Estimate  # mean of the lowest tenth, or of the highest where high is bad
    sequences_frac: float  # in which there is such an amount


def amount_of(
    name: str, values: FloatArray, again: FloatArray, how: RecordResampling
) -> Amount | None:
    """Work out the spread of an amount with both errors.

    Parameters
    ----------
    name
        The amount's: some are bad when high.
    values
        (sequence,) not a number where there is no such amount.
    again, how
        The same on sequences of resampled records, one record after the other.
    """
    known = values[~np.isnan(values)]
    if known.size == 0:
        return None
    by_record = by_record_of(again, how)
    usable = ~np.isnan(by_record).all(axis=1)
    sign = -1.0 if name in BAD_WHEN_HIGH else 1.0
    quantiles, means, worst = _again(by_record[usable], sign)
    half = TWO_SIDED_95_Z * float(known.std(ddof=1 if known.size > 1 else 0))
    mean = float(known.mean())
    worst_now = sign * float(worst_mean(sign * known))
    worst_half = TWO_SIDED_95_Z * worst_mean_error(sign * known) if known.size > 1 else 0.0
    return Amount(
        spread=spread(known, quantiles),
        mean=_with_record(mean, half / math.sqrt(known.size), means),
        worst_tenth=_with_record(worst_now, worst_half, worst),
        sequences_frac=known.size / values.size,
    )


def some(amount: Amount | None) -> Amount:
    """Hold what there always is."""
    assert amount is not None  # every sequence has a number
    return amount


def _again(by_record: FloatArray, sign: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Give quantiles (quantile, resample), mean and worst tenth (resample,) of each record."""
    if not np.isnan(by_record).any():
        quantiles = np.quantile(by_record, QUANTILES, axis=1)
        return quantiles, by_record.mean(axis=1), sign * worst_mean(sign * by_record)
    known = [row[~np.isnan(row)] for row in by_record]
    quantiles = np.array([np.quantile(row, QUANTILES) for row in known]).T
    means = np.array([row.mean() for row in known])
    worst = np.array([sign * float(worst_mean(sign * row)) for row in known])
    return quantiles, means, worst


def _with_record(value: float, half: float, resampled: FloatArray) -> Estimate:
    """Join a value with both errors; the record's interval always holds the value itself."""
    low, high = (float(end) for end in np.quantile(resampled, CONFIDENCE_TAILS))
    return Estimate(value, value - half, value + half, min(low, value), max(high, value))


def by_record_of(again: FloatArray, how: RecordResampling) -> FloatArray:
    """Lay the sequences of resampled records out, (resample, draw)."""
    return again.reshape(how.resamples, how.draws_each)
