"""What does the user state of the farm: its water, its land, its crops?

The tables `[farm]` and below; money is in `farm_money_plan`, how the farm is run in
`strategy_plan`. A plan without a farm is a plan of the valley alone. All lists of twelve run July
to June. Prices and costs are the user's own, in AUD.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field, ValidationInfo, field_validator
from pydantic import StringConstraints as Text

from model.plan.money import Money, WaterTrade
from model.plan.types import (
    Amount,
    Count,
    Fraction,
    MlPerShare,
    MonthName,
    Number,
    Positive,
    ReadIn,
    Table,
    TwelveAmounts,
    TwelveFractions,
    sums_to_one,
)

Efficiency = Annotated[Number, Field(gt=0.0, le=1.0)]
Day = Annotated[Count, Field(ge=1, le=150)]
Source = Literal["supplementary", "high_security", "storage", "general_security", "bore"]
SOURCES: tuple[Source, ...] = get_args(Source)


class Licence(Table):
    """The farm's own licences."""

    general_security_shares_ml: Positive = Field(description="general-security shares, ML")
    high_security_shares_ml: Amount = Field(default=0.0, description="high-security shares, ML")


class Supplementary(Table):
    """What may be pumped when there is uncontrolled flow."""

    flow_share_frac: Fraction = Field(description="the farm's part of the valley's flow, 0 to 1")
    pump_ml_per_day: Amount = Field(description="what its pumps lift, ML a day")
    access_days_per_month: Annotated[Number, Field(ge=0.0, le=31.0)] = Field(
        description="days of access in a month with uncontrolled flow"
    )
    limit_ml_per_year: Amount = Field(description="the most taken in a water year, ML")


class FarmStorage(Table):
    """A storage on the farm, steep-sided: its surface does not shrink as it empties."""

    capacity_ml: Positive = Field(description="what it holds, ML")
    surface_ha: Amount = Field(description="its water surface, ha")
    evaporation_factor: Annotated[Number, Field(ge=0.0, le=2.0)] = Field(
        default=1.05, description="its evaporation over ETo, a factor"
    )
    seepage_mm_per_day: Annotated[Number, Field(ge=0.0, le=50.0)] = Field(
        default=2.0, description="what seeps away, mm a day"
    )


class Bore(Table):
    """Groundwater."""

    limit_ml_per_year: Amount = Field(description="the most pumped in a water year, ML")
    pump_ml_per_month: Amount = Field(description="the most pumped in a month, ML")
    cost_aud_per_ml: Amount = Field(description="cost of pumping, AUD per ML")


class Watering(Table):
    """How water gets from the farm gate to the crop."""

    channel_efficiency_frac: Efficiency = Field(
        default=0.93, description="part of the water at the gate that reaches the field, 0 to 1"
    )
    field_efficiency_frac: Efficiency = Field(
        default=0.77, description="part of the water on the field that the crop uses, 0 to 1"
    )
    supply_order: tuple[Source, ...] = Field(
        default=SOURCES, description="which water is used first, each source once"
    )

    @field_validator("supply_order")
    @classmethod
    def _each_once(cls, values: tuple[Source, ...]) -> tuple[Source, ...]:
        if sorted(values) != sorted(SOURCES):
            raise ValueError(f"it does not name each source once|all of {', '.join(SOURCES)}")
        return values


