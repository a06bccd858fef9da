"""What do ways of running the farm bring, each held against another on the same sequences?

A way is a strategy with some of its decisions chosen by hand. All ways meet the same sequences, so
a difference between two is taken sequence by sequence: what moves both alike is no error. Each
figure carries the error of the draws and that of the record (its years resampled in blocks, and all
run again); two ways are told apart only where a difference leaves both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Final, Self

import numpy as np

from model.decide.risk import (
    mean_difference_error,
    worst_difference_error,
    worst_mean,
    worst_mean_error,
)
from model.decide.rivers import Rivers, RiversDrawn
from model.farm.measures import NO_LAND_HA, lacks_water
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.run import FarmMonth, FarmResults, gather_farm, run_farm
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray, FarmState, Settings
from model.outlook.chances import CONFIDENCE_TAILS, Estimate, chance
from model.outlook.setting import Progress
from model.plan.farm import Objective
from model.record.memory import TWO_SIDED_95_Z
from model.record.record import FloatArray
from model.sequences.slices import IntArray

PENNY_AUD: Final = 0.01
"""A difference of less is rounding."""


@dataclass(frozen=True, slots=True)
class Way:
    """A strategy, with what is decided now."""

    settings: Settings  # one strategy
    opening: FarmState  # (1, sequence at the start)
    until_t: int | None = None  # the month to whose end the settings hold; None: always
    after: Settings | None = None  # from then on


@dataclass(frozen=True, slots=True)
class Runs:
    """What ways bring in each different sequence, each (way, sequence)."""

    standing_aud: FloatArray  # at the end of the run, with what is left valued
    lowest_cash_aud: FloatArray  # in the run
    payment_missed: BoolArray  # some time in the run
    past_limit: BoolArray  # likewise
    planted_ha: FloatArray  # of the main crop, in the season that is decided on
    finished: BoolArray  # some is planted in it, and none is cut back or lacks water
    units: FloatArray  # of the main crop, harvested in it
    usable_ml_per_share: FloatArray  # at its planting, or where that is past at its finish

    def of(self, at: int) -> Self:
        """Return one way, each (sequence,)."""
        return type(self)(*(getattr(self, f.name)[at] for f in fields(self)))

    def part(self, first: int, last: int) -> Self:
        """Return some of the ways."""
        return type(self)(*(getattr(self, f.name)[first:last] for f in fields(self)))


def play_ways(
    setting: FarmSetting,
    rivers: Rivers,
    ways: Sequence[Way],
    season: int,
    progress: Progress | None = None,
) -> Runs:
    """Play ways through the same sequences, one after the other.

    Parameters
    ----------
    setting, rivers
        The farm, and the valley's months as it meets them.
    ways
        At least one.
    season
        Whose crop is decided on, from 0.
    progress
        Called with the ways done and the ways in all.
    """
    done = []
    for number, way in enumerate(ways, start=1):
        done.append(_runs_of(setting, rivers, way, season))
        if progress is not None:
            progress(number, len(ways))
    return Runs(*(np.concatenate([getattr(runs, f.name) for runs in done]) for f in fields(Runs)))


def _runs_of(setting: FarmSetting, rivers: Rivers, way: Way, season: int) -> Runs:
    """Play one way; each (1, sequence)."""
    rules = setting.rules
    months = months_of(setting, rivers.months, way)
    found = gather_farm(way.opening, months, setting.valley.calendar, rules)
    lowest_aud = found["lowest_cash_aud"].min(axis=-1)
    planted_ha = np.nan_to_num(found["area_planted_ha"][..., season])
    return Runs(
        standing_aud=found["standing_aud"][..., -1],
        lowest_cash_aud=lowest_aud,
        payment_missed=np.asarray((found["payments_missed"] > 0.0).any(axis=-1)),
        past_limit=lowest_aud < -rules.cash.overdraft_limit_aud,
        planted_ha=planted_ha,
        finished=finished_in(found, way, season, rules),
        units=found["bales"][..., season],
        usable_ml_per_share=_usable(found, season),
    )


def finished_in(found: FarmResults, way: Way, season: int, rules: FarmRules) -> BoolArray:
    """Return whether what is planted, or still watered today, is watered to the end.

    Parameters
    ----------
    found
        What the way brought, (way, sequence, season).
    way, season, rules
        The way; whose crop is decided on; the farm's.
    """
    aimed_ha = np.nan_to_num(found["area_planted_ha"][..., season])
    if season == 0 and (in_ground := way.opening.main_fields(rules)):
        aimed_ha = aimed_ha * 0.0 + sum(field.watered_ha for field in in_ground)
    cut = np.nan_to_num(found["area_finished_ha"][..., season]) < aimed_ha - NO_LAND_HA
    finished: BoolArray = (aimed_ha > 0.0) & ~cut & ~lacks_water(found)[..., season]
    return finished


def _usable(found: FarmResults, season: int) -> FloatArray:
    """Return the usable account at planting, or where that is past at the finish month."""
    at_planting = found["planting_usable_ml_per_share"][..., season]
    past = np.isnan(at_planting)
    return np.where(past, found["finish_usable_ml_per_share"][..., season], at_planting)


def months_of(
    setting: FarmSetting, river: Sequence[RiverMonth], way: Way, rules: FarmRules | None = None
) -> Iterator[FarmMonth]:
    """Run one way month by month."""
    rules, expectation = rules or setting.rules, setting.expectation
    if way.until_t is None or way.after is None:
        yield from run_farm(way.opening, way.settings, river, expectation, rules)
        return
    until, state = way.until_t + 1, way.opening
    for month in run_farm(state, way.settings, river[:until], expectation, rules):
        state = month.end
        yield month
    yield from run_farm(state, way.after, river[until:], expectation, rules)


@dataclass(frozen=True, slots=True)
class Brought:
    """What one way brings over the run, and in the season that is decided on."""

    mean_aud: Estimate  # standing at the end
    worst_tenth_aud: Estimate
    payment_missed: Estimate
    past_limit: Estimate
    finished: Estimate  # what was planted was watered to the end


@dataclass(frozen=True, slots=True)
class Ahead:
    """How far one way is ahead of another, sequence by sequence."""

    mean_aud: Estimate
    worst_tenth_aud: Estimate
    missed_frac: Estimate  # chance of a missed payment; below 0: it misses fewer

    def by(self, objective: Objective) -> Estimate:
        """Return the difference that an objective looks at; above 0 is better."""
        if objective == "missed_payment":
            return _turned(self.missed_frac)
        return self.worst_tenth_aud if objective == "worst_tenth" else self.mean_aud


def brought_by(of: RiversDrawn, runs: Runs, at: int) -> Brought:
    """Work out what one way brings, with both errors."""
    own = runs.of(at)
    return Brought(
        mean_aud=mean_of(of, own.standing_aud),
        worst_tenth_aud=worst_tenth_of(of, own.standing_aud),
        payment_missed=chance_of(of, own.payment_missed),
        past_limit=chance_of(of, own.past_limit),
        finished=chance_of(of, own.finished),
    )


def ahead_of(of: RiversDrawn, runs: Runs, at: int, other: int) -> Ahead:
    """Hold one way against another."""
    one, two = runs.of(at), runs.of(other)
    missed = one.payment_missed.astype(np.float64) - two.payment_missed
    return Ahead(
        mean_aud=mean_of(of, one.standing_aud - two.standing_aud),
        worst_tenth_aud=worst_tenth_ahead(of, one.standing_aud, two.standing_aud),
        missed_frac=mean_of(of, missed),
    )


def best_by(objective: Objective, runs: Runs, drawn: IntArray) -> int:
    """Return which way is best by an objective; of those alike, the best on average."""
    standing_aud = runs.standing_aud[:, drawn]
    mean_aud = standing_aud.mean(axis=1)
    if objective == "mean":
        return int(np.argmax(mean_aud))
    if objective == "worst_tenth":
        looked_at = worst_mean(standing_aud)
    else:
        looked_at = -runs.payment_missed[:, drawn].mean(axis=1)
    return int(np.lexsort([mean_aud, looked_at])[-1])


def told_apart(difference: Estimate) -> bool:
    """Return whether a difference leaves both its errors."""
    ends = [difference.draws_low, difference.draws_high, *difference.headline]
    return all(end > 0.0 for end in ends) or all(end < 0.0 for end in ends)


def chance_of(of: RiversDrawn, happened: BoolArray) -> Estimate:
    """Return the chance of what did or did not happen in each different sequence."""
    return chance(happened[of.drawn], happened[of.resampled].mean(axis=1), of.widened_by)


def mean_of(of: RiversDrawn, values: FloatArray) -> Estimate:
    """Return a mean over the sequences, with both errors."""
    drawn = values[of.drawn]
    half = TWO_SIDED_95_Z * mean_difference_error(drawn, np.zeros_like(drawn))
    return _estimate(float(drawn.mean()), half, values[of.resampled].mean(axis=1), of.widened_by)


def worst_tenth_of(of: RiversDrawn, values: FloatArray) -> Estimate:
    """Return the mean of the lowest tenth, with both errors."""
    drawn = values[of.drawn]
    half = TWO_SIDED_95_Z * worst_mean_error(drawn)
    return _estimate(
        float(worst_mean(drawn)), half, worst_mean(values[of.resampled]), of.widened_by
    )


def worst_tenth_ahead(of: RiversDrawn, one: FloatArray, other: FloatArray) -> Estimate:
    """Return the difference of two lowest tenths on the same sequences, with both errors."""
    a, b = one[of.drawn], other[of.drawn]
    return _estimate(
        float(worst_mean(a) - worst_mean(b)),
        TWO_SIDED_95_Z * worst_difference_error(a, b),
        worst_mean(one[of.resampled]) - worst_mean(other[of.resampled]),
        of.widened_by,
    )


def _estimate(value: float, half: float, again: FloatArray, widened_by: float) -> Estimate:
    """Join a value with both errors; the record's interval always holds the value itself."""
    half = 0.0 if math.isnan(half) else half
    low, high = (value + widened_by * (np.quantile(again, CONFIDENCE_TAILS) - value)).tolist()
    return Estimate(value, value - half, value + half, min(low, value), max(high, value))


def _turned(found: Estimate) -> Estimate:
    """Return an estimate with its sign turned."""
    low, high = found.headline
    return replace(
        found,
        value=-found.value,
        draws_low=-found.draws_high,
        draws_high=-found.draws_low,
        record_low=-high,
        record_high=-low,
    )
