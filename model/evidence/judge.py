"""Did the odds hold, method by method and season by season, and how sure is that?

For each amount: its score (fair CRPS) and the share of the long-run record's error that it takes
away; whether what came fell evenly over the odds (PIT); how often the 50, 80 and 90 % bands held.
For each event: the Brier score with its parts, the share of the long-run record's error taken
away, and a table of what was said against what happened. And whether the driest years had been
warned of.

Every score carries a 95 % interval from resampling the hindcast's years in blocks; bands and
tests count overlapping years as the fewer independent ones that they are worth.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.evidence.calibration import (
    Coverage,
    Uniformity,
    coverage,
    in_band,
    uniformity,
)
from model.evidence.hindcast import DRIEST_FRAC, Cases, Hindcast
from model.evidence.overlap import effective_cases, pit_correlations
from model.evidence.recommend import Recommendation, recommend
from model.evidence.reliability import (
    Brier,
    ReliabilityBin,
    Scored,
    brier,
    brier_scores,
    reliability_table,
    resampled_years,
    score_block_years,
    scored,
)
from model.evidence.scores import skill
from model.record.record import FloatArray
from model.sequences.fallback import Because
from model.sequences.slices import IntArray
from model.streams import Stream, generator

BANDS: Final = (0.5, 0.8, 0.9)
PIT_BINS: Final = 10

STRONG_WARNING: Final = 2.0
"""A warning is a chance of at least so many times the long-run share, or half way to certainty."""


@dataclass(frozen=True, slots=True)
class AmountJudged:
    """How the odds of an amount held."""

    crps: Scored  # in the amount's unit
    long_run_crps: float
    skill: Scored  # against the long-run record
    uniformity: Uniformity
    pit_counts: tuple[int, ...]
    bands: tuple[Coverage, ...]  # of BANDS


@dataclass(frozen=True, slots=True)
class EventJudged:
    """How the chances of an event held."""

    happened: int  # in so many of the cases
    brier: Brier
    score: Scored
    skill: Scored  # against the long-run record's chances
    table: tuple[ReliabilityBin, ...]


@dataclass(frozen=True, slots=True)
class Warned:
    """What had been said before the driest years."""

    water_years: tuple[int, ...]  # calendar year of the July of each, the driest first
    chances: tuple[float, ...]  # said of so little, in each
    warned: int  # in so many of them the chance was a warning
    long_run_share: float  # of so little water
    threshold: float  # a chance from here on is a warning
    chance_in_driest: float  # mean
    chance_in_others: float  # mean, in all other years
    false_alarms: int  # of the other years, so many had a warning
    others: int


@dataclass(frozen=True, slots=True)
class SeasonJudged:
    """One method's odds of one season ahead."""

    cases: int
    amounts: Mapping[str, AmountJudged]
    events: Mapping[str, EventJudged]
    driest: Warned


@dataclass(frozen=True, slots=True)
class MethodJudged:
    """One method's odds."""

    method: str
    seasons: tuple[SeasonJudged, ...]


@dataclass(frozen=True, slots=True)
class Replaced:
    """A method that is not listed, as another stood in for it at some stands."""

    method: str
    stands: int  # at so many of them
    because: Because  # the last time


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that the hindcast says."""

    hindcast: Hindcast
    methods: tuple[MethodJudged, ...]  # those that stood themselves at every stand
    replaced: tuple[Replaced, ...]
    recommended: Recommendation
    block_years: tuple[float, ...]  # by season, of the resampling of years

    def of(self, method: str) -> MethodJudged | None:
        """Return one method's odds as judged; None where another stood in for it."""
        return next((each for each in self.methods if each.method == method), None)


def judge(hindcast: Hindcast) -> Evidence:
    """Judge all methods of a hindcast, on the same resampled years."""
    block_years, orders = resampled_orders(hindcast)
    return Evidence(
        hindcast=hindcast,
        methods=tuple(_method(hindcast, cases, orders) for cases in hindcast.themselves),
        replaced=tuple(map(_replaced, hindcast.replaced)),
        recommended=recommended_of(hindcast, orders),
        block_years=tuple(block_years),
    )


def resampled_orders(hindcast: Hindcast) -> tuple[list[float], list[IntArray]]:
    """Resample the years of a hindcast, by season: mean length of a block, and the orders."""
    orders, block_years = [], []
    for season in range(hindcast.seasons):
        came = hindcast.came(season)
        long_run = hindcast.long_run_crps["announced"][came, season]
        block_years.append(score_block_years(long_run, season + 1))
        rng = generator(hindcast.plan.sequences.seed, Stream.SCORE_RESAMPLES, season)
        orders.append(resampled_years(came.size, block_years[-1], rng=rng))
    return block_years, orders


