"""What do the plan's farm and the valley's months look like, year by year?

The months of each season are gathered to what the yearly farm (see `yearly`) asks for: water that
comes by the end of watering and after it, what an account keeps until then, need, and what is known
at planting.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from model.decide.yearly import YearlyCases, YearlyFarm, YearWater
from model.farm.farm_weather import MonthWeather
from model.farm.growing import Growing
from model.farm.layouts import LayoutRules
from model.farm.river import AHEAD_PART, RiverMonth
from model.farm.rules import FarmRules, MainCrop, WaterRules
from model.farm.season import HectareSeason, hectare_season
from model.farm.setting import FarmSetting
from model.farm.standing import left_aud_per_ml
from model.farm.state import BoolArray
from model.record.record import FloatArray
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray, Sequences
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

NO_YIELD: Final = 1e-12

QUARTERS: Final = (0.25, 0.5, 0.75)
"""Of the need: what they bring in each year's own weather is the table between none and all."""


def yearly_farm_of(rules: FarmRules) -> YearlyFarm:
    """Put the farm's rules into a dozen figures; the main crop in its first row layout."""
    crop, layout = rules.crop, main_layout(rules)
    return YearlyFarm(
        shares_ml=rules.cash.shares_ml,
        land_ha=crop.land_limit_ha,
        account_limit_ml_per_share=rules.water.account_limit_ml_per_share,
        use_limit_ml_per_share=rules.water.use_limit_1yr_ml_per_share,
        full_yield_bales_per_ha=layout.full_yield_units_per_ha,
        bale_aud=layout.price_aud_per_unit - layout.harvest_cost_aud_per_unit,
        planted_aud_per_ha=float(layout.growing_cost_aud_per_ha.sum())
        + layout.harvest_cost_aud_per_ha,
        unplanted_aud_per_ha=-float(rules.cash.fallow_cost_aud_per_ha.sum()),
        usage_aud_per_ml=rules.cash.usage_aud_per_ml,
        end_aud_per_ml=left_aud_per_ml(rules),
    )


def main_layout(rules: FarmRules) -> LayoutRules:
    """Return the main crop in its first row layout, as money sees it."""
    return rules.layouts[rules.crop.places[0]]


def main_growing(rules: FarmRules) -> Growing:
    """Return the main crop in its first row layout, as water sees it."""
    return rules.growings[rules.crop.places[0]]


def yearly_cases_of(
    setting: FarmSetting, river: Sequence[RiverMonth], sequences: Sequences | IntArray
) -> YearlyCases:
    """Gather the valley's months to years that begin at planting.

    Parameters
    ----------
    setting
        The plan's valley, farm and strategies; the run opens at or before planting.
    river
        The valley's months as the farm meets them, in order.
    sequences
        That they were made of.
    """
    sequences = Sequences.of(sequences)
    plantings = plantings_of(setting.valley.calendar, setting.rules.crop)
    ends = [*plantings[1:], len(river) - 1]
    years = [
        year_water(river[planted : end + 1], setting.rules, lasts=end == len(river) - 1)
        for planted, end in zip(plantings, ends, strict=True)
    ]
    return YearlyCases(
        dam_frac=np.stack([river[t].storage_frac for t in plantings], axis=1),
        dry=np.stack([was_dry(setting, sequences, t) for t in plantings], axis=1),
        water=YearWater(*(np.stack(column, axis=1) for column in zip(*years, strict=True))),
        opening_ml_per_share=account_at_planting(setting, river[: plantings[0] + 1]),
    )


def plantings_of(calendar: Calendar, crop: MainCrop) -> list[int]:
    """Return the months of the run, from 0, in which cotton is planted."""
    months = (calendar.t_of(season, crop.planting_k) for season in range(calendar.seasons))
    return [t for t in months if t is not None]