class Cotton(Table):
    """Irrigated cotton: water, yield, cost and money. A bale is 227 kg of lint."""

    planting_day: Annotated[Count, Field(ge=1, le=31)] = Field(
        default=15, description="day of the planting month"
    )
    kc_initial: Annotated[Number, Field(ge=0.0, le=2.0)] = Field(
        default=0.35, description="crop coefficient of the initial stage"
    )
    kc_middle: Annotated[Number, Field(ge=0.0, le=2.0)] = Field(
        default=1.18, description="crop coefficient of the middle stage"
    )
    kc_end: Annotated[Number, Field(ge=0.0, le=2.0)] = Field(
        default=0.60, description="crop coefficient at the end"
    )
    stage_days: Annotated[tuple[Day, ...], Field(min_length=4, max_length=4)] = Field(
        default=(30, 50, 55, 45), description="days of the initial, rising, middle and late stage"
    )
    last_watering_month: MonthName = Field(
        default="March", description="the last month in which the crop is watered"
    )
    effective_rain: Literal["usda_short", "usda_scs", "dependable", "manual_3", "fixed_part"] = (
        Field(default="usda_short", description="the rule for rain that helps the crop")
    )
    effective_rain_frac: Fraction = Field(
        default=0.8, description='part of the rain that helps, with "fixed_part", 0 to 1'
    )
    need_ml_per_ha: TwelveAmounts | None = Field(
        default=None,
        description="need at the farm gate by month, ML per ha, in place of ETo and Kc",
    )
    soil_capacity_mm: Positive = Field(default=200.0, description="water the root zone holds, mm")
    soil_stress_below_mm: Amount = Field(
        default=100.0, description="what it holds when the crop begins to suffer, mm"
    )
    planting_soil_water_mm: Amount = Field(
        default=60.0, description="soil water the crop may draw, before pre-watering, mm"
    )
    pre_water_ml_per_ha: Amount = Field(
        default=1.5, description="put on at planting, at the farm gate, ML per ha"
    )
    season_ky: Annotated[Number, Field(ge=0.0, le=2.0)] = Field(
        default=0.85, description="part of the yield lost to a season without water"
    )
    full_yield_bales_per_ha: Positive = Field(description="yield with all its water, bales per ha")
    rain_grown_yield_bales_per_ha: Amount = Field(description="yield on rain alone, bales per ha")
    lint_aud_per_bale: Amount = Field(description="price of lint, AUD per bale")
    ten_year_mean_lint_aud_per_bale: Amount | None = Field(
        default=None, description="mean lint price of ten years, for the stress set, AUD per bale"
    )
    seed_aud_per_bale: Amount = Field(description="cottonseed, AUD per bale")
    prepared_cost_aud_per_ha: TwelveAmounts = Field(
        description="cost of land made ready, by month until planting, AUD per ha"
    )
    growing_cost_aud_per_ha: TwelveAmounts = Field(
        description="cost of planted land by month, water apart, AUD per ha"
    )
    picking_month: MonthName = Field(default="April", description="month of picking")
    picking_cost_aud_per_ha: Amount = Field(description="cost of picking, AUD per ha")
    picking_cost_aud_per_bale: Amount = Field(description="picking and ginning, AUD per bale")
    income_pattern: TwelveFractions = Field(
        description="part of the crop's money that comes in each month; before picking: next year"
    )

    _pattern_sums_to_one = field_validator("income_pattern")(sums_to_one)

    @field_validator("rain_grown_yield_bales_per_ha")
    @classmethod
    def _no_more_than_full(cls, value: float, info: ValidationInfo) -> float:
        full = info.data.get("full_yield_bales_per_ha")
        if full is not None and value > full:
            raise ValueError(f"rain alone yields more than full water|at most {full:g} bales")
        return value


class OtherCrop(Table):
    """A crop grown on land that is not in cotton; `land_frac` of it."""

    name: Annotated[str, Text(min_length=1, max_length=40)] = Field(description="what it is called")
    land_frac: Fraction = Field(description="part of the land not in cotton, 0 to 1")
    yield_t_per_ha: Amount = Field(description="yield, t per ha")
    price_aud_per_t: Amount = Field(description="price, AUD per t")
    cost_aud_per_ha: Amount = Field(description="cost, AUD per ha")
    cost_month: MonthName = Field(description="month in which most of the cost falls")
    income_month: MonthName = Field(description="month in which it is paid for")


class FarmSources(Table):
    """Where figures of the farm's opening were read."""

    account_ml_per_share: ReadIn | None = None
    bank_aud: ReadIn | None = None