def recommended_of(hindcast: Hindcast, orders: list[IntArray] | None = None) -> Recommendation:
    """Choose a method by a hindcast; orders of `resampled_orders`, made if left out."""
    return recommend(
        {cases.method: cases.crps["announced"] for cases in hindcast.themselves},
        hindcast.long_run_crps["announced"],
        hindcast.came,
        resampled_orders(hindcast)[1] if orders is None else orders,
    )


def _method(hindcast: Hindcast, cases: Cases, orders: list[IntArray]) -> MethodJudged:
    """Judge one method."""
    return MethodJudged(
        method=cases.method,
        seasons=tuple(
            _season(hindcast, cases, season, orders[season]) for season in range(hindcast.seasons)
        ),
    )


def _replaced(cases: Cases) -> Replaced:
    """Count where another method stood in."""
    reasons = [why for why in cases.stood_in if why]
    return Replaced(cases.method, len(reasons), reasons[-1])


def _season(hindcast: Hindcast, cases: Cases, season: int, orders: IntArray) -> SeasonJudged:
    """Judge one method's odds of one season."""
    came = hindcast.came(season)
    return SeasonJudged(
        cases=came.size,
        amounts={
            amount: _amount(
                cases.crps[amount][came, season],
                hindcast.long_run_crps[amount][came, season],
                cases.pit[amount][came, season],
                season + 1,
                orders,
            )
            for amount in cases.crps
        },
        events={
            event: _event(
                cases.chance[event][came, season],
                hindcast.long_run_chance[event][came, season],
                hindcast.happened[event][came, season],
                season + 1,
                orders,
            )
            for event in cases.chance
        },
        driest=warned_of_driest(hindcast, cases, season),
    )


def _amount(
    crps: FloatArray, long_run: FloatArray, pit: FloatArray, seasons: int, orders: IntArray
) -> AmountJudged:
    """Judge the odds of an amount, each argument (case,)."""
    worth = effective_cases(pit.size, pit_correlations(seasons))
    counts, _ = np.histogram(pit, bins=PIT_BINS, range=(0.0, 1.0))
    return AmountJudged(
        crps=scored(lambda years: float(crps[years].mean()), orders),
        long_run_crps=float(long_run.mean()),
        skill=scored(lambda years: skill(crps[years], long_run[years]), orders),
        uniformity=uniformity(pit, worth),
        pit_counts=tuple(counts.tolist()),
        bands=tuple(coverage(in_band(pit, level), level, seasons) for level in BANDS),
    )


def _event(
    said: FloatArray, long_run: FloatArray, happened: FloatArray, seasons: int, orders: IntArray
) -> EventJudged:
    """Judge the chances of an event, each argument (case,)."""
    came = happened > 0.0
    errors, long_run_errors = brier_scores(said, came), brier_scores(long_run, came)
    return EventJudged(
        happened=int(came.sum()),
        brier=brier(said, came),
        score=scored(lambda years: float(errors[years].mean()), orders),
        skill=scored(lambda years: skill(errors[years], long_run_errors[years]), orders),
        table=reliability_table(said, came, seasons=seasons),
    )


def warned_of_driest(hindcast: Hindcast, cases: Cases, season: int) -> Warned:
    """Return what had been said before the driest tenth of years.

    The driest are those in which least was announced; of equal ones, those with less inflow. What
    counts is the chance that was said of the event `low`, against its share in all other years.
    """
    came = hindcast.came(season)
    announced = hindcast.observed["announced"][came, season]
    inflow = hindcast.walk.inflow_ml[came, season]
    how_many = max(1, round(DRIEST_FRAC * came.size))
    order = np.lexsort((inflow, announced))
    driest, others = order[:how_many], order[how_many:]
    chances = cases.chance["low"][came, season]
    share = float(hindcast.long_run_chance["low"][came, season].mean())
    threshold = min(STRONG_WARNING * share, (1.0 + share) / 2.0)
    return Warned(
        water_years=tuple(hindcast.walk.water_years[came[driest], season].tolist()),
        chances=tuple(chances[driest].tolist()),
        warned=int(np.count_nonzero(chances[driest] >= threshold)),
        long_run_share=share,
        threshold=threshold,
        chance_in_driest=float(chances[driest].mean()),
        chance_in_others=float(chances[others].mean()),
        false_alarms=int(np.count_nonzero(chances[others] >= threshold)),
        others=int(others.size),
    )
