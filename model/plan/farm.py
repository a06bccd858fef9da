"""What does the user state of the farm: its water, its land, its crops?

The tables `[farm]` and below; money is in `farm_money_plan`, how the farm is run in
`strategy_plan`. A plan without a farm is a plan of the valley alone. All lists of twelve run July
to June. Prices and costs are the user's own, in AUD.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field, ValidationInfo, field_validator
from pydantic import StringConstraints as Text

from model.plan.credit import Credit
from model.plan.crops import Crop, OpeningCrop
from model.plan.money import Money, Varies, WaterTrade
from model.plan.types import (
    Amount,
    Fraction,
    MlPerShare,
    MonthName,
    Number,
    Positive,
    ReadIn,
    Table,
    TwelveAmounts,
)

Efficiency = Annotated[Number, Field(gt=0.0, le=1.0)]
Source = Literal["supplementary", "high_security", "storage", "general_security", "bore"]
SOURCES: tuple[Source, ...] = get_args(Source)
Objective = Literal["mean", "worst_tenth", "missed_payment"]


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
    bought_this_year_ml: Amount = Field(
        default=0.0, description="yearly water bought this water year, ML"
    )
    sold_this_year_ml: Amount = Field(
        default=0.0, description="yearly water sold this water year, ML"
    )
    prepared_ha: Amount = Field(default=0.0, description="land prepared for the next crop, ha")
    land_spent_aud: Amount = Field(
        default=0.0, description="already spent on the land prepared for the next crop, AUD"
    )
    crops: tuple[OpeningCrop, ...] = Field(default=(), description="crops in the ground")
    money_to_come_aud: TwelveAmounts = Field(
        default=(0.0,) * 12, description="last crop's money by month it is due, AUD"
    )
    sources: FarmSources = FarmSources()


class Farm(Table):
    """The whole farm."""

    name: Annotated[str, Text(min_length=1, max_length=120)] = Field(description="the farm's name")
    developed_ha: Positive = Field(description="land laid out for irrigation, ha")
    licence: Licence
    supplementary: Supplementary | None = None
    storage: FarmStorage | None = None
    bore: Bore | None = None
    watering: Watering = Watering()
    crops: Annotated[tuple[Crop, ...], Field(min_length=1, max_length=20)] = Field(
        description="what the farm may grow, its main crop first"
    )
    fallow_cost_aud_per_ha: Amount = Field(default=85.0, description="cost of fallow, AUD per ha")
    fallow_cost_month: MonthName = Field(default="December", description="month it falls in")
    objective: Objective = Field(
        default="mean",
        description="what the best area is best by, of worth at the end of the run: mean, "
        "worst_tenth or missed_payment; of those alike, the best on average",
    )
    trade: WaterTrade | None = None
    risk: tuple[Varies, ...] = Field(
        default=(), description="how full yields and prices vary; left out, they do not"
    )
    money: Money
    credit: Credit | None = Field(
        default=None, description="what is asked of a lender, on what security"
    )
    opening: FarmOpening = FarmOpening()

    @field_validator("crops")
    @classmethod
    def _main_crop_first(cls, values: tuple[Crop, ...]) -> tuple[Crop, ...]:
        names = [crop.name for crop in values]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"more than one is called {', '.join(twice)}|a name of its own each")
        for crop in values[1:]:
            if crop.prepare_month is not None or any(crop.prepared_cost_aud_per_ha):
                raise ValueError(
                    f"land is prepared for {crop.name}, which is not the first|prepare_month and "
                    "prepared_cost_aud_per_ha with the first crop alone"
                )
        return values

    @field_validator("risk")
    @classmethod
    def _crops_are_grown(
        cls, values: tuple[Varies, ...], info: ValidationInfo
    ) -> tuple[Varies, ...]:
        grown = [crop.name for crop in info.data.get("crops", ())]
        named = [varies.crop for varies in values]
        unknown = [name for name in named if grown and name not in grown]
        if unknown:
            raise ValueError(f"no crop is called {', '.join(unknown)}|{', '.join(grown)}")
        if len(set(named)) < len(named):
            raise ValueError("a crop comes twice|each crop once")
        return values

    @property
    def main_crop(self) -> Crop:
        """The crop that land is prepared for, and that planting and finishing are decided on."""
        return self.crops[0]

    def crop(self, name: str) -> Crop:
        """Return a crop by its name."""
        return next(crop for crop in self.crops if crop.name == name)
