"""What are the farm's rules and figures, as numbers ready for a month's step?

The plan states the farm in the words of the trade; here it becomes arrays by month of the water
year, `k` (0 = July), and by month of the run, `t`. What is worked out once: the crop's need and its
answer to shortage by month, the need still to come from each month on, money that is the same in
every sequence, and loan payments.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from model.errors import Fault, PlanError
from model.farm.crops import (
    COTTON_YIELD_STAGES,
    DAYS_IN_MONTH,
    Crop,
    day_of_water_year,
    kc_by_month,
    sensitivity_by_month,
)
from model.farm.effective_rain import effective_rain_mm
from model.farm.money_rules import CashRules, cash_rules_of
from model.farm.price import Market
from model.farm.run_out import RootZone, run_out_by_month
from model.plan.farm import Cotton, Farm, Source
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.draw import Calendar
from model.units import ML_PER_MM_HA
from model.valley.rules import Rules
from model.valley.state import record_or_calendar
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR

NO_WEATHER = (0.0,) * MONTHS_IN_YEAR
"""A farm whose need is a table needs no rain or ETo but for its storage: none is counted."""


@dataclass(frozen=True, slots=True)
class WaterRules:
    """The farm's water and the valley's rules for its account; arrays (12,)."""

    shares_ml: float  # general security
    high_security_shares_ml: float
    account_limit_ml_per_share: float
    carryover_limit_ml_per_share: float
    carryover_loss_frac: float
    use_limit_1yr_ml_per_share: float
    use_limit_3yr_ml_per_share: float
    restriction_access_frac: float
    source_order: tuple[Source, ...]
    flow_share_frac: float
    supplementary_ml_per_month: float
    supplementary_ml_per_year: float
    storage_capacity_ml: float
    storage_surface_ha: float
    evaporation_factor: float
    seepage_mm: FloatArray
    storage_loss_ahead_ml: FloatArray  # from the next month to the last watering, half of it
    bore_ml_per_year: float
    bore_ml_per_month: float
    months_to_water: FloatArray  # this month and those after it, to the last watering


@dataclass(frozen=True, slots=True)
class CropRules:
    """Land and cotton; arrays (12,)."""

    developed_ha: float
    land_limit_ha: float
    planting_k: int
    finish_k: int
    last_watering_k: int
    picking_k: int
    kc: FloatArray
    table_use_mm: FloatArray | None  # use at the crop that a need table stands for
    gate_ml_per_ha_per_mm: float  # 1 mm at the crop, at the farm gate
    planting_soil_water_mm: float
    pre_water_ml_per_ha: float
    soil_capacity_mm: float
    need_ahead_mm: FloatArray  # this month and those after it, average weather, no soil water
    sensitivity: FloatArray  # part of the yield lost to a month without water
    run_out_frac: FloatArray  # yield if watering stops at the end of the month
    full_yield_bales_per_ha: float
    rain_grown_frac: float

    def is_watered_in(self, k: int) -> bool:
        """Tell whether a month lies between planting and the last watering."""
        return self.planting_k <= k <= self.last_watering_k


@dataclass(frozen=True, slots=True)
class FarmRules:
    """All rules of the farm."""

    water: WaterRules
    crop: CropRules
    cash: CashRules
    market: Market | None = None  # of yearly water; fitted to what seasons bring


def farm_rules_of(
    plan: Plan, farm: Farm, record: Record, valley: Rules, calendar: Calendar
) -> FarmRules:
    """Prepare the rules that a plan states of its farm.

    Parameters
    ----------
    plan, farm
        The plan and its farm.
    record
        Average rain and ETo by calendar month are taken from it.
    valley
        The valley's rules: the farm's own account follows them.
    calendar
        Of the run.

    Raises
    ------
    PlanError
        The months of the crop are out of order, or nothing says what it needs.
    """
    check_farm(plan, farm, record)
    rain_mm = by_calendar_month(record, "farm_rain_mm", plan.valley.farm_rain_mm)
    eto_mm = by_calendar_month(record, "farm_eto_mm", plan.valley.farm_eto_mm)
    planting_k = MONTH_NAMES.index(plan.outlook.planting_month)
    finish_k = MONTH_NAMES.index(plan.outlook.finish_month)
    crop = crop_rules_of(farm, rain_mm, eto_mm, planting_k, finish_k)
    return FarmRules(
        water=water_rules_of(farm, valley, crop, rain_mm, eto_mm),
        crop=crop,
        cash=cash_rules_of(farm, calendar),
    )


def check_farm(plan: Plan, farm: Farm, record: Record) -> None:
    """Refuse a crop whose months are out of order, and one whose need nothing tells."""
    cotton, faults = farm.cotton, []
    order = (
        ("outlook.planting_month", plan.outlook.planting_month),
        ("outlook.finish_month", plan.outlook.finish_month),
        ("farm.cotton.last_watering_month", cotton.last_watering_month),
        ("farm.cotton.picking_month", cotton.picking_month),
    )
    for (_, earlier), (where, month) in itertools.pairwise(order):
        if MONTH_NAMES.index(month) < MONTH_NAMES.index(earlier):
            problem = f"it comes before {earlier} of the same water year"
            faults.append(Fault(where, month, problem, f"{earlier} or a later month to June"))
    if cotton.picking_month == cotton.last_watering_month:
        allowed = f"a month after {cotton.last_watering_month}"
        problem = "the crop is still watered then"
        faults.append(Fault("farm.cotton.picking_month", cotton.picking_month, problem, allowed))
    knows_eto = "farm_eto_mm" in record.columns or plan.valley.farm_eto_mm is not None
    if cotton.need_ml_per_ha is None and not knows_eto:
        allowed = "farm_eto_mm in the record or the plan, or farm.cotton.need_ml_per_ha"
        faults.append(Fault("farm.cotton", "", "nothing says how much water it needs", allowed))
    if faults:
        raise PlanError("plan", faults)


def by_calendar_month(
    record: Record, column: str, by_month: tuple[float, ...] | None
) -> FloatArray:
    """(12,) mean of a column of the record by month of the water year, or the plan's values."""
    values = record_or_calendar(record, column, by_month or NO_WEATHER)
    k = record.months_of_water_year()
    return np.array([values[k == month].mean() for month in range(MONTHS_IN_YEAR)])


