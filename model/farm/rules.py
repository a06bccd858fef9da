"""What are the farm's rules and figures, as numbers ready for a month's step?

The plan states the farm in the words of the trade; here it becomes arrays by month of the water
year, `k` (0 = July), and by month of the run, `t`. Every crop in every row layout has its place in
two lists, `growings` (what water sees of it) and `layouts` (what land and money see). One crop is
the main one: land is prepared, planted and finished by its year.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from model.errors import Fault, PlanError
from model.farm.crops import DAYS_IN_MONTH
from model.farm.end_value import WaterWorth
from model.farm.eto import month_eto_mm
from model.farm.farm_weather import RecordWeather
from model.farm.growing import Growing
from model.farm.layouts import LayoutRules, growing_of_layout, layout_rules
from model.farm.money_rules import CashRules, cash_rules_of
from model.farm.price import Market
from model.farm.water_ahead import (
    NOT_WATERED,
    WaterAhead,
    lake_loss_ahead_mm,
    storage_loss_ml,
    water_ahead,
)
from model.farm.yield_and_price import Varying, varying_of
from model.plan.farm import Farm, Source
from model.plan.money import District
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.draw import Calendar
from model.valley.rules import AccountRules, Rules
from model.valley.state import record_or_calendar
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR, format_month

NO_WEATHER = (0.0,) * MONTHS_IN_YEAR
"""A farm whose need is a table needs no rain or ETo but for its storage: none is counted."""


@dataclass(frozen=True, slots=True)
class WaterRules(AccountRules):
    """The farm's water, and the valley's rules for its account; arrays (12,)."""

    shares_ml: float | FloatArray  # general security; (strategy, sequence) once some may be sold
    high_security_shares_ml: float
    source_order: tuple[Source, ...]
    flow_share_frac: float
    supplementary_ml_per_month: float
    supplementary_ml_per_year: float
    storage_capacity_ml: float
    storage_surface_ha: float
    evaporation_factor: float
    seepage_mm: FloatArray
    july_storage_loss_ml: float  # from August to the main crop's last watering, half of it
    bore_ml_per_year: float
    bore_ml_per_month: float


@dataclass(frozen=True, slots=True)
class MainCrop:
    """The main crop's year: land is prepared, planted and finished by it."""

    name: str
    developed_ha: float
    land_limit_ha: float  # the most of it in the main crop
    prepare_k: int | None  # None: no land is prepared
    planting_k: int
    finish_k: int
    last_watering_k: int
    picking_k: int
    prepared_cost_aud_per_ha: FloatArray  # (12,)
    places: tuple[int, ...]  # of its row layouts among the farm's


@dataclass(frozen=True, slots=True)
class FarmRules:
    """All rules of the farm."""

    water: WaterRules
    crop: MainCrop
    growings: tuple[Growing, ...]  # every crop in every row layout, in the plan's order
    layouts: tuple[LayoutRules, ...]  # likewise
    ahead: tuple[WaterAhead | None, ...]  # likewise; None: not watered
    lake_loss_ahead_mm: FloatArray  # (12,) off the dam, until what is decided then is watered
    cash: CashRules
    varying: tuple[Varying | None, ...] = ()  # by crop; None: yield and price do not vary
    market: Market | None = None  # of yearly water; fitted to what seasons bring
    water_worth: WaterWorth | None = None  # that is left when a run ends; likewise
    district: District | None = None  # shares of costs spent there; None: none is stated

    @property
    def crops(self) -> int:
        """How many crops the farm may grow."""
        return self.layouts[-1].crop_at + 1

    @property
    def main_ahead(self) -> WaterAhead:
        """The months in which the main crop is still watered; of none where it never is."""
        found = (self.ahead[at] for at in self.crop.places)
        return next((each for each in found if each is not None), NOT_WATERED)

    def place_of(self, crop: str, layout: str) -> int:
        """Return the place of a crop in a row layout."""
        names = [(rules.crop, rules.layout) for rules in self.layouts]
        return names.index((crop, layout))


