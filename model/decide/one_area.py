"""What does planting so much, and holding back so much, bring?

One strategy is followed on the plan's sequences, but for the first planting: its area is chosen by
hand, and so is the water held back at every later one. The runs of the valley are made once and
serve every choice. Chances carry the error of the draws and of the record.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.decide.driest import Stretch, StretchMet, driest_stretches, met_by
from model.decide.season_water import WaterMet
from model.farm.measures import EVENTS, measures_of
from model.farm.river import RiverMonth
from model.farm.run import FarmMonth, FarmResults, gather_farm, run_farm
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray, Settings
from model.outlook.ahead import BAND_FRACS
from model.outlook.chances import (
    Estimate,
    Spread,
    chance,
    ordered_quantiles,
    quantiles_of_rows,
    spread,
)
from model.outlook.dots import dots_of
from model.outlook.outlook import resampled_sequences
from model.outlook.setting import Setting
from model.record.record import FloatArray
from model.sequences.slices import IntArray, Sequences
from model.sequences.unique import Leg, forebears, laid_out, legs_of, unique_sequences
from model.sequences.years import years_of
from model.water_year import MONTHS_IN_YEAR

SEQUENCES: Final = 5_000
AMOUNTS: Final = (
    "area_planted_ha",
    "area_finished_ha",
    "margin_aud",
    "water_carried_ml",
    "closing_cash_aud",
    "planting_usable_ml_per_share",
)


@dataclass(frozen=True, slots=True)
class RiversDrawn:
    """What may come. It does not depend on where dam and accounts stand, nor on the rules.

    The plan's sequences, those of the resampled records, one record after the other, and the driest
    stretches: each is told by its place among the different ones.
    """

    legs: tuple[Leg, ...]  # of the different sequences, which are one until they part
    drawn: IntArray  # (sequence,) places of the plan's sequences
    resampled: IntArray  # (resample, draw) places of the resampled records'
    widened_by: float  # how far intervals of the record are
    of_driest: IntArray  # (stretch,) places of the driest stretches
    driest: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Rivers:
    """The valley's months as the farm meets them, of all the different sequences at once."""

    months: list[RiverMonth]
    of: RiversDrawn


@dataclass(frozen=True, slots=True)
class AreaOutcome:
    """What a chosen area and hold-back bring."""

    season: int  # in which the chosen area is planted, from 0; the last where none is ahead
    planting_ahead: bool
    chances: Mapping[str, Estimate]  # the names of EVENTS, in that season
    missed_in_run: Estimate  # a loan payment missed some time in the run
    past_limit_in_run: Estimate  # the overdraft past its limit some time in the run
    amounts: Mapping[str, tuple[Spread | None, ...]]  # the names of AMOUNTS, by season
    water_ml: tuple[FloatArray | None, ...]  # (dot,) usable by the finish month, by season
    cash_bands_aud: FloatArray  # (BAND_FRACS, month) bank balance at the month's end
    driest: tuple[StretchMet, ...]  # the driest stretches on record, come again from today


def draw_rivers(
    setting: Setting, sequences: int = SEQUENCES, resamples: int | None = None
) -> RiversDrawn:
    """Draw all that choices are tried on; it serves every plan with this drawing and month.

    Parameters
    ----------
    setting
        Plan and record.
    sequences
        At most so many of the plan's own.
    resamples
        At most so many of the resampled records; all if left out.
    """
    drawn = setting.first_sequences(sequences)
    resampled, how = resampled_sequences(setting)
    records = min(how.resamples, resamples or how.resamples)
    resampled = resampled[: records * how.draws_each]
    driest, their_rows = driest_stretches(setting.record, setting.calendar)
    years = years_of(setting.plan, setting.record.months, setting.calendar.slices)
    different = unique_sequences(Sequences.joined([drawn, resampled, their_rows])).meeting(years)
    ends = np.cumsum([len(drawn), len(resampled)])
    places, places_again, places_driest = np.split(different.places, ends)
    return RiversDrawn(
        legs=legs_of(different.sequences, different.kinds),
        drawn=places,
        resampled=places_again.reshape(records, how.draws_each),
        widened_by=how.widening.factor,
        of_driest=places_driest,
        driest=driest,
    )


def rivers_of(setting: FarmSetting, drawn: RiversDrawn | None = None) -> Rivers:
    """Run the valley once for all choices, through what was drawn before or is drawn now."""
    drawn = drawn or draw_rivers(setting.valley)
    return Rivers(setting.river_of_legs(drawn.legs), drawn)


