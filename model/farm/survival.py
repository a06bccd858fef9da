"""How many seasons in a row with no allocation does the business survive?

A strategy is played through seasons in which nothing is announced, nothing spills and no stream
may be pumped, from where the farm stands today, in the weather of the driest run of so many seasons
on record (the one of least inflow). What accounts and storage hold today may be used. A run is
survived while no loan payment is missed in it and the overdraft stays within its limit. Water is at
its highest price; what accounts lose to evaporation is worked out with the dam as it is today.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.farm.expected import FEATURES, Expectation
from model.farm.money_rules import cash_rules_of
from model.farm.rain_gauge import gauge_at, rain_yield_frac, soil_at_sowing_mm
from model.farm.river import RiverMonth, storage_gain_mm
from model.farm.rules import FarmRules, record_weather
from model.farm.run import gather_farm, run_farm
from model.farm.setting import FarmSetting
from model.farm.state import Settings, opening_farm
from model.record.record import Record
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray
from model.units import ML_PER_MM_HA
from model.valley.access import Access
from model.valley.accounts import evaporation_share_frac
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

DRY_SEASONS_TRIED: Final = 10
"""A longer run without any allocation is beyond what a business plans for."""


@dataclass(frozen=True, slots=True)
class Survived:
    """Seasons of no allocation survived, of so many tried."""

    seasons: int
    tried: int


def dry_seasons_survived(setting: FarmSetting) -> tuple[Survived, ...]:
    """Count the seasons of no allocation in a row that each strategy survives.

    They are played from today with the weather of the record's driest such run.

    Parameters
    ----------
    setting
        The farm and its strategies.

    Returns
    -------
    tuple
        For each strategy the seasons to whose end no payment is missed and the overdraft stays
        within its limit, and how many were tried.

    Examples
    --------
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20)
    >>> survived = dry_seasons_survived(farm_setting_of(plan, record, strategies_of(plan)))
    >>> all(0 <= each.seasons <= each.tried for each in survived)
    True
    """
    calendar = Calendar(setting.valley.calendar.opening_month, DRY_SEASONS_TRIED)
    cash = cash_rules_of(setting.farm, calendar)
    rules = replace(setting.rules, cash=cash)
    settings, plan = setting.settings, setting.valley.plan
    rows = driest_rows(setting.valley.record, calendar)
    tried = len(rows)
    opening = opening_farm(setting.farm.opening, plan.opening, rules, settings.count, tried)
    river = dry_months(setting, calendar, rules, rows)
    months = run_farm(opening, settings, river, nothing_expected(settings, rules), rules)
    results = gather_farm(opening, months, calendar, rules)
    fails = (results["payments_missed"] > 0.0) | (
        results["lowest_cash_aud"] < -cash.overdraft_limit_aud
    )
    within = np.tri(tried, DRY_SEASONS_TRIED, dtype=np.bool_)  # a run's own seasons
    run_fails = (fails & within).any(axis=-1)
    until = np.where(run_fails.any(axis=-1), run_fails.argmax(axis=-1), tried)
    return tuple(Survived(seasons, tried) for seasons in until.tolist())


def driest_rows(record: Record, calendar: Calendar) -> IntArray:
    """Return rows of the record, (run, month): for 1, 2, ... seasons the driest run on record.

    After its own seasons a run goes round the record; nothing is read of it there.
    """
    starts = record.slice_starts(calendar.opening_month)
    total_ml = np.concatenate([[0.0], np.cumsum(record.inflow_ml)])
    rows = []
    for seasons in range(1, min(DRY_SEASONS_TRIED, starts.size) + 1):
        first = starts[: starts.size - seasons + 1]
        sums_ml = total_ml[first + seasons * MONTHS_IN_YEAR] - total_ml[first]
        rows.append((first[sums_ml.argmin()] + np.arange(calendar.months)) % record.months)
    return np.array(rows)


def nothing_expected(settings: Settings, rules: FarmRules) -> Expectation:
    """Expect nothing, whatever the dam holds."""
    chances = settings.expected_chance_frac[:, 0].tolist()
    ks = (rules.crop.planting_k, rules.crop.finish_k)
    return Expectation({(k, chance): np.zeros(FEATURES) for k in ks for chance in chances}, 0.0)


def dry_months(
    setting: FarmSetting, calendar: Calendar, rules: FarmRules, rows: IntArray
) -> Iterator[RiverMonth]:
    """Yield months in which nothing comes to a licence, in the weather of rows of the record."""
    valley, opening = setting.valley.rules, setting.valley.plan.opening
    record, growings, count = setting.valley.record, rules.growings, len(rows)
    weather = record_weather(setting.valley.plan, record)
    gauge = gauge_at(calendar.opening_month, count, growings, weather, record.first_month)
    evaporated_mm = np.maximum(
        0.0,
        np.subtract(
            setting.valley.plan.valley.lake_evaporation_mm, setting.valley.plan.valley.lake_rain_mm
        ),
    )
    storage_ml = np.full(count, opening.storage_ml)
    surface_ha = valley.surface.at_ha(storage_ml)
    none = np.zeros(count)
    for t in range(calendar.months):
        k = month_of_water_year(calendar.opening_month + t)
        evaporated_ml = surface_ha * (evaporated_mm[k] * ML_PER_MM_HA)
        rain_mm, eto_mm = weather.rain_mm.take(rows[:, t]), weather.eto_mm.take(rows[:, t])
        yield RiverMonth(
            t=t,
            k=k,
            season=calendar.season_of(t),
            parents=None,
            turns_year=k == 0 and t > 0,
            first_planting=k == rules.crop.planting_k and t < MONTHS_IN_YEAR,
            storage_frac=none,
            average_account_ml_per_share=none,
            announced_to_date_ml_per_share=none,
            account_loss_ahead_frac=none,
            announced_ml_per_share=none,
            high_security_allocation_frac=none,
            access=Access.whole(),
            high_security_delivered_frac=none,
            general_security_delivered_frac=none + 1.0,
            uncontrolled_ml=none,
            evaporation_share_frac=evaporation_share_frac(evaporated_ml, storage_ml, valley),
            spill=None,
            shared=None,
            high_security_ended_frac=none,
            rain_mm=rain_mm,
            eto_mm=eto_mm,
            soil_at_sowing_mm=soil_at_sowing_mm(gauge, growings, k),
            rain_yield_frac=rain_yield_frac(gauge, growings, k),
            rain_alone=(None,) * len(growings),
            storage_gain_mm=storage_gain_mm(rain_mm, eto_mm, k, rules),
            price_aud_per_ml=none if rules.market is None else rules.market.price_of(none, k),
            year_end=None,
            year_met=(),
        )

        gauge = gauge.after(growings, k, rain_mm)
