"""What does the user state of how the farm is run: the strategies?

A strategy is a small named set of rules, the same in every season. Several are compared on the same
sequences. Amounts of water are the farm's own, at the farm gate.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator
from pydantic import StringConstraints as Text

from model.plan.crops import CropName
from model.plan.steps import MOST_STEPS, DroughtStep
from model.plan.types import Amount, Fraction, MlPerShare, MonthName, Number, Positive, Table


class GrowStep(Table):
    """A crop and row layout in the list of what a strategy grows.

    In each sowing month the list is walked in order. A watered crop is sown where the water counted
    on, over the land on offer to it, is at least `least_water_ml_per_ha`; watered crops after it
    are then passed over in that month. A crop on rain alone takes land that is free.
    """

    crop: CropName = Field(description="one of the farm's crops")
    layout: CropName = Field(description="one of that crop's row layouts")
    planned_water_ml_per_ha: Positive | None = Field(
        default=None,
        description="water planned for a hectare, at the farm gate, ML per ha; left out, the "
        "layout's",
    )
    least_water_ml_per_ha: Amount = Field(
        default=0.0,
        description="sown only with so much water counted on a hectare on offer, ML per ha",
    )
    most_of_land_frac: Fraction = Field(
        default=1.0, description="the most of the developed land in it, 0 to 1; or less, the crop's"
    )


class Strategy(Table):
    """One way of running the farm."""

    name: Annotated[str, Text(min_length=1, max_length=40)] = Field(description="what it is called")
    prepare_month: MonthName | None = Field(
        default=None,
        description="month in which land for the next main crop is chosen; left out, the crop's",
    )
    prepare_least_frac: Fraction = Field(
        default=1.0,
        description="part of the rotation limit made ready with an empty account, 0 to 1",
    )
    prepare_all_at_ml_per_share: MlPerShare = Field(
        default=0.0, description="own account at which all of it is made ready, ML per share"
    )
    grow: Annotated[tuple[GrowStep, ...], Field(max_length=40)] = Field(
        default=(),
        description="what it grows, in order; left out, each crop of the farm in its first layout",
    )
    count_on_frac: Annotated[Number, Field(ge=0.0, le=2.0)] = Field(
        description="part of the further allocation expected that is counted on, 0 to 2"
    )
    expected_chance_frac: Annotated[Number, Field(ge=0.01, le=0.99)] = Field(
        description="chance with which that much is reached or passed, 0.01 to 0.99"
    )
    hold_back_ml_per_share: MlPerShare = Field(
        default=0.0, description="the most held over at planting, ML per share"
    )
    hold_above_ml_per_share: MlPerShare = Field(
        default=0.0,
        description="held only from what the account is counted on above this, ML per share",
    )
    first_area_ha: Amount | None = Field(
        default=None,
        description="main crop planted at the planting ahead, whatever the rule says, as far as "
        "land is prepared, ha; left out, by the rule",
    )
    smallest_area_ha: Amount = Field(
        default=0.0, description="with less than this, nothing is planted, ha"
    )
    when_short: Literal["finish_fewer", "spread"] = Field(
        default="finish_fewer",
        description="finish fewer hectares well, or spread the shortage over all",
    )
    sell_months: tuple[MonthName, ...] = Field(
        default=("February",), description="months in which water left over may be sold"
    )
    sell_above_aud_per_ml: Amount | None = Field(
        default=None, description="sold only at this price or more, AUD per ML; left out: never"
    )
    sell_keep_ml_per_share: MlPerShare = Field(
        default=0.0, description="water never sold, ML per share"
    )
    buy_months: tuple[MonthName, ...] = Field(
        default=(), description="months in which water may be bought; left out: to plant"
    )
    buy_up_to_ml: Amount = Field(default=0.0, description="the most bought in a season, ML")
    buy_below_aud_per_ml: Amount = Field(
        default=0.0, description="bought only at this price or less, AUD per ML"
    )
    buy_now_ml: Amount = Field(default=0.0, description="bought at once, at any price, ML")
    sell_now_ml: Amount = Field(default=0.0, description="sold at once, at any price, ML")
    steps: Annotated[tuple[DroughtStep, ...], Field(max_length=MOST_STEPS)] = Field(
        default=(), description="drought steps, in order; left out, none is taken"
    )

    def without_steps(self) -> Self:
        """Return the same strategy without its drought steps."""
        return self.model_copy(update={"steps": ()})

    @model_validator(mode="before")
    @classmethod
    def _one_month_to_sell(cls, given: Any) -> Any:
        """Read the one month of plans written before there were several."""
        if isinstance(given, dict) and "sell_month" in given and "sell_months" not in given:
            given = dict(given)
            given["sell_months"] = (given.pop("sell_month"),)
        return given