def varying_by_crop(farm: Farm) -> list[Varying | None]:
    """Return by crop how full yield and price vary."""
    stated = {varies.crop: varies for varies in farm.risk}
    return [
        varying_of(stated[crop.name], crop) if crop.name in stated else None for crop in farm.crops
    ]


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
        Nothing says what a crop needs.
    """
    check_farm(plan, farm, record)
    weather = record_weather(plan, record)
    layouts = tuple(
        layout_rules(farm, at, layout)
        for at, crop in enumerate(farm.crops)
        for layout in crop.layouts
    )
    main = main_crop_of(farm, MONTH_NAMES.index(plan.outlook.finish_month))
    efficiency_frac = farm.watering.channel_efficiency_frac * farm.watering.field_efficiency_frac
    growings = tuple(
        growing_of_layout(crop, layout, weather, efficiency_frac)
        for crop in farm.crops
        for layout in crop.layouts
    )
    loss_ml = storage_loss_ml(farm, weather.average())
    return FarmRules(
        water=water_rules_of(farm, valley, float(loss_ml[1 : main.last_watering_k + 1].sum())),
        crop=main,
        growings=growings,
        layouts=layouts,
        ahead=tuple(water_ahead(growing.calendar, loss_ml) for growing in growings),
        lake_loss_ahead_mm=lake_loss_ahead_mm(plan.valley, last_waterings(main, growings)),
        cash=cash_rules_of(farm, calendar),
        varying=tuple(varying_by_crop(farm)),
        district=farm.money.district,
    )


def record_weather(plan: Plan, record: Record) -> RecordWeather:
    """Return the farm's weather on record, or the plan's of each calendar month.

    Where neither gives ETo it is estimated from temperature; see `eto_is_estimated`.
    """
    valley, k = plan.valley, record.months_of_water_year()
    rain_mm = record_or_calendar(record, "farm_rain_mm", valley.farm_rain_mm or NO_WEATHER)
    if eto_is_estimated(plan, record):
        warmest_c = record_or_calendar(record, "farm_warmest_c", valley.farm_warmest_c or ())
        coolest_c = record_or_calendar(record, "farm_coolest_c", valley.farm_coolest_c or ())
        latitude_deg = float(valley.farm_latitude_deg or 0.0)
        return RecordWeather(rain_mm, month_eto_mm(warmest_c, coolest_c, k, latitude_deg), k)
    eto_mm = record_or_calendar(record, "farm_eto_mm", valley.farm_eto_mm or NO_WEATHER)
    return RecordWeather(rain_mm, eto_mm, k)


def knows_eto(plan: Plan, record: Record) -> bool:
    """Return whether the record or the plan gives ETo on the farm."""
    return "farm_eto_mm" in record.columns or plan.valley.farm_eto_mm is not None


def eto_is_estimated(plan: Plan, record: Record) -> bool:
    """Return whether ETo comes from temperature, by the record's columns or the plan's months."""
    valley = plan.valley
    knows_temperature = {"farm_warmest_c", "farm_coolest_c"} <= record.columns.keys() or (
        valley.farm_warmest_c is not None and valley.farm_coolest_c is not None
    )
    if knows_eto(plan, record) or valley.farm_latitude_deg is None:
        return False
    return knows_temperature


def check_farm(plan: Plan, farm: Farm, record: Record) -> None:
    """Refuse crops whose use of water, or the rain they live on, nothing tells."""
    knows_rain = "farm_rain_mm" in record.columns or plan.valley.farm_rain_mm is not None
    faults = []
    if eto_is_estimated(plan, record):
        faults += _temperature_faults(record)
    for at, crop in enumerate(farm.crops, start=1):
        where = f"farm.crops, value {at}"
        if crop.has_kc and not (knows_eto(plan, record) or eto_is_estimated(plan, record)):
            allowed = (
                "farm_eto_mm in the record or the plan; or farm_warmest_c, farm_coolest_c and "
                "farm_latitude_deg; or need_ml_per_ha"
            )
            faults.append(Fault(where, crop.name, "nothing says how much water it needs", allowed))
        on_rain = [layout for layout in crop.layouts if not layout.irrigated]
        if on_rain and not knows_rain:
            allowed = "farm_rain_mm in the record or the plan"
            faults.append(Fault(where, crop.name, "nothing says how much it rains", allowed))
    if faults:
        raise PlanError("plan", faults)


def _temperature_faults(record: Record) -> list[Fault]:
    """Return the first month on record whose lowest temperature is above its highest."""
    warmest_c, coolest_c = (record.columns.get(f"farm_{each}_c") for each in ("warmest", "coolest"))
    if warmest_c is None or coolest_c is None or not (coolest_c > warmest_c).any():
        return []
    row = int((coolest_c > warmest_c).argmax())
    where = f"month {format_month(record.first_month + row)}, column farm_coolest_c"
    problem = f"it is above farm_warmest_c, {warmest_c[row]:g}"
    return [Fault(where, f"{coolest_c[row]:g}", problem, "degrees Celsius, at most the highest")]


def main_crop_of(farm: Farm, finish_k: int) -> MainCrop:
    """Prepare what the main crop's year decides."""
    crop, at = farm.main_crop, MONTH_NAMES.index
    return MainCrop(
        name=crop.name,
        developed_ha=farm.developed_ha,
        land_limit_ha=farm.developed_ha * crop.most_of_land_frac,
        prepare_k=None if crop.prepare_month is None else at(crop.prepare_month),
        planting_k=at(crop.sow_month),
        finish_k=finish_k,
        last_watering_k=at(crop.last_watering_month or crop.harvest_month),
        picking_k=at(crop.harvest_month),
        prepared_cost_aud_per_ha=np.array(crop.prepared_cost_aud_per_ha),
        places=tuple(range(len(crop.layouts))),
    )


def last_waterings(main: MainCrop, growings: Sequence[Growing]) -> dict[int, int]:
    """Return the last watering of what is decided on, by month of the decision.

    Of the main crop in the months in which it is planted and finished, else of what is sown then.
    """
    sown = {
        calendar.sow_k: calendar.last_watering_k
        for calendar in (growing.calendar for growing in growings)
        if calendar.last_watering_k is not None
    }
    return sown | dict.fromkeys((main.planting_k, main.finish_k), main.last_watering_k)


def water_rules_of(farm: Farm, valley: Rules, july_storage_loss_ml: float) -> WaterRules:
    """Prepare the farm's water."""
    licence, storage, bore, flow = farm.licence, farm.storage, farm.bore, farm.supplementary
    factor = 0.0 if storage is None else storage.evaporation_factor
    seepage_mm = np.array(DAYS_IN_MONTH) * (0.0 if storage is None else storage.seepage_mm_per_day)
    surface_ha = 0.0 if storage is None else storage.surface_ha
    return WaterRules(
        shares_ml=licence.general_security_shares_ml,
        high_security_shares_ml=licence.high_security_shares_ml,
        **valley.of_accounts(),
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
        july_storage_loss_ml=july_storage_loss_ml,
        bore_ml_per_year=0.0 if bore is None else bore.limit_ml_per_year,
        bore_ml_per_month=0.0 if bore is None else bore.pump_ml_per_month,
    )