def outcome_of_area(
    setting: FarmSetting,
    rivers: Rivers,
    *,
    strategy: int,
    area_ha: float,
    hold_back_ml_per_share: float,
    hold_above_ml_per_share: float | None = None,
) -> AreaOutcome:
    """Run a chosen area and hold-back.

    Parameters
    ----------
    setting, rivers
        The farm, and the valley's months as it meets them.
    strategy
        Which of the setting's strategies is followed otherwise.
    area_ha
        Planted first, as far as land is ready.
    hold_back_ml_per_share
        Left out of the sum at later plantings.
    hold_above_ml_per_share
        Only what is in sight above this is held; None: as the strategy has it.
    """
    settings = replace(
        setting.settings.one(strategy),
        first_area_ha=np.array([[area_ha]]),
        hold_back_ml_per_share=np.array([[hold_back_ml_per_share]]),
    )
    if hold_above_ml_per_share is not None:
        settings = replace(settings, hold_above_ml_per_share=np.array([[hold_above_ml_per_share]]))
    cash: list[FloatArray] = []
    water = WaterMet()
    results = _results(setting, rivers, settings, cash, water)
    planted_in = planting_season(setting, rivers)
    season = min(planted_in, setting.valley.calendar.seasons - 1)
    happened = {
        name: np.asarray(event(results, setting.rules)[0]) for name, event in EVENTS.items()
    }

    def in_run(name: str) -> Estimate:
        return _odds(rivers, np.asarray(happened[name].any(axis=-1)))

    dry = results.of_sequences(rivers.of.of_driest)
    parents = [month.parents for month in rivers.months]
    by_month = np.sort(np.stack(laid_out(cash, parents, rivers.of.drawn)), axis=1)
    return AreaOutcome(
        season=season,
        planting_ahead=planted_in == season,
        chances={name: _odds(rivers, happened[name][:, season]) for name in EVENTS},
        missed_in_run=in_run("payment_missed"),
        past_limit_in_run=in_run("past_overdraft_limit"),
        amounts={name: _by_season(rivers, results[name][0]) for name in AMOUNTS},
        water_ml=tuple(
            None if met is None else dots_of(met)
            for met in water.by_season([month.season for month in rivers.months], rivers.of.drawn)
        ),
        cash_bands_aud=ordered_quantiles(by_month.T, BAND_FRACS),
        driest=met_by(rivers.of.driest, dry, setting.rules, setting.valley.calendar),
    )


def own_area(setting: FarmSetting, rivers: Rivers, strategy: int) -> Spread | None:
    """Return what a strategy would plant itself at the planting ahead, ha; None where none is.

    Parameters
    ----------
    setting, rivers
        The farm, and the valley's months as it meets them.
    strategy
        Which of the setting's strategies.
    """
    t = _planting_t(setting, rivers)
    if t >= len(rivers.months):
        return None
    settings = setting.settings.one(strategy)
    until, after = rivers.months[: t + 1], rivers.months[t + 1 :]
    opening = setting.opening(until, settings.count)
    for month in run_farm(opening, settings, until, setting.expectation, setting.rules):
        planted_ha = month.end.planted_ha(setting.rules)[0]
    everyone = np.arange(rivers.months[-1].storage_frac.size)
    return _spread(rivers, planted_ha[forebears([met.parents for met in after], everyone)])


def most_area_ha(setting: FarmSetting, rivers: Rivers, strategy: int) -> float:
    """Return the most that can be planted next, ha: land made ready; all where that is to come."""
    prepared_in = int(setting.settings.prepare_k[strategy, 0]) - rivers.months[0].k
    still_chosen = prepared_in % MONTHS_IN_YEAR <= _planting_t(setting, rivers)
    limit_ha = float(setting.rules.crop.land_limit_ha)
    return limit_ha if still_chosen else min(limit_ha, setting.farm.opening.prepared_ha)


def planting_season(setting: FarmSetting, rivers: Rivers) -> int:
    """Return the season of the next planting, from 0; past the last where none is ahead."""
    return setting.valley.calendar.season_of(_planting_t(setting, rivers))


def _planting_t(setting: FarmSetting, rivers: Rivers) -> int:
    """Return the month of the run, from 0, of the next planting; past the last where none is."""
    return (setting.rules.crop.planting_k - rivers.months[0].k) % MONTHS_IN_YEAR


def _results(
    setting: FarmSetting,
    rivers: Rivers,
    settings: Settings,
    cash: list[FloatArray],
    water: WaterMet,
) -> FarmResults:
    """Run the farm; the bank balance of each month is added to `cash`, its water to `water`."""
    opening = setting.opening(rivers.months, settings.count)

    def watched() -> Iterator[FarmMonth]:
        for month in run_farm(opening, settings, rivers.months, setting.expectation, setting.rules):
            cash.append(month.end.bank_aud[0])
            water.see(month, setting.rules)
            yield month

    calendar, rules = setting.valley.calendar, setting.rules
    return measures_of(gather_farm(opening, watched(), calendar, rules), rules, calendar)


def _odds(rivers: Rivers, happened: BoolArray) -> Estimate:
    """Return the chance of what did or did not happen in each sequence."""
    of = rivers.of
    return chance(happened[of.drawn], happened[of.resampled].mean(axis=1), of.widened_by)


def _by_season(rivers: Rivers, amounts: FloatArray) -> tuple[Spread | None, ...]:
    """Return the spread of an amount, (sequence, season), by season; None where there is none."""
    return tuple(_spread(rivers, amounts[:, season]) for season in range(amounts.shape[1]))


def _spread(rivers: Rivers, amounts: FloatArray) -> Spread | None:
    """Return the spread of an amount, (sequence,); None where there is none."""
    drawn = amounts[rivers.of.drawn]
    if np.isnan(drawn).any():
        return None
    again = quantiles_of_rows(amounts[rivers.of.resampled])
    return spread(drawn, again, rivers.of.widened_by)
