"""What does a farm see of the valley and the weather in a month?

One small farm does not move the dam: the valley is run once, and its months are put here into what
any holder of a licence meets, whatever the strategy. All arrays are (sequence,).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, Self

import numpy as np

from model.farm.price import known_supply
from model.farm.rain_alone import Soils, soils_after, soils_at_opening, soils_of
from model.farm.rain_gauge import RainGauge, gauge_at, rain_yield_frac, soil_at_sowing_mm
from model.farm.rules import FarmRules, record_weather
from model.outlook.setting import Setting
from model.plan.farm import Farm
from model.record.record import FloatArray
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray, Sequences
from model.sequences.unique import Leg
from model.sequences.years import YearsDrawn, years_of
from model.units import ML_PER_MM_HA
from model.valley.access import Access
from model.valley.accounts import SpillTerms, evaporation_share_frac
from model.valley.capacity import SharedMonth
from model.valley.dam import DUST_FRAC
from model.valley.rules import Rules
from model.valley.run import Month
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

AHEAD_PART = 0.5
"""Water held for a crop is used little by little: on average half of it is there to evaporate."""


class YearMet(NamedTuple):
    """What a crop's year brought beside the plan's own figures, factors, each (sequence,)."""

    full_yield: FloatArray
    price: FloatArray


@dataclass(frozen=True, slots=True)
class YearEnd:
    """How a water year leaves the valley, each (sequence,)."""

    dam_frac: FloatArray  # of capacity, after June
    floor_aud_per_share: FloatArray  # what a megalitre a share brings, sold in July

    def take(self, places: IntArray) -> Self:
        """Return some sequences, in a new order."""
        return type(self)(self.dam_frac.take(places), self.floor_aud_per_share.take(places))


@dataclass(frozen=True, slots=True)
class RiverMonth:
    """One month as a farm meets it."""

    t: int  # month of the run, from 0
    k: int  # month of the water year, 0 = July
    season: int  # from 0
    parents: (
        IntArray | None
    )  # (sequence,) which of the month before each goes on from; None: itself
    turns_year: bool  # 1 July, and not the run's first month
    first_planting: bool  # the run's first planting month

    # the dam and the average account, after the month's announcement: what anybody may know
    storage_frac: FloatArray  # of capacity, at the start of the month
    average_account_ml_per_share: FloatArray
    announced_to_date_ml_per_share: FloatArray  # or credited by the month's end, where shared
    account_loss_ahead_frac: FloatArray  # of an account, to the last watering, by average weather

    # what comes to a licence
    announced_ml_per_share: FloatArray  # or credited at the month's end, where it is shared
    high_security_allocation_frac: FloatArray
    access: Access
    high_security_delivered_frac: FloatArray  # of orders
    general_security_delivered_frac: FloatArray  # of orders
    uncontrolled_ml: FloatArray

    # what an account bears
    evaporation_share_frac: FloatArray
    spill: SpillTerms | None
    shared: SharedMonth | None  # where capacity is shared
    high_security_ended_frac: FloatArray  # allocation as the month before left it

    # weather on the farm, and what follows from it whatever is decided; by growing: None, not now
    rain_mm: FloatArray
    eto_mm: FloatArray
    soil_at_sowing_mm: tuple[FloatArray | None, ...]  # of what is sown in the month
    rain_yield_frac: tuple[FloatArray | None, ...]  # over its mean, of what is harvested in it
    rain_alone: Soils  # after the month, of what is never watered; None: worked out with the rest
    storage_gain_mm: FloatArray  # rain less evaporation and seepage of the farm storage

    # the market
    price_aud_per_ml: FloatArray

    year_end: YearEnd | None  # in June
    year_met: tuple[YearMet | None, ...]  # by crop; empty, or None: the plan's own figures

    @property
    def known_to_date_ml_per_share(self) -> FloatArray:
        """Water to date as decisions know it: what is credited at the month's end is to come."""
        if self.shared is None:
            return self.announced_to_date_ml_per_share
        return self.announced_to_date_ml_per_share - self.announced_ml_per_share


class MetWeather(NamedTuple):
    """A month's weather on the farm, each (sequence,), and the rain gathered before it."""

    rain_mm: FloatArray
    eto_mm: FloatArray
    gauge: RainGauge
    sown_mm: tuple[FloatArray | None, ...]  # soil water of what is sown in it, by growing
    rain_alone: Soils  # after it


def storage_gain_mm(
    rain_mm: FloatArray, eto_mm: FloatArray, k: int, rules: FarmRules
) -> FloatArray:
    """Return rain less evaporation and seepage of the farm storage."""
    water = rules.water
    gain_mm: FloatArray = rain_mm - water.evaporation_factor * eto_mm - water.seepage_mm[k]
    return gain_mm