def year_water(months: Sequence[RiverMonth], rules: FarmRules, *, lasts: bool) -> YearWater:
    """Gather one year, from a planting month to the next one or, where it is the last, to the end.

    Parameters
    ----------
    months
        Both ends within; what is announced in the next planting month is known when planting.
    rules
        The farm's.
    lasts
        Whether the run ends with it.
    """
    crop, water, growing_rules = rules.crop, rules.water, main_growing(rules)
    grows = 1 + crop.last_watering_k - crop.planting_k
    growing, after = months[:grows], months[grows:]
    borne = after if lasts else after[:-1]  # the next planting month's losses come after planting
    none = np.zeros_like(months[0].storage_frac)
    kept = evaporation_kept_frac(growing, none)
    limit, late_kept = none + np.inf, evaporation_kept_frac(borne, none)
    for month in borne:
        if month.spill is None:
            continue
        if month.spill.account_frac is not None:
            late_kept = late_kept * (1.0 - month.spill.account_frac)
        if month.spill.carried_frac is not None and month.k < crop.planting_k:
            late_kept = late_kept * (1.0 - month.spill.carried_frac)  # left from last year: carried
        if month.spill.reset_ml_per_share is not None:
            limit = np.minimum(limit, month.spill.reset_ml_per_share)
    if any(month.turns_year for month in after):
        late_kept = late_kept * (1.0 - water.carryover_loss_frac)
        limit = np.minimum(limit, water.carryover_limit_ml_per_share)
    whole = season_of(months, growing_rules, none + np.inf)
    alone = season_of(months, growing_rules, none)
    added = np.maximum(whole.kept_frac - alone.kept_frac, NO_YIELD)
    gained = [
        (season_of(months, growing_rules, whole.used_ml_per_ha * part).kept_frac - alone.kept_frac)
        / added
        for part in QUARTERS
    ]
    return YearWater(
        early_kept_frac=1.0 - AHEAD_PART * (1.0 - kept),
        early_ml_per_share=sum((month.announced_ml_per_share for month in growing[1:]), none),
        other_ml=other_water_ml(growing, water),
        need_ml_per_ha=whole.used_ml_per_ha,
        rain_alone_frac=alone.kept_frac,
        late_limit_ml_per_share=limit,
        late_kept_frac=late_kept,
        late_ml_per_share=sum((month.announced_ml_per_share for month in after), none),
        gained_quarter_frac=gained[0],
        gained_half_frac=gained[1],
        gained_three_quarters_frac=gained[2],
    )


def evaporation_kept_frac(months: Sequence[RiverMonth], none: FloatArray) -> FloatArray:
    """Return the part of an account that evaporation leaves over some months."""
    kept = none + 1.0
    for month in months:
        kept = kept * (1.0 - month.evaporation_share_frac)
    return kept


def other_water_ml(growing: Sequence[RiverMonth], water: WaterRules) -> FloatArray:
    """Return the water of a season that is not general security, ML at the farm gate."""
    flow_ml = sum(
        (
            np.minimum(
                month.uncontrolled_ml * water.flow_share_frac, water.supplementary_ml_per_month
            )
            for month in growing
        ),
        np.zeros_like(growing[0].storage_frac),
    )
    flow_ml = np.minimum(flow_ml, water.supplementary_ml_per_year)
    high_ml = growing[-1].high_security_allocation_frac * water.high_security_shares_ml
    bore_ml = min(water.bore_ml_per_year, water.bore_ml_per_month * len(growing))
    return flow_ml + high_ml + bore_ml


def season_of(
    months: Sequence[RiverMonth], growing: Growing, water_ml_per_ha: FloatArray
) -> HectareSeason:
    """Take a hectare through a season that begins with the first of these months, (sequence,)."""
    met = {month.k: month for month in months[:MONTHS_IN_YEAR]}
    average = growing.average

    def weather(k: int) -> MonthWeather:
        month = met.get(k)
        return (
            average.month(k) if month is None else growing.weather(k, month.rain_mm, month.eto_mm)
        )

    sown_mm = months[0].soil_at_sowing_mm[0]
    soil_mm = np.zeros_like(months[0].rain_mm) if sown_mm is None else sown_mm
    return hectare_season(growing, soil_mm, weather, water_ml_per_ha)


def account_at_planting(setting: FarmSetting, months: Sequence[RiverMonth]) -> FloatArray:
    """Return the own account at the first planting, with nothing used since the run opened."""
    rules = setting.rules
    account: FloatArray = setting.opening(months, 1).account_ml_per_share[0]
    for month in months:
        if month.turns_year:
            account = np.minimum(account, rules.water.carryover_limit_ml_per_share)
            account = account * (1.0 - rules.water.carryover_loss_frac)
        account = np.minimum(
            account + month.announced_ml_per_share, rules.water.account_limit_ml_per_share
        )
        if month is not months[-1]:
            account = account * (1.0 - month.evaporation_share_frac)
    return account


def was_dry(setting: FarmSetting, sequences: Sequences, planted: int) -> BoolArray:
    """Return whether inflow before planting was below its median on record, (sequence,).

    Over the twelve months before it, as far as they lie in the run; never where none do.
    """
    record = setting.valley.record
    first = max(0, planted - MONTHS_IN_YEAR)
    months = planted - first
    if months == 0:
        return np.zeros(len(sequences), dtype=np.bool_)
    flow_ml = record.inflow_ml[sequences.rows[:, first:planted]]
    if sequences.factors is not None:
        flow_ml = flow_ml * sequences.factors[:, first:planted]
    inflow_ml = flow_ml.sum(axis=1)
    totals_ml = np.lib.stride_tricks.sliding_window_view(record.inflow_ml, months).sum(axis=1)
    k = month_of_water_year(setting.valley.calendar.opening_month + first)
    begins = record.months_of_water_year()[: totals_ml.size] == k
    dry: BoolArray = inflow_ml < np.median(totals_ml[begins])
    return dry
