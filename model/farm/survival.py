"""How many seasons in a row with no allocation does the business survive?

A strategy is played through seasons in which nothing is announced, nothing spills and no stream
may be pumped, in average weather, from where the farm stands today. What accounts and storage hold
today may be used. A season is survived while no loan payment is missed in it and the overdraft
stays within its limit. Water is at its highest price; what accounts lose to evaporation is worked
out with the dam as it is today.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.farm.expected import FEATURES, Expectation
from model.farm.money_rules import cash_rules_of
from model.farm.river import FarmWeather, RiverMonth, farm_weather_of, water_price
from model.farm.rules import FarmRules
from model.farm.run import gather_farm, run_farm
from model.farm.setting import FarmSetting
from model.farm.state import Settings, opening_farm
from model.record.record import FloatArray, Record
from model.sequences.draw import Calendar
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
    """Count the seasons of no allocation that each strategy survives."""
    calendar = Calendar(setting.valley.calendar.opening_month, DRY_SEASONS_TRIED)
    cash = cash_rules_of(setting.farm, calendar)
    rules = replace(setting.rules, cash=cash)
    settings, plan = setting.settings, setting.valley.plan
    opening = opening_farm(setting.farm.opening, plan.opening, rules, settings.count, 1)
    river = dry_months(setting, calendar, rules)
    months = run_farm(opening, settings, river, nothing_expected(settings, rules), rules)
    results = gather_farm(opening, months, calendar, rules)
    fails = (results["payments_missed"] > 0.0) | (
        results["lowest_cash_aud"] < -cash.overdraft_limit_aud
    )
    until = np.where(fails.any(axis=-1), fails.argmax(axis=-1), DRY_SEASONS_TRIED)[:, 0]
    return tuple(Survived(seasons, DRY_SEASONS_TRIED) for seasons in until.tolist())


def nothing_expected(settings: Settings, rules: FarmRules) -> Expectation:
    """Expect nothing, whatever the dam holds."""
    chances = settings.expected_chance_frac[:, 0].tolist()
    ks = (rules.crop.planting_k, rules.crop.finish_k)
    return Expectation({(k, chance): np.zeros(FEATURES) for k in ks for chance in chances}, 0.0)


def dry_months(setting: FarmSetting, calendar: Calendar, rules: FarmRules) -> Iterator[RiverMonth]:
    """Give months in which nothing comes to a licence, one sequence of them."""
    valley, opening = setting.valley.rules, setting.valley.plan.opening
    record = setting.valley.record
    weather = mean_by_month(farm_weather_of(setting.valley, setting.farm, rules), record)
    evaporated_mm = np.maximum(
        0.0,
        np.subtract(
            setting.valley.plan.valley.lake_evaporation_mm, setting.valley.plan.valley.lake_rain_mm
        ),
    )
    storage_ml = np.array([opening.storage_ml])
    surface_ha = valley.surface.at_ha(storage_ml)
    none = np.zeros(1)
    for t in range(calendar.months):
        k = month_of_water_year(calendar.opening_month + t)
        evaporated_ml = surface_ha * (evaporated_mm[k] * ML_PER_MM_HA)
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
            general_security_delivered_frac=np.ones(1),
            uncontrolled_ml=none,
            evaporation_share_frac=evaporation_share_frac(evaporated_ml, storage_ml, valley),
            spill=None,
            shared=None,
            high_security_ended_frac=none,
            crop_use_mm=weather.crop_use_mm[k : k + 1],
            after_rain_mm=weather.after_rain_mm[k : k + 1],
            storage_gain_mm=weather.storage_gain_mm[k : k + 1],
            price_aud_per_ml=water_price(none, rules.cash),
        )


def mean_by_month(weather: FarmWeather, record: Record) -> FarmWeather:
    """Average what was observed over each calendar month, (12,) July first."""
    k = record.months_of_water_year()

    def mean(values: FloatArray) -> FloatArray:
        return np.array([values[k == month].mean() for month in range(MONTHS_IN_YEAR)])

    return FarmWeather(
        mean(weather.crop_use_mm), mean(weather.after_rain_mm), mean(weather.storage_gain_mm)
    )
