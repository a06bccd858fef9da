"""What does a crop in a row layout mean to land, money and water, as numbers?

Built from the plan's `[[farm.crops]]` alone, each row layout of each crop in turn. Arrays of twelve
are by month of the water year, 0 = July; a season that runs past June comes round to July.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.farm.crops import Crop as WaterUse
from model.farm.crops import CropCalendar
from model.farm.farm_weather import RecordWeather
from model.farm.growing import Growing, LossStage, Response
from model.farm.growing_of import growing_of, rain_growing_of
from model.farm.soil import RootZone
from model.plan.crops import Crop, Layout
from model.plan.farm import Farm
from model.record.record import FloatArray
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR


@dataclass(frozen=True, slots=True)
class LayoutRules:
    """A crop in one row layout, as land and money see it; arrays (12,)."""

    crop: str
    layout: str
    crop_at: int  # place of the crop among the farm's
    unit: str
    irrigated: bool
    sow_k: int
    harvest_k: int
    planned_water_ml_per_ha: float
    least_soil_mm: float  # on rain alone, sown on no less
    most_ha: float  # in the crop, in one season
    full_yield_units_per_ha: float
    price_aud_per_unit: float  # with what comes with it
    sold_aud_per_unit: float  # the price alone
    growing_cost_aud_per_ha: FloatArray
    growing_cost_ahead_aud_per_ha: FloatArray  # this month and those after it, to harvest
    harvest_cost_aud_per_ha: float
    harvest_cost_aud_per_unit: float
    income_pattern: FloatArray
    income_left_frac: FloatArray  # part of the last crop's money due after the month

    @property
    def label(self) -> str:
        """What it is called."""
        return f"{self.crop}, {self.layout}"

    @property
    def crosses_july(self) -> bool:
        """Whether it is sown in one water year and harvested in the next."""
        return self.harvest_k < self.sow_k

    def is_in_ground(self, k: int) -> bool:
        """Return whether it stands in a month, from sowing to harvest, both within."""
        grown = (self.harvest_k - self.sow_k) % MONTHS_IN_YEAR
        return (k - self.sow_k) % MONTHS_IN_YEAR <= grown


def layout_rules(farm: Farm, crop_at: int, layout: Layout) -> LayoutRules:
    """Prepare a crop in a row layout, as land and money see it."""
    crop = farm.crops[crop_at]
    sow_k, harvest_k = MONTH_NAMES.index(crop.sow_month), MONTH_NAMES.index(crop.harvest_month)
    own_costs = layout.growing_cost_aud_per_ha
    costs = np.array(crop.growing_cost_aud_per_ha if own_costs is None else own_costs)
    own_harvest = layout.harvest_cost_aud_per_ha
    pattern = np.array(crop.income_pattern)
    least_mm = layout.least_profile_frac * crop.soil_capacity_mm * layout.root_zone_factor
    return LayoutRules(
        crop=crop.name,
        layout=layout.name,
        crop_at=crop_at,
        unit=crop.unit,
        irrigated=layout.irrigated,
        sow_k=sow_k,
        harvest_k=harvest_k,
        planned_water_ml_per_ha=layout.planned_water_ml_per_ha,
        least_soil_mm=0.0 if layout.irrigated else least_mm,
        most_ha=farm.developed_ha * crop.most_of_land_frac,
        full_yield_units_per_ha=layout.full_yield_units_per_ha,
        price_aud_per_unit=crop.price_aud_per_unit + crop.by_product_aud_per_unit,
        sold_aud_per_unit=crop.price_aud_per_unit,
        growing_cost_aud_per_ha=costs,
        growing_cost_ahead_aud_per_ha=ahead(costs, sow_k, harvest_k),
        harvest_cost_aud_per_ha=crop.harvest_cost_aud_per_ha
        if own_harvest is None
        else own_harvest,
        harvest_cost_aud_per_unit=crop.harvest_cost_aud_per_unit,
        income_pattern=pattern,
        income_left_frac=left_after(pattern, harvest_k),
    )


def growing_of_layout(
    crop: Crop, layout: Layout, weather: RecordWeather, efficiency_frac: float
) -> Growing:
    """Prepare a crop in a row layout, as water sees it."""
    name, calendar = f"{crop.name}, {layout.name}", calendar_of(crop, layout)
    if not crop.has_water_account:
        return rain_growing_of(
            name, calendar, weather, fallow_efficiency_frac=crop.fallow_efficiency_frac
        )
    return growing_of(
        name,
        water_use_of(crop),
        calendar,
        response_of(crop),
        RootZone(crop.soil_capacity_mm, crop.soil_stress_below_mm, crop.full_stress_frac),
        weather,
        efficiency_frac=efficiency_frac,
        rain_rule=crop.effective_rain,
        rain_part=crop.effective_rain_frac,
        fallow_efficiency_frac=crop.fallow_efficiency_frac,
        pre_water_ml_per_ha=crop.pre_water_ml_per_ha if layout.irrigated else 0.0,
        use_factor=layout.use_factor,
        root_factor=layout.root_zone_factor,
        need_ml_per_ha=crop.need_ml_per_ha,
    )


def calendar_of(crop: Crop, layout: Layout) -> CropCalendar:
    """Return when a crop in a row layout is in the ground and watered."""
    at = MONTH_NAMES.index
    last = crop.last_watering_month if layout.irrigated else None
    return CropCalendar(
        sow_k=at(crop.sow_month),
        sow_day=crop.sow_day,
        last_watering_k=None if last is None else at(last),
        harvest_k=at(crop.harvest_month),
        fallow_k=at(crop.fallow_begins_month),
    )


def water_use_of(crop: Crop) -> WaterUse:
    """Return how a crop's need runs through its season; nothing where no Kc is stated."""
    initial, development, middle, late = crop.stage_days or (1, 1, 1, 1)
    return WaterUse(
        initial_days=initial,
        development_days=development,
        middle_days=middle,
        late_days=late,
        kc_initial=crop.kc_initial or 0.0,
        kc_middle=crop.kc_middle or 0.0,
        kc_end=crop.kc_end or 0.0,
    )


def response_of(crop: Crop) -> Response:
    """Return what dry days cost a crop, stage by stage; none where no stage is stated."""
    ends = crop.loss_stage_ends_days
    starts = (0, *(end + 1 for end in ends[:-1]))
    return Response(
        stages=tuple(
            LossStage(first, loss)
            for first, loss in zip(starts, crop.loss_frac_per_day, strict=False)
        ),
        end_day=ends[-1] + 1 if ends else 0,
        lost_before_day=crop.lost_before_day,
    )


def ahead(costs: FloatArray, first_k: int, last_k: int) -> FloatArray:
    """(12,) what falls in each month and after it, up to the last one of a season."""
    order = (first_k + np.arange((last_k - first_k) % MONTHS_IN_YEAR + 1)) % MONTHS_IN_YEAR
    to_come = np.zeros(MONTHS_IN_YEAR)
    to_come[order] = np.cumsum(costs[order][::-1])[::-1]
    return to_come


def left_after(pattern: FloatArray, first_k: int) -> FloatArray:
    """(12,) what is left of a yearly pattern after each month, its year beginning in `first_k`."""
    order = (first_k + np.arange(MONTHS_IN_YEAR)) % MONTHS_IN_YEAR
    left = np.empty(MONTHS_IN_YEAR)
    left[order] = np.maximum(0.0, 1.0 - np.cumsum(pattern[order]))
    return left
