"""What is to be decided on the plan's date, and what are the ways of answering?

The year asks three questions. From the last watering to June: carry, sell, buy, or sow wheat by
30 June. From July to planting: how much to fertilise and plant. From then to the last watering: how
much of the crop in the ground to finish; with none in the ground, the question of autumn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from model.decide.ways import Way
from model.farm.rules import FarmRules
from model.farm.setting import FarmSetting
from model.farm.state import FarmState, Field, Settings, opening_farm
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

Question = Literal["carry", "plant", "finish"]


@dataclass(frozen=True, slots=True)
class Decision:
    """A question of the date, and where it stands in the run."""

    question: Question
    k: int  # month of the water year in which it is asked
    season: int  # whose crop it is about, from 0
    planting_t: int | None  # month of the run, from 0; None: the crop is in the ground
    most_ha: float  # that may be planted, or is in the ground


def decision_of(setting: FarmSetting, strategy: int) -> Decision:
    """Find what is to be decided on the plan's date.

    Parameters
    ----------
    setting
        The farm, as the plan's date has it.
    strategy
        Which of its strategies is followed otherwise.
    """
    crop, calendar = setting.rules.crop, setting.valley.calendar
    k = month_of_water_year(calendar.opening_month)
    in_ground_ha = _in_ground_ha(setting)
    if crop.planting_k < k < crop.last_watering_k and in_ground_ha > 0.0:
        return Decision("finish", k, 0, None, in_ground_ha)
    planting_t = (crop.planting_k - k) % MONTHS_IN_YEAR
    return Decision(
        question="plant" if k <= crop.planting_k else "carry",
        k=k,
        season=calendar.season_of(planting_t),
        planting_t=planting_t,
        most_ha=most_prepared_ha(setting, strategy, planting_t),
    )


def today(setting: FarmSetting, ways: int = 1) -> FarmState:
    """Put the farm where the plan says it stands, under so many ways, (way, 1)."""
    plan = setting.valley.plan
    return opening_farm(setting.farm.opening, plan.opening, setting.rules, ways, 1)


def _in_ground_ha(setting: FarmSetting) -> float:
    """Return the land on which the main crop is still watered."""
    opening = today(setting)
    return float(sum(field.watered_ha[0, 0] for field in opening.main_fields(setting.rules)))


def prepares_ahead(setting: FarmSetting, strategy: int, planting_t: int) -> bool:
    """Return whether land for the planting ahead is still to be chosen."""
    k = month_of_water_year(setting.valley.calendar.opening_month)
    prepare_k = int(setting.settings.prepare_k[strategy, 0])
    return prepare_k >= 0 and (prepare_k - k) % MONTHS_IN_YEAR <= planting_t


def most_prepared_ha(setting: FarmSetting, strategy: int, planting_t: int) -> float:
    """Return the most that can be planted: land prepared; all where that is to be chosen."""
    limit_ha = float(setting.rules.crop.land_limit_ha)
    if prepares_ahead(setting, strategy, planting_t):
        return limit_ha
    if int(setting.settings.prepare_k[strategy, 0]) < 0:
        return limit_ha
    return min(limit_ha, setting.farm.opening.prepared_ha)


def areas_of(decision: Decision, count: int) -> tuple[float, ...]:
    """Return areas from none to the most, evenly spaced."""
    return tuple(float(area) for area in np.linspace(0.0, decision.most_ha, count))


def way_of(
    setting: FarmSetting, decision: Decision, strategy: int, area_ha: float | None = None
) -> Way:
    """Return a strategy as a way, the area of the season's crop chosen by hand or left to it.

    Parameters
    ----------
    setting, decision
        The farm, and what is decided.
    strategy
        Which of its strategies is followed otherwise.
    area_ha
        Planted, or with the crop in the ground still watered, to the end; None: by the strategy.
    """
    own, opening = setting.settings.one(strategy), today(setting)
    if area_ha is None:
        return Way(own, opening)
    if decision.planting_t is not None:
        return Way(replace(own, first_area_ha=np.array([[area_ha]])), opening)
    settings, cut = finishing(own, opening, np.array([[area_ha]]), setting.rules)
    return Way(settings, cut, until_t=setting.valley.calendar.last_t(0), after=own)


def finishing(
    own: Settings, state: FarmState, area_ha: FloatArray, rules: FarmRules
) -> tuple[Settings, FarmState]:
    """Return how so much of the main crop is watered to the end, whatever it costs the rest.

    Parameters
    ----------
    own
        The strategies followed otherwise.
    state
        The farm, (way, 1) or (way, sequence).
    area_ha
        Still watered, of all row layouts together, (way, 1); the rest lives on rain.
    rules
        The farm's.
    """
    settings = replace(own, spreads_shortage=np.ones_like(own.spreads_shortage))
    return settings, _keeping(state, area_ha, rules)


def _keeping(opening: FarmState, area_ha: FloatArray, rules: FarmRules) -> FarmState:
    """Return the farm with so much of its main crop still watered; the rest lives on rain."""
    fields: list[Field | None] = list(opening.fields)
    watered_ha = sum(field.watered_ha for field in opening.main_fields(rules))
    kept_frac = np.minimum(1.0, area_ha / watered_ha)
    for at in rules.crop.places:
        if (field := fields[at]) is not None:
            kept_ha = field.watered_ha * kept_frac
            fields[at] = replace(
                field,
                watered_ha=kept_ha,
                dry_ha=field.dry_ha + field.watered_ha - kept_ha,
                dry=field.watered,
            )
    return replace(opening, fields=tuple(fields))


def only_own_water(settings: Settings) -> Settings:
    """Return strategies that neither buy nor sell after today."""
    return replace(
        settings,
        buy_up_to_ml=np.zeros_like(settings.buy_up_to_ml),
        sell_above_aud_per_ml=np.full_like(settings.sell_above_aud_per_ml, np.inf),
    )


def nearest(areas_ha: Sequence[float], area_ha: float) -> int:
    """Return the place of the area nearest to one."""
    return int(np.argmin(np.abs(np.subtract(areas_ha, area_ha))))