def crop_rules_of(
    farm: Farm, rain_mm: FloatArray, eto_mm: FloatArray, planting_k: int, finish_k: int
) -> CropRules:
    """Prepare land and cotton."""
    cotton, watering = farm.cotton, farm.watering
    efficiency_frac = watering.channel_efficiency_frac * watering.field_efficiency_frac
    crop = Crop(
        initial_days=cotton.stage_days[0],
        development_days=cotton.stage_days[1],
        middle_days=cotton.stage_days[2],
        late_days=cotton.stage_days[3],
        kc_initial=cotton.kc_initial,
        kc_middle=cotton.kc_middle,
        kc_end=cotton.kc_end,
    )
    planted_day = day_of_water_year(planting_k, cotton.planting_day)
    kc = kc_by_month(crop, planted_day)
    last_k = MONTH_NAMES.index(cotton.last_watering_month)
    kc_watered = np.where(np.arange(MONTHS_IN_YEAR) <= last_k, kc, 0.0)
    use_mm = kc * eto_mm
    rain_grown_frac = cotton.rain_grown_yield_bales_per_ha / cotton.full_yield_bales_per_ha
    table_use_mm = None
    if cotton.need_ml_per_ha is not None:
        table_use_mm = np.array(cotton.need_ml_per_ha) / ML_PER_MM_HA * efficiency_frac
        need_mm = table_use_mm
        sensitivity = cotton.season_ky * table_use_mm / (table_use_mm.sum() or 1.0)
        run_out_frac = np.maximum(
            rain_grown_frac, 1.0 - (sensitivity.sum() - np.cumsum(sensitivity))
        )
    else:
        need_mm = kc_watered * eto_mm
        need_mm = need_mm - effective_rain_of(cotton, rain_mm, need_mm)
        sensitivity = sensitivity_by_month(
            crop, planted_day, eto_mm, COTTON_YIELD_STAGES, cotton.season_ky
        )
        root_zone = RootZone(cotton.soil_capacity_mm, cotton.soil_stress_below_mm)
        run_out_frac = run_out_by_month(use_mm, planted_day, rain_grown_frac, root_zone)
    from_table = table_use_mm is not None
    return CropRules(
        developed_ha=farm.developed_ha,
        land_limit_ha=farm.developed_ha * farm.rotation_limit_frac,
        planting_k=planting_k,
        finish_k=finish_k,
        last_watering_k=last_k,
        picking_k=MONTH_NAMES.index(cotton.picking_month),
        kc=kc_watered,
        table_use_mm=table_use_mm,
        gate_ml_per_ha_per_mm=ML_PER_MM_HA / efficiency_frac,
        planting_soil_water_mm=0.0 if from_table else cotton.planting_soil_water_mm,
        pre_water_ml_per_ha=0.0 if from_table else cotton.pre_water_ml_per_ha,
        soil_capacity_mm=cotton.soil_capacity_mm,
        need_ahead_mm=np.cumsum(need_mm[::-1])[::-1],
        sensitivity=sensitivity,
        run_out_frac=run_out_frac,
        full_yield_bales_per_ha=cotton.full_yield_bales_per_ha,
        rain_grown_frac=rain_grown_frac,
    )


