"""What does a record remember, and which way of drawing sequences fits it?

Looked at in the slices that sequences are made of, twelve months from the opening month: whether
neighbouring years are alike, how long a block the data ask for, whether one shift of the mean
explains it, and whether the record supports a dry and a wet state. From these comes one plain
recommendation with its reasons. It says what fits the record; whether the odds then hold, only the
evidence says.

The shift is tested by shuffling the years: how often does a record without any order show as large
a shift somewhere?
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.evidence.chains import Chain
from model.record.drift import Drift, fit_drift
from model.record.memory import (
    TWO_SIDED_95_Z,
    BlockYears,
    Shift,
    hurst_k,
    lag_correlation,
    one_shift,
    optimal_block_years,
    shift_explains_persistence,
)
from model.record.record import FloatArray, Record
from model.sequences.neighbours import kernel_weights, neighbours_of
from model.sequences.regimes import log_totals, why_not
from model.sequences.slices import cut
from model.sequences.switching import Switching, fit_switching, has_spread
from model.streams import Stream, generator
from model.water_year import JULY, month_name

SHUFFLES: Final = 1000
UNLIKELY: Final = 0.05

CLEAR_BIC_MARGIN: Final = 2.0
"""Below this Bayes' criterion is barely worth mentioning (Kass and Raftery 1995, from memory)."""

FEWEST_CHANGES: Final = 6
"""Of state: three dry runs are the least that say how long one lasts (the project's own rule)."""


@dataclass(frozen=True, slots=True)
class ShiftFound:
    """The one shift that fits best, and whether it means anything."""

    shift: Shift
    after: str  # month in which the first part ends, in words
    chance: float  # that shuffled years show as large a shift
    explains_persistence: bool


