"""What does an area chosen today bring, with so much water kept for a lean season?

One strategy is followed on the plan's sequences, but for what is chosen by hand: the area of the
crop that the date asks about, planted or watered to the end, and the hold of later plantings. The
runs of the valley are made once and serve every choice. Chances carry the error of the draws and of
the record.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.decide.decision import decision_of, way_of
from model.decide.driest import StretchMet, met_by
from model.decide.rivers import Rivers, spread_of
from model.decide.season_water import WaterMet
from model.decide.ways import Way, chance_of, finished_in, months_of
from model.farm.measures import EVENTS, measures_of
from model.farm.run import FarmMonth, FarmResults, gather_farm
from model.farm.setting import FarmSetting
from model.outlook.ahead import BAND_FRACS
from model.outlook.chances import Estimate, Spread, ordered_quantiles
from model.outlook.dots import dots_of
from model.record.record import FloatArray
from model.sequences.unique import laid_out

AMOUNTS: Final = (
    "area_planted_ha",
    "area_finished_ha",
    "margin_aud",
    "water_carried_ml",
    "closing_cash_aud",
    "planting_usable_ml_per_share",
)


@dataclass(frozen=True, slots=True)
class AreaOutcome:
    """What a chosen area and hold bring."""

    season: int  # whose crop is decided on, from 0
    finished: Estimate  # of the area: watered in full to the end
    chances: Mapping[str, Estimate]  # the names of EVENTS, in that season
    missed_in_run: Estimate  # a loan payment missed some time in the run
    past_limit_in_run: Estimate  # the overdraft past its limit some time in the run
    amounts: Mapping[str, tuple[Spread | None, ...]]  # the names of AMOUNTS, by season
    water_ml: tuple[FloatArray | None, ...]  # (dot,) usable by the finish month, by season
    cash_bands_aud: FloatArray  # (BAND_FRACS, month) bank balance at the month's end
    driest: tuple[StretchMet, ...]  # the driest stretches on record, come again from today


def outcome_of_area(
    setting: FarmSetting, rivers: Rivers, *, strategy: int, area_ha: float
) -> AreaOutcome:
    """Run a chosen area.

    Parameters
    ----------
    setting, rivers
        The farm, and the valley's months as it meets them; a hold chosen by hand is the setting's
        (`FarmSetting.holding`).
    strategy
        Which of the setting's strategies is followed otherwise.
    area_ha
        Planted next as far as land is ready; with the crop in the ground, watered to the end.
    """
    decision = decision_of(setting, strategy)
    way = way_of(setting, decision, strategy, area_ha)
    cash: list[FloatArray] = []
    water = WaterMet()
    results = _results(setting, rivers, way, cash, water)
    happened = {
        name: np.asarray(event(results, setting.rules)[0]) for name, event in EVENTS.items()
    }

    def in_run(name: str) -> Estimate:
        return chance_of(rivers.of, np.asarray(happened[name].any(axis=-1)))

    dry = results.of_sequences(rivers.of.of_driest)
    parents = [month.parents for month in rivers.months]
    by_month = np.sort(np.stack(laid_out(cash, parents, rivers.of.drawn)), axis=1)
    finished = finished_in(results, way, decision.season, setting.rules)[0]
    return AreaOutcome(
        season=decision.season,
        finished=chance_of(rivers.of, finished),
        chances={
            name: chance_of(rivers.of, of[:, decision.season]) for name, of in happened.items()
        },
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


def _results(
    setting: FarmSetting, rivers: Rivers, way: Way, cash: list[FloatArray], water: WaterMet
) -> FarmResults:
    """Run the farm; the bank balance of each month is added to `cash`, its water to `water`."""

    def watched() -> Iterator[FarmMonth]:
        for month in months_of(setting, rivers.months, way):
            cash.append(month.end.bank_aud[0])
            water.see(month, setting.rules)
            yield month

    calendar, rules = setting.valley.calendar, setting.rules
    return measures_of(gather_farm(way.opening, watched(), calendar, rules), rules, calendar)


def _by_season(rivers: Rivers, amounts: FloatArray) -> tuple[Spread | None, ...]:
    """Return the spread of an amount, (sequence, season), by season; None where there is none."""
    return tuple(spread_of(rivers.of, amounts[:, season]) for season in range(amounts.shape[1]))
