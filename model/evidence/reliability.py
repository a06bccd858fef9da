"""When the tool said "3 chances in 10", did it happen 3 times in 10? And how sure is a score?

The Brier score of chances and its parts (Murphy 1973): reliability, how far the observed shares
lie from what was said; resolution, how far they move away from the long-run share; uncertainty,
how hard the event is to call at all. Score = reliability - resolution + uncertainty, exactly
where all chances of a bin are the same; what different chances in one bin leave over is
`within_bins` (Stephenson, Coelho and Jolliffe 2008). With few cases a bin the first two parts
both look larger than they are.

How sure any score is comes from resampling the years of the hindcast in blocks, since
neighbouring years share seasons, weather and the state of the dam.

References
----------
Brier 1950 (Mon. Weather Rev. 78:1); Murphy 1973 (J. Appl. Meteorol. 12:595); Stephenson, Coelho and
Jolliffe 2008 (Weather Forecast. 23:752); Politis and Romano 1994 (J. Am. Stat. Assoc. 89:1303).
Titles from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.evidence.calibration import BoolArray
from model.evidence.overlap import effective_cases, window_correlations
from model.outlook.chances import CONFIDENCE_TAILS, wilson_interval
from model.record.memory import optimal_block_years
from model.record.record import FloatArray
from model.sequences.blocks import Blocks
from model.sequences.slices import IntArray, Slices

FIFTHS: Final = tuple(tenth / 10 for tenth in (0, 2, 4, 6, 8, 10))
"""Edges of the bins of chances: a record of a century leaves about twenty cases a bin."""

SCORE_RESAMPLES: Final = 1000
"""Resampled hindcasts: the ends of a 95 % interval rest on 25 of them each."""

HELD_OF_100: Final = {"blocks": 84, "single years": 67}
"""How many of 100 intervals of 95 % held the truth, for the mean of 100 years that remember the one
before by 0.6: measured, and a test measures it again."""


@dataclass(frozen=True, slots=True)
class Brier:
    """The Brier score of chances, and its parts."""

    cases: int
    score: float  # mean squared error of the chances, 0 to 1
    reliability: float  # less is better
    resolution: float  # more is better
    uncertainty: float  # of the event itself: the score of always saying the long-run share
    within_bins: float  # what the bins leave over

    @property
    def skill(self) -> float:
        """Share of the uncertainty taken away; not a number where the event came always or never.

        The long-run share it is compared with is that of these very cases, which no forecaster
        knew: a strict measure.
        """
        return 1.0 - self.score / self.uncertainty if self.uncertainty > 0.0 else math.nan


@dataclass(frozen=True, slots=True)
class ReliabilityBin:
    """The cases of which the chance said lay in one bin."""

    chance_from: float
    chance_to: float
    cases: int
    mean_chance: float  # that was said
    share: float  # of the cases in which it happened
    share_low: float  # 95 % interval of the share in the long run (Wilson)
    share_high: float


def brier_scores(chances: FloatArray, happened: BoolArray) -> FloatArray:
    """Score each chance by its squared error, (case,)."""
    return np.asarray((chances - happened) ** 2)


def brier(chances: FloatArray, happened: BoolArray, edges: Sequence[float] = FIFTHS) -> Brier:
    """Work out the Brier score and its parts.

    Parameters
    ----------
    chances
        (case,) what was said, 0 to 1.
    happened
        (case,)
    edges
        Of the bins of chances, from 0 to 1; a chance on an edge belongs to the upper bin.
    """
    n, share = happened.size, float(happened.mean())
    score = float(brier_scores(chances, happened).mean())
    reliability = resolution = 0.0
    for cases in _cases_of_bins(chances, edges).values():
        in_bin = float(happened[cases].mean())
        reliability += cases.size / n * (float(chances[cases].mean()) - in_bin) ** 2
        resolution += cases.size / n * (in_bin - share) ** 2
    uncertainty = share * (1.0 - share)
    within = score - (reliability - resolution + uncertainty)
    return Brier(n, score, reliability, resolution, uncertainty, within)


def reliability_table(
    chances: FloatArray, happened: BoolArray, edges: Sequence[float] = FIFTHS, seasons: int = 1
) -> tuple[ReliabilityBin, ...]:
    """Compare what was said with how often it happened, bin by bin; empty bins are left out.

    Parameters
    ----------
    chances
        (case,) what was said, 0 to 1, one case a year.
    happened
        (case,)
    edges
        Of the bins of chances, from 0 to 1; a chance on an edge belongs to the upper bin.
    seasons
        How many seasons ahead each case looked. The intervals count the cases of a bin in the
        proportion in which overlapping windows count, as if they were neighbours: cautious.
    """
    worth = effective_cases(happened.size, window_correlations(seasons)) / happened.size
    table = []
    for number, cases in _cases_of_bins(chances, edges).items():
        share = float(happened[cases].mean())
        counted = max(1, int(cases.size * worth))
        ends = wilson_interval(share * counted, counted)
        mean = float(chances[cases].mean())
        table.append(
            ReliabilityBin(edges[number], edges[number + 1], cases.size, mean, share, *ends)
        )
    return tuple(table)


def _cases_of_bins(chances: FloatArray, edges: Sequence[float]) -> dict[int, IntArray]:
    """Find the cases of each bin that has any, by the bin's number."""
    numbers = np.searchsorted(edges[1:-1], chances, side="right")
    return {int(number): np.flatnonzero(numbers == number) for number in np.unique(numbers)}


@dataclass(frozen=True, slots=True)
class Scored:
    """A score with the 95 % interval that the hindcast's few years leave."""

    value: float
    low: float
    high: float


def score_block_years(scores: FloatArray, seasons: int) -> float:
    """Return the mean block length for resampling the years of a score.

    Parameters
    ----------
    scores
        (year,) of each year of the hindcast, 10 or more.
    seasons
        How many seasons ahead each year looked: a block is at least that long.
    """
    return max(float(seasons), optimal_block_years(scores).stationary)


def resampled_years(
    years: int, block_years: float, *, rng: np.random.Generator, resamples: int = SCORE_RESAMPLES
) -> IntArray:
    """Resample the years of a hindcast in blocks of random length (stationary bootstrap).

    Parameters
    ----------
    years
        How many years the hindcast has.
    block_years
        Mean length of a block.
    rng
        The stream `SCORE_RESAMPLES`. Scores that are to be compared share one resampling.
    resamples
        How many.

    Returns
    -------
    ndarray
        (resample, year) numbers of years, from 0.
    """
    every_year = Slices(np.arange(years), np.zeros(years))
    return Blocks("stationary", block_years).draw(every_year, years, resamples, rng=rng)


def scored(score: Callable[[IntArray], float], orders: IntArray) -> Scored:
    """Work out a score and how sure it is.

    Parameters
    ----------
    score
        Gives the score of the hindcast years whose numbers it is given; resamples of which it is
        not a number are left out.
    orders
        (resample, year) from `resampled_years`.

    Returns
    -------
    Scored
        The score of all years, and the central 95 % of the resampled scores, widened where needed
        to hold it. All not a number where the score is.

    Notes
    -----
    With few years and a long memory such intervals are still too narrow: see `HELD_OF_100`.
    """
    value = score(np.arange(orders.shape[1]))
    resampled = np.array([score(order) for order in orders])
    told = resampled[np.isfinite(resampled)]
    if not (math.isfinite(value) and told.size):
        return Scored(math.nan, math.nan, math.nan)
    low, high = np.quantile(told, CONFIDENCE_TAILS)
    return Scored(value, min(float(low), value), max(float(high), value))