@dataclass(frozen=True, slots=True)
class StatesFound:
    """What a fit of a dry and a wet state says."""

    fit: Switching  # of the logarithm of slice totals
    refused: str | None  # why the record does not support two states
    dry_years: int  # slices more likely dry than wet
    changes: int  # how often the more likely state changes
    dry_chance_now: float  # that the last slice was dry

    @property
    def chain(self) -> Chain:
        """The chain of states."""
        return Chain(self.fit.stays_low, self.fit.stays_high)


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What a record remembers."""

    years: int  # slices
    lag_1: float
    lag_1_band: float  # independent years stay within plus and minus this, 95 times in 100
    hurst_k: float
    block_years: BlockYears
    shift: ShiftFound
    drift: Drift | None  # None where all years are alike
    states: StatesFound | None  # None where they are, or the fit led nowhere
    recommended: str  # a method
    reasons: tuple[str, ...]

    @property
    def years_resemble(self) -> bool:
        """Whether a year says something about the next."""
        return self.lag_1 > self.lag_1_band


def diagnose(record: Record, *, opening_month: int = JULY, seed: int = 1) -> Diagnosis:
    """Look at what a record remembers, and say which method fits it.

    Parameters
    ----------
    record
        The observed record.
    opening_month
        Month number; years are the slices that begin in its calendar month.
    seed
        Of the starts of the switching fit and of the shuffles.
    """
    slices = cut(record, opening_month)
    totals_ml = slices.totals_ml
    shift = _shift(record, slices.first_rows, totals_ml, seed)
    states = _states(totals_ml, seed)
    drift = fit_drift(totals_ml) if has_spread(totals_ml) else None
    lag_1, band = lag_correlation(totals_ml), TWO_SIDED_95_Z / math.sqrt(totals_ml.size)
    asked = optimal_block_years(totals_ml)
    recommended, reasons = _recommend(totals_ml.size, lag_1, band, asked, shift, states)
    if drift is not None and drift.wanders:
        reasons = (*reasons, _drift_reason(drift, float(totals_ml.mean())))
    return Diagnosis(
        years=totals_ml.size,
        lag_1=lag_1,
        lag_1_band=band,
        hurst_k=hurst_k(totals_ml),
        block_years=asked,
        shift=shift,
        drift=drift,
        states=states,
        recommended=recommended,
        reasons=reasons,
    )


def diagnosis_in_words(diagnosis: Diagnosis) -> str:
    """Return the recommendation with its reasons."""
    return f"Method {diagnosis.recommended} fits this record. " + " ".join(diagnosis.reasons)


def _shift(record: Record, first_rows: np.ndarray, totals_ml: FloatArray, seed: int) -> ShiftFound:
    """Find the one shift of the mean, and how often shuffled years show one as large."""
    shift = one_shift(totals_ml)
    rng = generator(seed, Stream.DIAGNOSIS)
    shuffled = rng.permuted(np.tile(totals_ml, (SHUFFLES, 1)), axis=1)
    observed = _most_explained(totals_ml[None, :])[0]
    as_large = np.count_nonzero(_most_explained(shuffled) >= observed * (1.0 - 1e-12))
    return ShiftFound(
        shift=shift,
        after=month_name(record.first_month + int(first_rows[shift.years_before]) - 1),
        chance=(1 + as_large) / (1 + SHUFFLES),
        explains_persistence=shift_explains_persistence(totals_ml),
    )


def _most_explained(series: FloatArray) -> FloatArray:
    """(series,) the sum of squares that the best single shift of each explains."""
    n = series.shape[1]
    first = np.arange(1, n)
    running = np.cumsum(series - series.mean(axis=1, keepdims=True), axis=1)[:, :-1]
    return np.asarray((running**2 * (1.0 / first + 1.0 / (n - first))).max(axis=1))


def _states(totals_ml: FloatArray, seed: int) -> StatesFound | None:
    """Fit a dry and a wet state."""
    try:
        fit = fit_switching(log_totals(totals_ml), rng=generator(seed, Stream.REGIME_FIT))
    except ArithmeticError:
        return None
    dry = fit.smoothed_low > 0.5
    return StatesFound(
        fit=fit,
        refused=why_not(fit),
        dry_years=int(np.count_nonzero(dry)),
        changes=int(np.count_nonzero(dry[1:] != dry[:-1])),
        dry_chance_now=float(fit.filtered_low[-1]),
    )


def _recommend(
    years: int,
    lag_1: float,
    band: float,
    asked: BlockYears,
    shift: ShiftFound,
    states: StatesFound | None,
) -> tuple[str, tuple[str, ...]]:
    """Choose a method, and say why."""
    alike = lag_1 > band
    reasons = [
        f"Neighbouring years are {'alike' if alike else 'not more alike than luck makes them'} "
        f"(correlation {lag_1:.2f}; independent years stay within {band:.2f})."
    ]
    reasons.append(_shift_reason(shift))
    against = "the fit led nowhere." if states is None else _why_no_states(states, shift)
    recommended = "blocks" if against else "regimes"
    if states is not None and not against:
        reasons.append(_states_reason(states))
    else:
        reasons.append(f"No dry and wet states: {against}")
        reasons.append(
            f"The data ask for blocks of {asked.stationary:.1f} years on average, so that dry runs "
            "stay together; where years are independent blocks do no harm."
        )
    k = neighbours_of(years)
    effective = 1.0 / float(np.sum(kernel_weights(k) ** 2))
    reasons.append(
        f"Method neighbours would rest each season on {k} past years, worth {effective:.1f} equal "
        "ones: compare it by the evidence before trusting its narrower bands."
    )
    return recommended, tuple(reasons)


def _shift_reason(shift: ShiftFound) -> str:
    """Return what the best single shift means."""
    found = shift.shift
    sizes = f"from {found.mean_before:,.0f} to {found.mean_after:,.0f} ML a year"
    if shift.chance >= UNLIKELY:
        return (
            f"The largest shift of the mean ({sizes} after {shift.after}) is no more than shuffled "
            f"years show ({shift.chance:.0%} of them)."
        )
    if shift.explains_persistence:
        return (
            f"One shift of the mean {sizes} after {shift.after} explains the likeness: look for a "
            "change of river, gauge or use there before trusting the whole record."
        )
    return (
        f"The mean shifts {sizes} after {shift.after}, more than shuffled years do "
        f"({shift.chance:.1%} of them show as much)."
    )


def _drift_reason(drift: Drift, mean_ml: float) -> str:
    """Return where the usual flow stands now."""
    return (
        f"The usual flow wanders: it stands at about {drift.next_level:,.0f} ML a year now, "
        f"against {mean_ml:,.0f} over the whole record, and no method here draws from that alone."
    )


def _states_reason(states: StatesFound) -> str:
    """Return which states were found."""
    chain, (bic_one, bic_two) = states.chain, states.fit.bic
    return (
        f"The record supports a dry and a wet state (Bayes' criterion {bic_two:.1f} against "
        f"{bic_one:.1f} with one): {states.dry_years} dry years of {states.fit.count}, a dry spell "
        f"of {chain.mean_dry_spell:.1f} years on average; the last year was dry with a chance of "
        f"{states.dry_chance_now:.0%}."
    )


def _why_no_states(states: StatesFound, shift: ShiftFound) -> str:
    """Return why states are not recommended; empty where they are."""
    if states.refused is not None:
        return f"{states.refused}."
    if shift.explains_persistence:
        return "they fit, but may be no more than that shift."
    if states.changes < FEWEST_CHANGES:
        return f"they fit, but the state changed only {states.changes} times."
    bic_one, bic_two = states.fit.bic
    if bic_one - bic_two < CLEAR_BIC_MARGIN:
        return (
            f"they fit hardly better than one (Bayes' criterion {bic_two:.1f} against "
            f"{bic_one:.1f})."
        )
    return ""
