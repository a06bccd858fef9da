"""What may come to every farm of a valley, and how far does the record bear it out?

The plan's sequences are drawn once for all farms. The range that the record supports is found as
everywhere, from records whose years are resampled in blocks; but the farms are not played again:
the same runs are counted as often as the resampled record holds the years that their blocks begin
with. That makes the range of a book of any size as cheap as that of one farm, and keeps what is
joint joint. The method is not fitted again to each resampled record.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.book.folder import Valley
from model.farm.setting import decision_seasons
from model.farm.training import Training
from model.outlook.ahead import Drawn
from model.outlook.outlook import RECORD_RESAMPLES, RecordResampling
from model.outlook.setting import Setting, setting_of
from model.record.record import FloatArray
from model.record.widening import widening
from model.sequences.blocks import Blocks
from model.sequences.draw import asked_block_years
from model.sequences.slices import IntArray, Sequences, Slices
from model.sequences.unique import unique_sequences
from model.sequences.years import YearsDrawn
from model.streams import Stream, generator
from model.valley.run import Month
from model.water_year import MONTHS_IN_YEAR

AGAIN_EACH: Final = 250
"""Runs taken from the plan's for each resampled record: evenly, so they carry little noise."""


@dataclass(frozen=True, slots=True)
class PlayedValley:
    """A valley run through its sequences, ready for any farm that stands on it."""

    setting: Setting
    training: Training
    drawn: Drawn
    months: tuple[tuple[Month, ...], ...]  # of each batch of the different sequences

    @property
    def different(self) -> int:
        """How many different sequences there are."""
        return sum(len(batch[-1].rows) for batch in self.drawn.batches)


def valley_setting(valley: Valley) -> Setting:
    """Prepare a valley without its farms."""
    return setting_of(valley.plan, valley.record, seasons=decision_seasons(valley.plan))


def sequences_of(setting: Setting) -> Sequences:
    """Draw the sequences that a valley's plans ask for."""
    return Sequences.joined(setting.batches())


def play_valley(valley: Valley, sequences: Sequences | None = None) -> PlayedValley:
    """Run a valley through its sequences, or through others that were drawn for many valleys.

    Raises
    ------
    PlanError
        Plan and record do not fit together.
    """
    setting = valley_setting(valley)
    drawn = draw(setting, sequences or sequences_of(setting), varies=valley.varies)
    return PlayedValley(
        setting=setting,
        training=Training.of(setting),
        drawn=drawn,
        months=tuple(tuple(setting.months_of_legs(legs)) for legs in drawn.batches),
    )


def draw(setting: Setting, sequences: Sequences, *, varies: bool) -> Drawn:
    """Find the different ones of sequences, and what resampled records hold of them.

    Parameters
    ----------
    setting
        The valley.
    sequences
        What may come.
    varies
        Whether any farm's yields or prices differ from year to year.
    """
    different = unique_sequences(sequences).meeting(_kinds(setting) if varies else None)
    again, how = resampled(setting, sequences)
    return Drawn(
        setting.method, different.batches(), different.places, different.places[again], how
    )


def resampled(setting: Setting, sequences: Sequences) -> tuple[IntArray, RecordResampling]:
    """Take runs from a valley's own as resampled records hold their years.

    Returns
    -------
    places, how
        (resample x AGAIN_EACH,) which of the sequences; how records were resampled.
    """
    slices, seed = setting.slices, setting.plan.sequences.seed
    block_years = asked_block_years(slices, "stationary")
    orders = Blocks("stationary", block_years).draw(
        slices, slices.count, RECORD_RESAMPLES, rng=generator(seed, Stream.RECORD_RESAMPLES)
    )
    times = np.stack([np.bincount(order, minlength=slices.count) for order in orders])
    weights = run_weights(slice_numbers(sequences, slices), times.astype(np.float64))
    rng = generator(seed, Stream.BOOK_RESAMPLES)
    places = np.concatenate([evenly(row, AGAIN_EACH, rng.random()) for row in weights])
    how = RecordResampling(
        RECORD_RESAMPLES, AGAIN_EACH, block_years, widening(slices.totals_ml, block_years)
    )
    return places, how


def slice_numbers(sequences: Sequences, slices: Slices) -> IntArray:
    """(sequence, season) which slice of the record each twelve months of a sequence are."""
    return np.searchsorted(slices.first_rows, sequences.rows[:, ::MONTHS_IN_YEAR])


def run_weights(numbers: IntArray, times: FloatArray) -> FloatArray:
    """Return how often each run counts on each resampled record, (resample, sequence).

    A run counts as often as the record holds the slices that its blocks begin with: the first, and
    every one that does not follow the one before it.

    Parameters
    ----------
    numbers
        (sequence, season) slices.
    times
        (resample, slice) how often each resampled record holds it.

    Examples
    --------
    >>> runs = np.array([[0, 1], [0, 3], [2, 3]])
    >>> run_weights(runs, np.array([[1.0, 0.0, 2.0, 3.0]])).tolist()
    [[1.0, 3.0, 2.0]]
    """
    begins = np.ones(numbers.shape, dtype=np.bool_)
    begins[:, 1:] = numbers[:, 1:] != (numbers[:, :-1] + 1) % times.shape[1]
    weights = np.ones((len(times), len(numbers)))
    for season in range(numbers.shape[1]):
        weights *= np.where(begins[:, season], times[:, numbers[:, season]], 1.0)
    return weights


def evenly(weights: FloatArray, count: int, start: float) -> IntArray:
    """Take so many of weighted things evenly (systematic sampling).

    Parameters
    ----------
    weights
        (thing,) 0 or more; equal where all are 0.
    count
        How many are taken.
    start
        Where between 0 and 1 the even steps begin.

    Examples
    --------
    >>> evenly(np.array([1.0, 0.0, 3.0]), 4, 0.5).tolist()
    [0, 2, 2, 2]
    """
    reached = np.cumsum(weights if weights.any() else np.ones_like(weights))
    steps = (start + np.arange(count)) / count * reached[-1]
    places: IntArray = np.searchsorted(reached, steps, side="right")
    return np.minimum(places, len(weights) - 1)


def _kinds(setting: Setting) -> YearsDrawn:
    """Return which years are met together: of any farm, whatever it grows."""
    rng = generator(setting.plan.sequences.seed, Stream.YEARS_MET)
    return YearsDrawn.of(1, setting.calendar.slices, setting.record.months, rng)
