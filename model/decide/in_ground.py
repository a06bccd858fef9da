"""What stands in the ground as the run opens: does it finish, and is it worth finishing?

Water to finish is the farm's own rule: to the stress level at the end of its last month of loss, in
average weather. The cost to come leaves out what is spent: growing and picking from today, and the
charge on the water that finishes it. It is worth finishing in a sequence where the yield that comes
pays that cost; in one where nothing is picked it is not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from model.farm.finish import to_finish_ml_per_ha
from model.farm.measures import EVENTS, of_layout
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray, Field, opening_farm
from model.outlook.chances import Estimate
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

Odds = Callable[[BoolArray, BoolArray], Estimate]


@dataclass(frozen=True, slots=True)
class InGround:
    """A crop in a row layout in the ground."""

    crop: str
    layout: str
    unit: str
    area_ha: float
    watered_ha: float  # of it, still watered
    last_watering_k: int | None  # month of the water year; None: it gets no more water
    to_finish_ml_per_ha: float  # 0 where it gets none
    to_come_aud_per_ha: float  # growing, water and what is paid a hectare at harvest
    worth_from_units_per_ha: float  # a yield from which on it pays that; infinite: never
    finishes: Estimate | None  # fully watered to the end; None: it gets no more water
    worth_finishing: Estimate


def in_ground(
    setting: FarmSetting, drawn: FarmResults, again: FarmResults, odds: Odds
) -> tuple[InGround, ...]:
    """Return what stands in the ground as the run opens, crop by crop.

    Parameters
    ----------
    setting
        The farm.
    drawn, again
        What every season brought under one strategy, (sequence, season): the plan's sequences,
        and those of resampled records.
    odds
        Makes a chance of where something happened, in both.
    """
    return tuple(
        _one(setting.rules, setting, at, field, drawn, again, odds)
        for at, field in _fields(setting)
    )


def _fields(setting: FarmSetting) -> Iterator[tuple[int, Field]]:
    """Yield the fields that hold a crop, with their places among row layouts."""
    opening = opening_farm(setting.farm.opening, setting.valley.plan.opening, setting.rules, 1, 1)
    for at, field in enumerate(opening.fields):
        if field is not None and float(field.sown_ha.max()) > 0.0:
            yield at, field


def _one(
    rules: FarmRules,
    setting: FarmSetting,
    at: int,
    field: Field,
    drawn: FarmResults,
    again: FarmResults,
    odds: Odds,
) -> InGround:
    """Return one crop in the ground."""
    layout, growing = rules.layouts[at], rules.growings[at]
    k = month_of_water_year(setting.valley.calendar.opening_month)
    watered_ha = float(field.watered_ha.max())
    gets_water = watered_ha > 0.0 and growing.is_watered_in(k)
    finish_ml = float(to_finish_ml_per_ha(growing, field, k)[0, 0]) if gets_water else 0.0
    to_come_aud = (
        float(layout.growing_cost_ahead_aud_per_ha[k])
        + layout.harvest_cost_aud_per_ha
        + finish_ml * rules.cash.usage_aud_per_ml
    )
    leaves_aud = layout.price_aud_per_unit - layout.harvest_cost_aud_per_unit
    worth_from = to_come_aud / leaves_aud if leaves_aud > 0.0 else np.inf
    season = 0 if layout.harvest_k >= k else 1

    def is_worth(found: FarmResults) -> BoolArray:
        units = np.nan_to_num(of_layout(found, "yield_units_per_ha", at)[..., season])
        return np.asarray(units > worth_from)

    def finishes(found: FarmResults) -> BoolArray:
        return ~EVENTS["ran_short"](found, rules)[..., season]

    is_main = at in rules.crop.places
    return InGround(
        crop=layout.crop,
        layout=layout.layout,
        unit=layout.unit,
        area_ha=float(field.sown_ha.max()),
        watered_ha=watered_ha,
        last_watering_k=last_watering_k(growing.is_watered_in, k) if gets_water else None,
        to_finish_ml_per_ha=finish_ml,
        to_come_aud_per_ha=to_come_aud,
        worth_from_units_per_ha=worth_from,
        finishes=odds(finishes(drawn), finishes(again)) if gets_water and is_main else None,
        worth_finishing=odds(is_worth(drawn), is_worth(again)),
    )


def last_watering_k(is_watered_in: Callable[[int], bool], k: int) -> int:
    """Return the last month of the water year, from `k` on, in which a crop is watered."""
    last = k
    while is_watered_in((last + 1) % MONTHS_IN_YEAR):
        last = (last + 1) % MONTHS_IN_YEAR
    return last
