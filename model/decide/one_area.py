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

from model.chances import Estimate, Spread, chance, ordered_quantiles, quantiles_of_rows, spread
from model.decide.driest import Stretch, StretchMet, driest_stretches, met_by
from model.farm.measures import EVENTS, measures_of
from model.farm.river import RiverMonth
from model.farm.run import FarmMonth, FarmResults, gather_farm, run_farm
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray, Settings, opening_farm
from model.outlook import RECORD_RESAMPLES, resampled_rows
from model.record import FloatArray
from model.water_ahead import BAND_FRACS
from model.water_year import MONTHS_IN_YEAR

SEQUENCES: Final = 2_000
FEW_SEQUENCES: Final = 1_000
"""Enough that a megalitre's worth is known to some five dollars."""

DRAWS_EACH: Final = 20
"""Of each resampled record: few, so that a moved control is answered at once; the range is wide."""

AMOUNTS: Final = (
    "area_planted_ha",
    "area_finished_ha",
    "margin_aud",
    "water_carried_ml",
    "closing_cash_aud",
    "planting_usable_ml_per_share",
)


@dataclass(frozen=True, slots=True)
class Rivers:
    """The valley's months as the farm meets them."""

    drawn: list[RiverMonth]  # the plan's sequences
    few: list[RiverMonth]  # the first of them, for work that runs the farm many times
    others: list[RiverMonth]  # resampled records' sequences, and after them the driest stretches
    driest: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class AreaOutcome:
    """What a chosen area and hold-back bring."""

    season: int  # in which the chosen area is planted, from 0
    chances: Mapping[str, Estimate]  # the names of EVENTS, in that season
    missed_in_run: Estimate  # a loan payment missed some time in the run
    past_limit_in_run: Estimate  # the overdraft past its limit some time in the run
    amounts: Mapping[str, tuple[Spread | None, ...]]  # the names of AMOUNTS, by season
    cash_bands_aud: FloatArray  # (BAND_FRACS, month) bank balance at the month's end
    driest: tuple[StretchMet, ...]  # the driest stretches on record, come again from today


def rivers_of(setting: FarmSetting) -> Rivers:
    """Run the valley once for all choices."""
    drawn = next(setting.valley.batches()).rows[:SEQUENCES]
    rows, how = resampled_rows(setting.valley)
    by_record = rows.reshape(how.resamples, how.draws_each, -1)[:, :DRAWS_EACH]
    driest, their_rows = driest_stretches(setting.valley.record, setting.valley.calendar)
    others = np.concatenate([by_record.reshape(-1, rows.shape[1]), their_rows])
    return Rivers(
        drawn=setting.river(drawn),
        few=setting.river(drawn[:FEW_SEQUENCES]),
        others=setting.river(others),
        driest=driest,
    )


def outcome_of_area(
    setting: FarmSetting,
    rivers: Rivers,
    *,
    strategy: int,
    area_ha: float,
    hold_back_ml_per_share: float,
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
    """
    settings = replace(
        setting.settings.part(strategy, strategy + 1),
        first_area_ha=np.array([[area_ha]]),
        hold_back_ml_per_share=np.array([[hold_back_ml_per_share]]),
    )
    cash: list[FloatArray] = []
    now = _results(setting, rivers.drawn, settings, cash)
    others, resampled = (
        _results(setting, rivers.others, settings, []),
        RECORD_RESAMPLES * DRAWS_EACH,
    )
    again, dry = (others.of_sequences(part) for part in (slice(resampled), slice(resampled, None)))
    season = first_season(setting, rivers)
    happened = {name: event(now, setting.rules) for name, event in EVENTS.items()}
    happened_again = {name: event(again, setting.rules) for name, event in EVENTS.items()}

    def odds(now: BoolArray, again: BoolArray) -> Estimate:
        return chance(now[0], again[0].reshape(RECORD_RESAMPLES, -1).mean(axis=1))

    def in_run(name: str) -> Estimate:
        return odds(np.asarray(happened[name].any(-1)), np.asarray(happened_again[name].any(-1)))

    return AreaOutcome(
        season=season,
        chances={
            name: odds(happened[name][..., season], happened_again[name][..., season])
            for name in EVENTS
        },
        missed_in_run=in_run("payment_missed"),
        past_limit_in_run=in_run("past_overdraft_limit"),
        amounts={name: _by_season(now[name][0], again[name][0]) for name in AMOUNTS},
        cash_bands_aud=ordered_quantiles(np.sort(np.stack(cash, axis=1), axis=0), BAND_FRACS),
        driest=met_by(rivers.driest, dry, setting.rules, setting.valley.calendar),
    )


def first_season(setting: FarmSetting, rivers: Rivers) -> int:
    """Give the season of the first planting that is still ahead, from 0."""
    t = (setting.rules.crop.planting_k - rivers.drawn[0].k) % MONTHS_IN_YEAR
    return min(setting.valley.calendar.season_of(t), setting.valley.calendar.seasons - 1)


def _results(
    setting: FarmSetting, river: list[RiverMonth], settings: Settings, cash: list[FloatArray]
) -> FarmResults:
    """Run the farm; the bank balance of each month is added to `cash`."""
    opening = opening_farm(
        setting.farm.opening,
        setting.valley.plan.opening,
        setting.rules,
        settings.count,
        river[0].storage_frac.size,
    )

    def watched() -> Iterator[FarmMonth]:
        for month in run_farm(opening, settings, river, setting.expectation, setting.rules):
            cash.append(month.end.bank_aud[0])
            yield month

    calendar, rules = setting.valley.calendar, setting.rules
    return measures_of(gather_farm(opening, watched(), calendar, rules), rules, calendar)


def _by_season(now: FloatArray, again: FloatArray) -> tuple[Spread | None, ...]:
    """Give the spread of an amount in each season; None where there is none."""
    return tuple(
        None
        if np.isnan(now[:, season]).any()
        else spread(
            now[:, season],
            quantiles_of_rows(again[:, season].reshape(RECORD_RESAMPLES, -1)),
        )
        for season in range(now.shape[1])
    )
