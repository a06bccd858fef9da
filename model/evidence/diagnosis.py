"""What does a record remember?

Looked at in the slices that sequences are made of, twelve months from the opening month: whether
neighbouring years are alike, how long a block the data ask for, whether one shift of the mean
explains it, and whether the record supports a dry and a wet state. It describes, and chooses no
method: that is done by the odds of past years alone (`recommend`).

The shift is tested by shuffling the years: how often does a record without any order show as large
a shift somewhere?
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from model.evidence.chains import Chain, dry_runs, fitted, independent
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
from model.sequences.fallback import Because
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

RUN_YEARS: Final = 5
WITHIN_YEARS: Final = 30
"""A run of dry years that few farms are built for, and a farmer's working life (the project's own
choice)."""

FEWEST_CHANGES: Final = 6
"""Of state: three dry runs are the least that say how long one lasts (the project's own rule)."""


NoStates = Literal[
    "fit_led_nowhere", "not_supported", "explained_by_shift", "few_changes", "hardly_better"
]


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
    refused: Because | None  # why the record does not support two states
    dry_years: int  # slices more likely dry than wet
    changes: int  # how often the more likely state changes
    dry_chance_now: float  # that the last slice was dry

    @property
    def chain(self) -> Chain:
        """The chain of states."""
        return Chain(self.fit.stays_low, self.fit.stays_high)


@dataclass(frozen=True, slots=True)
class DryRuns:
    """How years below the middle one come together."""

    longest: int  # in a row, years
    mean: float
    at_least: int  # the chances are of a run so long, or longer
    within_years: int
    chance: float  # by the chance that one such year follows another
    chance_without_memory: float  # if years did not remember each other


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
    dry_runs: DryRuns | None  # None where they are
    no_states: NoStates | None  # why not by a dry and a wet state; None where they fit
    mean_ml: float  # of the slices
    neighbours: int  # past years that method neighbours would rest a season on
    equal_neighbours: float  # equally weighted ones that they are worth

    @property
    def years_resemble(self) -> bool:
        """Whether a year says something about the next."""
        return self.lag_1 > self.lag_1_band


def diagnose(record: Record, *, opening_month: int = JULY, seed: int = 1) -> Diagnosis:
    """Look at what a record remembers.

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
    no_states, k = _why_no_states(states, shift), neighbours_of(totals_ml.size)
    return Diagnosis(
        years=totals_ml.size,
        lag_1=lag_1,
        lag_1_band=band,
        hurst_k=hurst_k(totals_ml),
        block_years=optimal_block_years(totals_ml),
        shift=shift,
        drift=drift,
        states=states,
        dry_runs=_dry_runs(totals_ml),
        no_states=no_states,
        mean_ml=float(totals_ml.mean()),
        neighbours=k,
        equal_neighbours=1.0 / float(np.sum(kernel_weights(k) ** 2)),
    )


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


def _dry_runs(totals_ml: FloatArray) -> DryRuns | None:
    """Follow the runs of years below the middle one; None where all years are alike."""
    dry = totals_ml < np.median(totals_ml)
    try:
        chain = fitted(dry)
    except ValueError:
        return None
    runs, share = dry_runs(dry), float(dry.mean())
    return DryRuns(
        longest=int(runs.max()),
        mean=float(runs.mean()),
        at_least=RUN_YEARS,
        within_years=WITHIN_YEARS,
        chance=chain.chance_of_dry_run(RUN_YEARS, WITHIN_YEARS),
        chance_without_memory=independent(share).chance_of_dry_run(RUN_YEARS, WITHIN_YEARS),
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


def _why_no_states(states: StatesFound | None, shift: ShiftFound) -> NoStates | None:
    """Return why there are no two states; None where the record supports them."""
    if states is None:
        return "fit_led_nowhere"
    if states.refused is not None:
        return "not_supported"
    if shift.explains_persistence:
        return "explained_by_shift"
    if states.changes < FEWEST_CHANGES:
        return "few_changes"
    bic_one, bic_two = states.fit.bic
    return "hardly_better" if bic_one - bic_two < CLEAR_BIC_MARGIN else None
