"""What are the odds of water in each of the next seasons, and how sure are they?

The valley is run through every drawn sequence from where it stands today. Each amount and chance
is given with the error of the draws, and with the error of the record: the record's years are
resampled in blocks, fewer sequences are drawn from each resampled record, and the valley is run
again; the interval is then widened for the memory that blocks forget.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.outlook.chances import Estimate, Spread, chance, quantiles_of_rows, spread
from model.outlook.lazy import LazyResults
from model.outlook.seasons import POINTS, WATER, SeasonResults, water_at
from model.outlook.setting import (
    MANY_SEQUENCES,
    Progress,
    Setting,
    play_sequences,
    setting_of,
)
from model.plan.plan import Plan
from model.record.record import Record
from model.record.widening import Widening, widening
from model.sequences.blocks import Blocks
from model.sequences.draw import asked_block_years, draw_resampled
from model.sequences.slices import Sequences
from model.sequences.view import RECORD_POOL_SEQUENCES, ViewRuns
from model.streams import Stream, generator
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR

RECORD_RESAMPLES: Final = 200
"""Resampled records: enough that the ends of a 95 % interval rest on five of them each."""

DRAWS_EACH: Final = 125
"""Sequences drawn from each resampled record (their own error is then in the interval too)."""

NOTHING_ML_PER_SHARE: Final = 1e-9
"""An announcement at or below this is none: rounding, not water."""

SEASON_AMOUNTS: Final = (
    "announced_to_date_ml_per_share",
    "credited_ml_per_share",
    "high_security_allocation_frac",
    "storage_end_ml",
)
"""The amounts whose spread is published for each season."""

ODDS_NAMES: Final = (
    "announced_ml_per_share",
    *SEASON_AMOUNTS,
    *(name for point in POINTS for name in water_at(point)),
)
"""What the odds are worked out from; of very many sequences nothing else is kept."""


@dataclass(frozen=True, slots=True)
class PointOutlook:
    """General-security water at one month of a season."""

    month: int  # month number
    amounts: Mapping[str, Spread]  # the names of WATER


@dataclass(frozen=True, slots=True)
class SeasonOutlook:
    """The odds of one season."""

    water_year: str
    first_month: int  # of the season's months in the run, month number
    last_month: int
    amounts: Mapping[str, Spread]  # the names of SEASON_AMOUNTS
    chance_none: Estimate  # that nothing more is announced in the season's months in the run
    chance_none_so_far: Estimate  # that nothing is announced in this season or any before it
    planting: PointOutlook | None
    finish: PointOutlook | None
    end: PointOutlook


@dataclass(frozen=True, slots=True)
class RecordResampling:
    """How the error of the record was worked out."""

    resamples: int
    draws_each: int
    block_years: float
    widening: Widening  # of the intervals, for the memory that blocks forget


@dataclass(frozen=True, slots=True)
class Outlook:
    """The odds of all seasons looked at."""

    plan: Plan
    record: Record
    method: Mapping[str, str | float]
    count: int
    seasons: tuple[SeasonOutlook, ...]
    record_error: RecordResampling
    view_runs: ViewRuns | None  # where the user has a view


def odds_of_water(plan: Plan, record: Record, progress: Progress | None = None) -> Outlook:
    """Work out the odds of water that a plan asks for.

    Raises
    ------
    PlanError
        Plan and record do not fit together.

    Examples
    --------
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> odds = odds_of_water(plan.with_drawing(count=200), record)
    >>> odds.count, [season.water_year for season in odds.seasons]
    (200, ['2025-26', '2026-27', '2027-28'])
    """
    setting = setting_of(plan, record)
    _, results = play_sequences(setting, progress, ODDS_NAMES)
    return outlook_of(setting, results)


def outlook_of(
    setting: Setting,
    results: SeasonResults,
    again: tuple[SeasonResults, RecordResampling] | None = None,
) -> Outlook:
    """Turn what the seasons brought into odds, with both errors.

    Parameters
    ----------
    setting, results
        Plan and record; what the seasons of its sequences brought.
    again
        What they brought in the sequences of `resampled_sequences`, in their order, and how those
        were drawn; drawn and run if left out.
    """
    resampled, how = again or play_resampled(setting)
    count = results.count

    def of_season(season: int) -> SeasonOutlook:
        return _season_outlook(setting, season, results, resampled, how)

    numbers = range(setting.calendar.seasons)
    if count < MANY_SEQUENCES:
        seasons = tuple(map(of_season, numbers))
    else:
        with ThreadPoolExecutor() as pool:  # ordering long arrays is work that threads can share
            seasons = tuple(pool.map(lambda season: _worked_out(of_season(season)), numbers))
    return Outlook(
        plan=setting.plan,
        record=setting.record,
        method=setting.method.settings(),
        count=count,
        seasons=seasons,
        record_error=how,
        view_runs=setting.view_runs(),
    )


def _worked_out(season: SeasonOutlook) -> SeasonOutlook:
    """Return a season with all its amounts, which else are worked out when they are asked for."""
    points = (season.planting, season.finish, season.end)
    for amounts in (season.amounts, *(point.amounts for point in points if point is not None)):
        dict(amounts)
    return season


def play_resampled(setting: Setting) -> tuple[SeasonResults, RecordResampling]:
    """Run the valley through the sequences of all resampled records, one record after the other.

    What the assessment counts on stays that of the observed record: it is a rule of the valley.
    """
    sequences, how = resampled_sequences(setting)
    return setting.played(sequences), how


def resampled_sequences(setting: Setting) -> tuple[Sequences, RecordResampling]:
    """Draw sequences from records whose years were resampled in blocks; the method is refitted."""
    slices, calendar, seed = setting.slices, setting.calendar, setting.plan.sequences.seed
    block_years = asked_block_years(slices, "stationary")
    resampling = Blocks("stationary", block_years)
    orders = resampling.draw(
        slices, slices.count, RECORD_RESAMPLES, rng=generator(seed, Stream.RECORD_RESAMPLES)
    )
    rngs = [generator(seed, Stream.RECORD_RESAMPLES, each) for each in range(RECORD_RESAMPLES)]
    asked = DRAWS_EACH if setting.viewed is None else RECORD_POOL_SEQUENCES
    drawn = draw_resampled(setting.method, slices, calendar, orders, asked, rngs)
    if setting.viewed is not None:
        each = len(drawn) // RECORD_RESAMPLES
        pools = (drawn[each * at : each * (at + 1)] for at in range(RECORD_RESAMPLES))
        taken = (setting.viewed.taken(pool, DRAWS_EACH, strict=False) for pool in pools)
        drawn = Sequences.joined(taken)
    how = RecordResampling(
        RECORD_RESAMPLES,
        len(drawn) // RECORD_RESAMPLES,
        block_years,
        widening(slices.totals_ml, block_years),
    )
    return drawn, how


def _season_outlook(
    setting: Setting,
    season: int,
    results: SeasonResults,
    resampled: SeasonResults,
    how: RecordResampling,
) -> SeasonOutlook:
    """Work out the odds of one season (from 0)."""
    calendar = setting.calendar

    def odds(name: str) -> Spread:
        by_record = resampled[name][:, season].reshape(how.resamples, how.draws_each)
        values = results[name][:, season]
        return spread(values, quantiles_of_rows(by_record), how.widening.factor)

    def chance_of(event: Callable[[SeasonResults], NDArray[np.bool_]]) -> Estimate:
        again = event(resampled).reshape(how.resamples, -1).mean(axis=1)
        return chance(event(results), again, how.widening.factor)

    def point(name: str, k: int) -> PointOutlook | None:
        t = calendar.t_of(season, k)
        if t is None:
            return None
        amounts = LazyResults(WATER, lambda amount: odds(f"{name}_{amount}"))
        return PointOutlook(calendar.opening_month + t, amounts)

    end = point("end", MONTHS_IN_YEAR - 1)
    assert end is not None  # the last month of a season is always in the run
    return SeasonOutlook(
        water_year=calendar.water_year(season),
        first_month=calendar.opening_month + calendar.first_t(season),
        last_month=calendar.opening_month + calendar.last_t(season),
        amounts=LazyResults(SEASON_AMOUNTS, odds),
        chance_none=chance_of(lambda played: none_announced(played)[:, season]),
        chance_none_so_far=chance_of(
            lambda played: np.all(none_announced(played)[:, : season + 1], axis=1)
        ),
        planting=point("planting", MONTH_NAMES.index(setting.plan.outlook.planting_month)),
        finish=point("finish", MONTH_NAMES.index(setting.plan.outlook.finish_month)),
        end=end,
    )


def none_announced(results: SeasonResults) -> NDArray[np.bool_]:
    """(sequence, season) whether nothing more was announced in the season's months in the run."""
    none: NDArray[np.bool_] = results["announced_ml_per_share"] <= NOTHING_ML_PER_SHARE
    return none