def effective_rain_of(cotton: Cotton, rain_mm: FloatArray, use_mm: FloatArray) -> FloatArray:
    """Count the rain that helps, by the plan's rule."""
    return effective_rain_mm(cotton.effective_rain, rain_mm, use_mm, cotton.effective_rain_frac)


def water_rules_of(
    farm: Farm, valley: Rules, crop: CropRules, rain_mm: FloatArray, eto_mm: FloatArray
) -> WaterRules:
    """Prepare the farm's water."""
    licence, storage, bore, flow = farm.licence, farm.storage, farm.bore, farm.supplementary
    factor = 0.0 if storage is None else storage.evaporation_factor
    seepage_mm = np.array(DAYS_IN_MONTH) * (0.0 if storage is None else storage.seepage_mm_per_day)
    surface_ha = 0.0 if storage is None else storage.surface_ha
    watered = np.arange(MONTHS_IN_YEAR) <= crop.last_watering_k
    loss_mm = np.where(watered, np.maximum(0.0, factor * eto_mm + seepage_mm - rain_mm), 0.0)
    loss_ahead_mm = np.cumsum(loss_mm[::-1])[::-1] - loss_mm
    return WaterRules(
        shares_ml=licence.general_security_shares_ml,
        high_security_shares_ml=licence.high_security_shares_ml,
        account_limit_ml_per_share=valley.account_limit_ml_per_share,
        carryover_limit_ml_per_share=valley.carryover_limit_ml_per_share,
        carryover_loss_frac=valley.carryover_loss_frac,
        use_limit_1yr_ml_per_share=valley.use_limit_1yr_ml_per_share,
        use_limit_3yr_ml_per_share=valley.use_limit_3yr_ml_per_share,
        restriction_access_frac=valley.restriction_access_frac,
        source_order=farm.watering.supply_order,
        flow_share_frac=0.0 if flow is None else flow.flow_share_frac,
        supplementary_ml_per_month=0.0
        if flow is None
        else flow.pump_ml_per_day * flow.access_days_per_month,
        supplementary_ml_per_year=0.0 if flow is None else flow.limit_ml_per_year,
        storage_capacity_ml=0.0 if storage is None else storage.capacity_ml,
        storage_surface_ha=surface_ha,
        evaporation_factor=factor,
        seepage_mm=seepage_mm,
        storage_loss_ahead_ml=loss_ahead_mm * (surface_ha * ML_PER_MM_HA / 2.0),
        bore_ml_per_year=0.0 if bore is None else bore.limit_ml_per_year,
        bore_ml_per_month=0.0 if bore is None else bore.pump_ml_per_month,
        months_to_water=np.maximum(
            0.0, crop.last_watering_k + 1.0 - np.arange(MONTHS_IN_YEAR, dtype=np.float64)
        ),
    )
