"""What does the user state of a crop: its calendar, water, losses, costs, price and row layouts?

A crop is data: another one is another `[[farm.crops]]` in the plan and nothing else. The first one
listed is the main crop: land is prepared for it a year ahead, and planting and finishing are
decided on it. A crop is counted in its own unit of yield, a bale (227 kg of lint) or a tonne.
A row layout is one way of growing it: what water is planned for a hectare, how much of the full
crop's water it uses, how deep a root zone a plant can call on, and what it yields with all of that.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import Field, ValidationInfo, field_validator
from pydantic import StringConstraints as Text

from model.plan.types import (
    Amount,
    Count,
    Fraction,
    MonthName,
    Number,
    Positive,
    Table,
    TwelveAmounts,
    TwelveFractions,
    sums_to_one,
)
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR

CropName = Annotated[str, Text(min_length=1, max_length=40)]
Kc = Annotated[Number, Field(ge=0.0, le=2.0)]
StageDays = Annotated[Count, Field(ge=1, le=150)]
SeasonDay = Annotated[Count, Field(ge=0, le=300)]
DailyLoss = Annotated[Number, Field(ge=0.0, le=0.2)]
Factor = Annotated[Number, Field(gt=0.0, le=2.0)]

LEAST_PROFILE_FRAC: Final = 2.0 / 3.0
"""Rain-grown cotton is sown on a profile at least so full: common practice, no source."""

_WATER_NEEDED = "kc_initial, kc_middle, kc_end and stage_days, or need_ml_per_ha"


def months_from(first: str, month: str) -> int:
    """Count the months from one calendar month to the next of a name, 0 to 11.

    Examples
    --------
    >>> months_from("October", "April")
    6
    >>> months_from("May", "November")
    6
    """
    return (MONTH_NAMES.index(month) - MONTH_NAMES.index(first)) % MONTHS_IN_YEAR


class Layout(Table):
    """One row layout of a crop: how it is set out, and what that asks for and brings."""

    name: CropName = Field(description="what it is called, such as solid or wide-row")
    planned_water_ml_per_ha: Amount = Field(
        default=0.0,
        description="water planned for a hectare at sowing, at the farm gate, ML per ha; 0: grown "
        "on rain alone, never watered",
    )
    use_factor: Factor = Field(
        default=1.0, description="its use of water over the crop's, a factor"
    )
    root_zone_factor: Factor = Field(
        default=1.0, description="soil water that a plant can call on over the crop's, a factor"
    )
    full_yield_units_per_ha: Positive = Field(
        description="yield with all its water, units per ha; without Kc the mean of its years"
    )
    growing_cost_aud_per_ha: TwelveAmounts | None = Field(
        default=None, description="in place of the crop's growing costs, by month, AUD per ha"
    )
    harvest_cost_aud_per_ha: Amount | None = Field(
        default=None, description="in place of the crop's cost of harvest, AUD per ha"
    )
    least_profile_frac: Fraction = Field(
        default=LEAST_PROFILE_FRAC,
        description="on rain alone: sown only where the root zone is at least so full, 0 to 1",
    )

    @property
    def irrigated(self) -> bool:
        """Whether it is watered at all."""
        return self.planned_water_ml_per_ha > 0.0


class Crop(Table):
    """A crop, in one or more row layouts."""

    name: CropName = Field(description="what it is called")
    unit: Literal["bale", "t"] = Field(description="what its yield is counted in")
    most_of_land_frac: Fraction = Field(
        default=1.0, description="the most of the developed land in it in one season, 0 to 1"
    )

    # calendar
    prepare_month: MonthName | None = Field(
        default=None, description="month in which land for the main crop is chosen, a year ahead"
    )
    sow_month: MonthName = Field(description="month in which it is sown")
    sow_day: Annotated[Count, Field(ge=1, le=31)] = Field(
        default=15, description="day of that month"
    )
    last_watering_month: MonthName | None = Field(
        default=None, description="last month in which it is watered; left out, on rain alone"
    )
    harvest_month: MonthName = Field(description="month of harvest")
    fallow_begins_month: MonthName = Field(
        description="month from which its land lies fallow and gathers rain"
    )

    # water: Kc and stages, or a need by month, or (on rain alone) neither
    kc_initial: Kc | None = Field(default=None, description="crop coefficient at first")
    kc_middle: Kc | None = Field(default=None, description="crop coefficient of the middle stage")
    kc_end: Kc | None = Field(default=None, description="crop coefficient at the end")
    stage_days: Annotated[tuple[StageDays, ...], Field(min_length=4, max_length=4)] | None = Field(
        default=None, description="days of the initial, rising, middle and late stage"
    )
    need_ml_per_ha: TwelveAmounts | None = Field(
        default=None,
        description="need at the farm gate by month, ML per ha, in place of ETo and Kc",
    )
    effective_rain: Literal["usda_short", "usda_scs", "dependable", "manual_3", "fixed_part"] = (
        Field(default="usda_short", description="the rule for rain that helps the crop")
    )
    effective_rain_frac: Fraction = Field(
        default=0.8, description='part of the rain that helps, with "fixed_part", 0 to 1'
    )
    soil_capacity_mm: Positive = Field(default=200.0, description="water the root zone holds, mm")
    soil_stress_below_mm: Positive = Field(
        default=100.0, description="what it holds when the crop begins to suffer, mm"
    )
    full_stress_frac: Annotated[Number, Field(gt=0.0, le=1.0)] = Field(
        default=0.8, description="shortage of use at which a day costs its full loss, 0 to 1"
    )
    fallow_efficiency_frac: Fraction = Field(
        default=0.22, description="part of fallow rain that the soil keeps, 0 to 1"
    )
    pre_water_ml_per_ha: Amount = Field(
        default=0.0, description="put on at sowing, at the farm gate, ML per ha"
    )

    # what a dry day costs
    loss_stage_ends_days: Annotated[tuple[SeasonDay, ...], Field(max_length=12)] = Field(
        default=(), description="last day after sowing of each stage in which dry days cost yield"
    )
    loss_frac_per_day: Annotated[tuple[DailyLoss, ...], Field(max_length=12)] = Field(
        default=(), description="part of the yield a fully dry day costs in each, 0 to 0.2"
    )
    lost_before_day: SeasonDay = Field(
        default=72, description="until this day after sowing a dry spell can take the whole crop"
    )

    # money
    price_aud_per_unit: Amount = Field(description="price, AUD per bale or t")
    by_product_aud_per_unit: Amount = Field(
        default=0.0, description="what comes with it, such as cottonseed, AUD per bale or t"
    )
    ten_year_mean_price_aud_per_unit: Amount | None = Field(
        default=None, description="mean price of ten years, for the stress set, AUD per bale or t"
    )
    prepared_cost_aud_per_ha: TwelveAmounts = Field(
        default=(0.0,) * MONTHS_IN_YEAR,
        description="cost of land prepared for it, by month until sowing, AUD per ha",
    )
    growing_cost_aud_per_ha: TwelveAmounts = Field(
        description="cost from sowing to harvest by month, water apart, AUD per ha"
    )
    harvest_cost_aud_per_ha: Amount = Field(default=0.0, description="cost of harvest, AUD per ha")
    harvest_cost_aud_per_unit: Amount = Field(
        default=0.0, description="cost of harvest, AUD per bale or t"
    )
    income_pattern: TwelveFractions = Field(
        description="part of its money that comes in each month; before harvest: next year"
    )

    layouts: Annotated[tuple[Layout, ...], Field(min_length=1, max_length=20)] = Field(
        description="the ways in which it is grown"
    )

    _pattern_sums_to_one = field_validator("income_pattern")(sums_to_one)

    @property
    def has_kc(self) -> bool:
        """Whether its use of water follows ETo and Kc."""
        return self.kc_middle is not None

    @property
    def has_water_account(self) -> bool:
        """Whether its soil water is followed; else its yield goes with rain alone."""
        return self.has_kc or self.need_ml_per_ha is not None

    def layout(self, name: str) -> Layout:
        """Return a row layout by its name."""
        return next(layout for layout in self.layouts if layout.name == name)

    @field_validator("harvest_month")
    @classmethod
    def _harvest_after_watering(cls, value: str, info: ValidationInfo) -> str:
        sown, watered = info.data.get("sow_month"), info.data.get("last_watering_month")
        if sown is not None and months_from(sown, value) == 0:
            raise ValueError(f"it is sown then|a month after {sown}")
        if sown is None or watered is None:
            return value
        if months_from(sown, value) <= months_from(sown, watered):
            raise ValueError(
                f"the crop is still watered then: sown in {sown}, last watered in {watered}|"
                f"a month after {watered}, less than a year from sowing"
            )
        return value

    @field_validator("kc_middle", "kc_end", "stage_days")
    @classmethod
    def _whole_kc(cls, value: Any, info: ValidationInfo) -> Any:
        if "kc_initial" in info.data and (value is None) != (info.data["kc_initial"] is None):
            stated = "is" if info.data["kc_initial"] is not None else "is not"
            raise ValueError(
                f"kc_initial {stated} stated|kc_initial, kc_middle, kc_end and "
                "stage_days together, or none of them"
            )
        return value

    @field_validator("need_ml_per_ha")
    @classmethod
    def _one_need(cls, value: Any, info: ValidationInfo) -> Any:
        if value is not None and info.data.get("kc_initial") is not None:
            raise ValueError(f"Kc is stated too|one of the two: {_WATER_NEEDED}")
        return value

    @field_validator("soil_stress_below_mm")
    @classmethod
    def _within_capacity(cls, value: float, info: ValidationInfo) -> float:
        capacity_mm = info.data.get("soil_capacity_mm")
        if capacity_mm is not None and value > capacity_mm:
            raise ValueError(f"the root zone holds less|at most {capacity_mm:g} mm")
        return value

    @field_validator("loss_stage_ends_days")
    @classmethod
    def _days_rise(cls, values: tuple[int, ...]) -> tuple[int, ...]:
        if list(values) != sorted(set(values)):
            raise ValueError("the days do not rise|days after sowing, each above the one before")
        return values

    @field_validator("loss_frac_per_day")
    @classmethod
    def _loss_a_stage(cls, values: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        ends = info.data.get("loss_stage_ends_days")
        if ends is not None and len(ends) != len(values):
            raise ValueError(f"it has {len(values)} losses|{len(ends)}, one a stage")
        known = info.data.get("kc_initial") or info.data.get("need_ml_per_ha")
        if known and ends == ():
            raise ValueError(
                "nothing says what a dry day costs|loss_stage_ends_days and loss_frac_per_day"
            )
        return values

    @field_validator("growing_cost_aud_per_ha")
    @classmethod
    def _costs_while_it_grows(cls, values: Any, info: ValidationInfo) -> Any:
        return costs_within(values, info.data)

    @field_validator("prepared_cost_aud_per_ha")
    @classmethod
    def _costs_before_sowing(cls, values: Any, info: ValidationInfo) -> Any:
        grows = _grows_in(info.data)
        late = [MONTH_NAMES[k] for k in sorted(grows) if values[k] > 0.0]
        if late:
            raise ValueError(
                f"the crop is in the ground in {', '.join(late)}|0 from sowing to harvest"
            )
        return values

    @field_validator("layouts")
    @classmethod
    def _layouts_fit(cls, values: tuple[Layout, ...], info: ValidationInfo) -> tuple[Layout, ...]:
        names = [layout.name for layout in values]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"more than one is called {', '.join(twice)}|a name of its own each")
        for layout in values:
            if layout.growing_cost_aud_per_ha is not None:
                costs_within(layout.growing_cost_aud_per_ha, info.data)
        watered = [layout.name for layout in values if layout.irrigated]
        if watered and info.data.get("last_watering_month", "") is None:
            raise ValueError(
                f"{watered[0]} is watered, and last_watering_month is left out|"
                "last_watering_month, or planned_water_ml_per_ha = 0"
            )
        if watered == [] and _fallow_while_it_grows(info.data):
            raise ValueError(
                f"without Kc its fallow may not begin in {info.data['fallow_begins_month']}, while "
                f"it grows|fallow_begins_month from {info.data['harvest_month']} on"
            )
        needs = info.data.get("kc_initial", 0.0), info.data.get("need_ml_per_ha", 0.0)
        if watered and needs == (None, None):
            raise ValueError(f"nothing says how much water {watered[0]} uses|{_WATER_NEEDED}")
        return values


def _grows_in(data: dict[str, Any]) -> set[int]:
    """List the months of the water year in which a crop is in the ground."""
    sown, harvest = data.get("sow_month"), data.get("harvest_month")
    if sown is None or harvest is None:
        return set()
    first = MONTH_NAMES.index(sown)
    return {(first + at) % MONTHS_IN_YEAR for at in range(months_from(sown, harvest) + 1)}


def _fallow_while_it_grows(data: dict[str, Any]) -> bool:
    """Return whether the fallow of a crop that lives by rain alone begins before its harvest."""
    months = [data.get(name) for name in ("sow_month", "harvest_month", "fallow_begins_month")]
    has_kc = data.get("kc_initial") is not None or data.get("need_ml_per_ha") is not None
    if has_kc or None in months:
        return False
    sown, harvest, fallow = (str(month) for month in months)
    return 0 < months_from(sown, fallow) < months_from(sown, harvest)


def costs_within(values: tuple[float, ...], data: dict[str, Any]) -> tuple[float, ...]:
    """Check that costs fall while the crop is in the ground, so that none is left out."""
    grows = _grows_in(data)
    outside = [MONTH_NAMES[k] for k, cost in enumerate(values) if cost > 0.0 and k not in grows]
    if grows and outside:
        sown, harvest = data["sow_month"], data["harvest_month"]
        raise ValueError(
            f"growing costs fall in {', '.join(outside)}, when it is not in the ground|"
            f"0 in months outside {sown} to {harvest}; other costs belong to overheads"
        )
    return values


class OpeningCrop(Table):
    """A crop in the ground when the run opens."""

    crop: CropName = Field(description="one of the farm's crops")
    layout: CropName = Field(description="the row layout it is in")
    area_ha: Amount = Field(description="hectares in the ground, ha; 0 once it is harvested")
    soil_water_mm: Amount | None = Field(
        default=None, description="water in its root zone, mm; left out, none"
    )
    yield_lost_frac: Fraction = Field(
        default=0.0, description="part of the yield that is already lost, 0 to 1"
    )
    last_watered_month: MonthName | None = Field(
        default=None,
        description="in place of the two: the last month in which it got all it asked for, and "
        "average weather since",
    )
    still_watered: bool = Field(
        default=True, description="whether it is watered from now on, or left to the rain"
    )
    spent_aud: Amount = Field(
        default=0.0, description="spent on it so far, AUD; it is out of the bank already"
    )

    @field_validator("last_watered_month")
    @classmethod
    def _in_place_of_the_two(cls, value: str | None, info: ValidationInfo) -> str | None:
        stated = info.data.get("soil_water_mm") is not None or info.data.get("yield_lost_frac")
        if value is not None and stated:
            raise ValueError(
                "soil_water_mm or yield_lost_frac is stated too|the month, or the two figures"
            )
        return value