def river_months(
    setting: Setting,
    farm: Farm,
    rules: FarmRules,
    sequences: Sequences | IntArray,
    months: Iterable[Month] | None = None,
) -> Iterator[RiverMonth]:
    """Run the valley through sequences, and give each month as the farm meets it.

    Parameters
    ----------
    setting
        Plan, record and valley.
    farm, rules
        The farm.
    sequences
        What may come; bare rows of the record come as they were observed.
    months
        The valley's months through them, where they were played before.
    """
    sequences = Sequences.of(sequences)
    rows, months = sequences.rows, months or setting.months(sequences)
    years = years_of(setting.plan, setting.record.months, setting.calendar.slices)
    kinds = None if years is None else years.kinds(rows[:, ::MONTHS_IN_YEAR])
    by_month = ((month, kinds) for month in np.ascontiguousarray(rows.T))
    return _as_met(months, setting, farm, rules, by_month, years)


def river_of_legs(
    setting: Setting,
    farm: Farm,
    rules: FarmRules,
    legs: Sequence[Leg],
    months: Iterable[Month] | None = None,
) -> Iterator[RiverMonth]:
    """Likewise of sequences that are one until they part; see `legs_of`."""
    months = months or setting.months_of_legs(legs)
    years = years_of(setting.plan, setting.record.months, setting.calendar.slices)
    by_month = ((month, leg.kinds) for leg in legs for month in leg.rows.T)
    return _as_met(months, setting, farm, rules, by_month, years)


def sequences_at_start(river: Sequence[RiverMonth]) -> int:
    """Count the sequences before the first month: one, where all go on from one parent."""
    return river[0].storage_frac.size if river[0].parents is None else 1


def _as_met(
    months: Iterable[Month],
    setting: Setting,
    farm: Farm,
    rules: FarmRules,
    by_month: Iterable[tuple[IntArray, IntArray | None]],
    years: YearsDrawn | None,
) -> Iterator[RiverMonth]:
    """Put the valley's months into what a farm meets.

    By month: rows of the record, and the kinds of the years met, each (sequence,).
    """
    weather, growings = record_weather(setting.plan, setting.record), rules.growings
    drawn = record_weather(setting.plan, setting.weather)
    gauge = soils = None
    for t, (month, (rows, kinds)) in enumerate(zip(months, by_month, strict=True)):
        if gauge is None or soils is None:
            opening, first = setting.calendar.opening_month, setting.record.first_month
            at_start = rows.size if month.parents is None else 1
            gauge = gauge_at(opening, at_start, growings, weather, first)
            soils = soils_at_opening(farm, opening, at_start, rules)
        if month.parents is not None:
            gauge, soils = gauge.take(month.parents), soils_of(soils, month.parents)
        k = month_of_water_year(month.month)
        rain_mm, eto_mm = drawn.rain_mm.take(rows), drawn.eto_mm.take(rows)
        sown_mm = soil_at_sowing_mm(gauge, growings, k)
        soils = soils_after(soils, growings, k, sown_mm, rain_mm, eto_mm)
        met = MetWeather(rain_mm, eto_mm, gauge, sown_mm, soils)
        river = river_month(month, t, setting.calendar, setting.rules, rules, met)
        yield (
            river
            if years is None
            else replace(river, year_met=years_met(rules, years, t, k, rows, kinds))
        )
        gauge = gauge.after(growings, k, rain_mm)


def years_met(
    rules: FarmRules, years: YearsDrawn, t: int, k: int, rows: IntArray, kinds: IntArray | None
) -> tuple[YearMet | None, ...]:
    """Return by crop what its year brought, in its month of harvest; None: the plan's figures."""
    at, into_slice = divmod(t, MONTHS_IN_YEAR)
    harvest_k = {layout.crop_at: layout.harvest_k for layout in rules.layouts}
    return tuple(
        None
        if varying is None or kinds is None or harvest_k[crop_at] != k
        else YearMet(*varying.factors(years.met(crop_at, at, rows - into_slice, kinds)))
        for crop_at, varying in enumerate(rules.varying)
    )