class FarmOpening(Table):
    """Where the farm stands at the start of the plan's opening month."""

    account_ml_per_share: MlPerShare | None = Field(
        default=None, description="own account, ML per share; left out, the average holder's"
    )
    carried_ml_per_share: MlPerShare | None = Field(
        default=None, description="the part of it carried over and not yet used, ML per share"
    )
    used_this_year_ml_per_share: MlPerShare | None = Field(
        default=None, description="own use this water year, ML per share"
    )
    used_last_year_ml_per_share: MlPerShare | None = Field(
        default=None, description="own use last water year, ML per share"
    )
    used_year_before_ml_per_share: MlPerShare | None = Field(
        default=None, description="own use the year before that, ML per share"
    )
    high_security_used_ml: Amount = Field(
        default=0.0, description="own high-security use this water year, ML"
    )
    high_security_carried_ml: Amount = Field(
        default=0.0, description="own high security carried over and not yet used, ML"
    )
    storage_ml: Amount = Field(default=0.0, description="water in the farm storage, ML")
    bore_used_ml: Amount = Field(default=0.0, description="pumped this water year, ML")
    supplementary_used_ml: Amount = Field(
        default=0.0, description="uncontrolled flow taken this water year, ML"
    )
    prepared_ha: Amount = Field(default=0.0, description="land ready or being made ready, ha")
    planted_ha: Amount = Field(default=0.0, description="cotton in the ground, ha")
    planted_of_prepared_ha: Amount | None = Field(
        default=None, description="land that was made ready for it, ha; left out, as planted"
    )
    last_watered_month: MonthName | None = Field(
        default=None, description="last month in which that cotton got all it asked for"
    )
    soil_water_mm: Amount | None = Field(
        default=None, description="soil water that crop may still draw, mm; left out, none"
    )
    yield_lost_frac: Fraction = Field(
        default=0.0, description="part of the yield that is already lost, 0 to 1"
    )
    spent_aud: Amount = Field(
        default=0.0, description="already spent on the crop in the ground or the land ready, AUD"
    )
    money_to_come_aud: TwelveAmounts = Field(
        default=(0.0,) * 12, description="last crop's money by month it is due, AUD"
    )
    sources: FarmSources = FarmSources()


class Farm(Table):
    """The whole farm."""

    name: Annotated[str, Text(min_length=1, max_length=120)] = Field(description="the farm's name")
    developed_ha: Positive = Field(description="land laid out for irrigation, ha")
    rotation_limit_frac: Fraction = Field(
        description="the most of it in cotton in one season, 0 to 1"
    )
    licence: Licence
    supplementary: Supplementary | None = None
    storage: FarmStorage | None = None
    bore: Bore | None = None
    watering: Watering = Watering()
    cotton: Cotton
    other_crops: tuple[OtherCrop, ...] = Field(default=(), description="what other land grows")
    unplanted_crop: str = Field(
        default="fallow", description="what prepared land grows when it is not planted"
    )
    fallow_cost_aud_per_ha: Amount = Field(default=85.0, description="cost of fallow, AUD per ha")
    fallow_cost_month: MonthName = Field(default="December", description="month it falls in")
    trade: WaterTrade | None = None
    money: Money
    opening: FarmOpening = FarmOpening()

    @field_validator("other_crops")
    @classmethod
    def _no_more_land_than_there_is(cls, values: tuple[OtherCrop, ...]) -> tuple[OtherCrop, ...]:
        land_frac = sum(crop.land_frac for crop in values)
        if land_frac > 1.0 + 1e-9:
            raise ValueError(f"their land_frac sum to {land_frac:g}|a sum of 1 or less")
        return values

    @field_validator("unplanted_crop")
    @classmethod
    def _crop_is_known(cls, value: str, info: ValidationInfo) -> str:
        known = ["fallow", *(crop.name for crop in info.data.get("other_crops", ()))]
        if "other_crops" in info.data and value not in known:
            raise ValueError(f"the farm grows no such crop|{', '.join(known)}")
        return value
