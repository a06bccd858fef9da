"""How are the crops watered in a month, and what does the month do to them?

Every crop in the ground asks for its need; water is taken for all of them together and shared by
what each asked for. Land that is watered and land on rain alone go through the same root zone.
Arrays are (strategy, sequence).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.farm.farm_weather import MonthWeather
from model.farm.growing import Growing
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.soil import Soil, SomeLand
from model.farm.state import FarmState, Field
from model.farm.water import Taken, after_taking, take_water
from model.farm.watering import need_mm, pre_water_mm, through_month
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class CropMonth:
    """What a month's watering was, each (strategy, sequence)."""

    need_ml: FloatArray  # at the farm gate
    taken: Taken
    used_ml: tuple[FloatArray | None, ...]  # by growing; None: not watered in the month


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a field asks for in a month."""

    pre_mm: FloatArray | float
    all_mm: FloatArray  # pre-water and need
    ml: FloatArray  # all of it, at the farm gate


def water_crop(
    state: FarmState, usable: FloatArray, river: RiverMonth, rules: FarmRules
) -> tuple[FarmState, CropMonth]:
    """Water what grows, and take every field through the month.

    Parameters
    ----------
    state
        The farm after the month's decisions.
    usable
        Of the account, ML per share.
    river, rules
        The month and the farm.
    """
    none = nothing_like(usable)
    grown = tuple(zip(rules.growings, state.fields, strict=True))
    asked = [_asked(growing, field, river) for growing, field in grown]
    asked_ml = sum((each.ml for each in asked if each is not None), none)
    taken, frac = Taken(none, none, none, none, none), none
    if any(each is not None for each in asked):
        taken = take_water(asked_ml, state, usable, river, rules.water)
        state = after_taking(state, taken, river, rules.water)
        frac = part_of(taken.total_ml, asked_ml)
    fields = tuple(
        None if field is None else _after_month(growing, field, each, frac, alone, river)
        for (growing, field), each, alone in zip(grown, asked, river.rain_alone, strict=True)
    )
    used_ml = tuple(None if each is None else each.ml * frac for each in asked)
    return replace(state, fields=fields), CropMonth(asked_ml, taken, used_ml)


def _asked(growing: Growing, field: Field | None, river: RiverMonth) -> _Asked | None:
    """Return what a field asks for; None where it is not watered in the month."""
    k = river.k
    if field is None or not growing.is_watered_in(k) or not field.watered_ha.any():
        return None
    soil_mm, weather = field.watered.water_mm, _weather(growing, river)
    pre_mm = pre_water_mm(growing, k, soil_mm)
    need = need_mm(growing, k, soil_mm + pre_mm, weather)
    all_mm = pre_mm + need
    return _Asked(pre_mm, all_mm, all_mm * (field.watered_ha * growing.gate_ml_per_ha_per_mm))


def _weather(growing: Growing, river: RiverMonth) -> MonthWeather:
    """Return the month's weather as a growing meets it."""
    return growing.weather(river.k, river.rain_mm, river.eto_mm)


def _after_month(
    growing: Growing,
    field: Field,
    asked: _Asked | None,
    got_frac: FloatArray,
    alone: Soil | None,
    river: RiverMonth,
) -> Field:
    """Take a field through the month.

    Land that is never watered is as the weather leaves it under every strategy (`alone`).
    """
    if growing.months[river.k] is None:
        return field
    if alone is not None:
        return replace(field, dry=Soil(*(values[None, :] for values in alone)))
    weather, watered, got_mm = _weather(growing, river), field.watered, None
    if asked is not None:
        all_mm = asked.all_mm * got_frac
        pre_mm = np.minimum(all_mm, asked.pre_mm)
        watered, got_mm = watered.wetter(pre_mm), all_mm - pre_mm
    return replace(
        field,
        watered=_through_on(field.watered_ha, growing, river.k, watered, weather, got_mm),
        dry=_through_on(field.dry_ha, growing, river.k, field.dry, weather),
    )


def _through_on(
    area_ha: FloatArray,
    growing: Growing,
    k: int,
    soil: Soil,
    weather: MonthWeather,
    water_mm: FloatArray | None = None,
) -> Soil:
    """Take land through a month where there are hectares of it; elsewhere it is left as it is."""
    there = area_ha > 0.0
    if there.all():
        return through_month(growing, k, soil, weather, water_mm)
    if not there.any():
        return soil
    some = SomeLand.where(there)
    met = MonthWeather(*(some.of(mm) for mm in weather))
    got_mm = None if water_mm is None else some.of(water_mm)
    return soil.but(some, through_month(growing, k, soil.on(some), met, got_mm))


def part_of(part: FloatArray, whole: FloatArray) -> FloatArray:
    """Divide; 1 where there is nothing to divide by: nothing was lacking."""
    return np.divide(part, whole, out=np.ones_like(whole), where=whole > 0.0)