def river_month(
    month: Month,
    t: int,
    calendar: Calendar,
    valley: Rules,
    rules: FarmRules,
    weather: MetWeather,
) -> RiverMonth:
    """Put one month of the valley into what a farm meets."""
    fluxes, opening = month.fluxes, month.fluxes.opening
    k = month_of_water_year(month.month)
    account = fluxes.account_before_orders_ml_per_share
    return RiverMonth(
        t=t,
        k=k,
        season=calendar.season_of(t),
        parents=month.parents,
        turns_year=k == 0 and t > 0,
        first_planting=k == rules.crop.planting_k and t < MONTHS_IN_YEAR,
        storage_frac=opening.storage_ml / valley.capacity_ml,
        average_account_ml_per_share=account,
        announced_to_date_ml_per_share=month.end.water_to_date_ml_per_share,
        account_loss_ahead_frac=account_loss_ahead_frac(month, k, valley, rules),
        announced_ml_per_share=fluxes.new_water_ml_per_share,
        high_security_allocation_frac=fluxes.assessed.high_security_allocation_frac,
        access=fluxes.access,
        high_security_delivered_frac=delivered_frac(
            fluxes.released.high_security_ml, fluxes.high_security_order_ml, month, valley
        ),
        general_security_delivered_frac=general_security_delivered_frac(month, valley),
        uncontrolled_ml=fluxes.released.uncontrolled_ml,
        evaporation_share_frac=fluxes.evaporation_share_frac,
        spill=fluxes.spill,
        shared=None if fluxes.sharing is None else fluxes.sharing.met,
        high_security_ended_frac=fluxes.start.high_security_allocation_frac,
        rain_mm=weather.rain_mm,
        eto_mm=weather.eto_mm,
        soil_at_sowing_mm=weather.sown_mm,
        rain_yield_frac=rain_yield_frac(weather.gauge, rules.growings, k),
        rain_alone=weather.rain_alone,
        storage_gain_mm=storage_gain_mm(weather.rain_mm, weather.eto_mm, k, rules),
        price_aud_per_ml=price_in(month, k, valley, rules),
        year_end=year_end(month, valley, rules) if k == MONTHS_IN_YEAR - 1 else None,
        year_met=(),
    )


def delivered_frac(
    delivered_ml: FloatArray, ordered_ml: FloatArray, month: Month, valley: Rules
) -> FloatArray:
    """Return the part of orders that the dam served.

    Where none stood: all, unless the dam is empty or cannot meet the month's fixed loss.
    """
    spare_ml, nothing_ml = month.end.storage_ml - valley.dead_storage_ml, 0.0
    least_ml = DUST_FRAC * valley.capacity_ml
    if valley.fixed_loss is not None:
        nothing_ml = valley.fixed_loss.least_order_ml
        least_ml = max(least_ml, valley.fixed_loss.loss_ml[month_of_water_year(month.month)])
    unordered = np.where(spare_ml > least_ml, 1.0, 0.0)
    part = np.divide(delivered_ml, ordered_ml, out=unordered, where=ordered_ml > nothing_ml)
    return np.minimum(1.0, part)


def general_security_delivered_frac(month: Month, valley: Rules) -> FloatArray:
    """Return the part of general security's orders that was served: none while they are put off."""
    fluxes = month.fluxes
    part = delivered_frac(
        fluxes.released.general_security_ml, fluxes.general_security_order_ml, month, valley
    )
    return part if fluxes.put_off is None else np.where(fluxes.put_off, 0.0, part)


def account_loss_ahead_frac(month: Month, k: int, valley: Rules, rules: FarmRules) -> FloatArray:
    """Return the part of an account that evaporates before it is used, by the plan's averages.

    Until the last watering of what is decided on in the month: the main crop, or what is sown.
    """
    storage_ml, mm_ahead = month.fluxes.opening.storage_ml, float(rules.lake_loss_ahead_mm[k])
    if not mm_ahead or not valley.lose_by_balance:
        return np.zeros_like(storage_ml)
    evaporated_ml = valley.surface.at_ha(storage_ml) * (mm_ahead * AHEAD_PART * ML_PER_MM_HA)
    return evaporation_share_frac(evaporated_ml, storage_ml, valley)


def price_in(month: Month, k: int, valley: Rules, rules: FarmRules) -> FloatArray:
    """Return the price of yearly water in a month; 0 where the farm has no market."""
    if rules.market is None:
        return np.zeros_like(month.fluxes.account_before_orders_ml_per_share)
    return rules.market.price_aud_per_ml(known_supply(month, valley), k)


def year_end(month: Month, valley: Rules, rules: FarmRules) -> YearEnd:
    """Return how a June leaves dam and market."""
    dam_frac = month.end.storage_ml / valley.capacity_ml
    if rules.market is None:
        return YearEnd(dam_frac, np.zeros_like(dam_frac))
    got_aud_per_ml = rules.market.got_aud_per_ml(rules.market.july_aud_per_ml(month, valley))
    return YearEnd(dam_frac, got_aud_per_ml * rules.water.shares_ml)
