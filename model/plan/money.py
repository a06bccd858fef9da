"""What does the user state of the farm's money: the bank, debts, fixed costs, water charges, trade?

The tables `[farm.money]` and `[farm.trade]`. All money is in AUD, of today's worth.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator
from pydantic import StringConstraints as Text

from model.plan.types import (
    Amount,
    Count,
    Fraction,
    MonthName,
    MonthText,
    Number,
    Positive,
    Table,
)

Rate = Annotated[Number, Field(ge=0.0, le=1.0)]
PaymentMonths = Annotated[tuple[MonthName, ...], Field(min_length=1, max_length=12)]
PastYears = Annotated[tuple[Positive, ...], Field(min_length=3, max_length=60)]
Three = Annotated[tuple[Amount, ...], Field(min_length=3, max_length=3)]
DryMiddleWet = Annotated[tuple[Amount, ...], Field(min_length=3, max_length=3)]
Factor = Annotated[Number, Field(gt=0.0, le=10.0)]
TwelveFactors = Annotated[tuple[Factor, ...], Field(min_length=12, max_length=12)]
QUARTERS = ("September", "December", "March", "June")


class Loan(Table):
    """A term loan, as it stands when the run opens."""

    name: Annotated[str, Text(min_length=1, max_length=60)] = Field(description="what it is called")
    balance_aud: Amount = Field(description="still owed, AUD")
    rate_frac_per_year: Rate = Field(description="interest, fraction a year")
    term_years: Annotated[Count, Field(ge=1, le=40)] = Field(description="years still to run")
    kind: Literal["level", "equal_principal"] = Field(
        default="level", description="equal payments, or equal principal plus interest"
    )
    interest_only_years: Annotated[Count, Field(ge=0, le=39)] = Field(
        default=0, description="years still to run in which only interest is paid"
    )
    payment_months: PaymentMonths = Field(
        default=("December", "June"), description="months in which a payment is due, evenly spread"
    )

    @field_validator("interest_only_years")
    @classmethod
    def _within_term(cls, value: int, info: ValidationInfo) -> int:
        term = info.data.get("term_years")
        if term is not None and value >= term:
            raise ValueError(f"nothing is left to repay in|less than {term} years")
        return value


class Machinery(Table):
    """A purchase by date."""

    month: MonthText = Field(description="month it is paid, YYYY-MM")
    cost_aud: Amount = Field(description="price, AUD")


class ForwardSale(Table):
    """Bales sold before they are grown."""

    water_year: Annotated[str, Text(pattern=r"^\d{4}-\d{2}$")] = Field(
        description="water year in which the crop is planted, such as 2025-26"
    )
    bales: Amount = Field(description="bales sold")
    lint_aud_per_bale: Amount = Field(description="price agreed for lint, AUD per bale")
    washout_aud_per_bale: Amount = Field(
        description="cost of each bale that cannot be delivered, AUD per bale"
    )


class WaterCharges(Table):
    """What the licences and the water itself cost."""

    general_fixed_aud_per_share: Amount = Field(
        description="fixed charge a year on general security, allocation or none, AUD per share"
    )
    high_fixed_aud_per_share: Amount = Field(
        default=0.0, description="fixed charge a year on high security, AUD per share"
    )
    usage_aud_per_ml: Amount = Field(description="cost of river water used, AUD per ML")
    charge_months: PaymentMonths = Field(
        default=QUARTERS, description="months in which a part of the fixed charges is due"
    )


class District(Table):
    """Which part of each cost is spent in the district; water bought is none of it."""

    crops_frac: Fraction = Field(
        description="of growing, harvesting, preparing land, fallow and water used, 0 to 1"
    )
    overheads_frac: Fraction = Field(description="of overheads and fixed water charges, 0 to 1")
    drawings_frac: Fraction = Field(description="of drawings, 0 to 1")
    machinery_frac: Fraction = Field(default=0.0, description="of machinery bought, 0 to 1")


class Assets(Table):
    """What the farm owns, at the owner's own values."""

    land_aud: Amount = Field(description="land, AUD")
    general_security_aud_per_share: Amount = Field(
        description="general-security licence, AUD per share"
    )
    high_security_aud_per_share: Amount = Field(
        default=0.0, description="high-security licence, AUD per share"
    )
    machinery_aud: Amount = Field(default=0.0, description="machinery, AUD")


class Money(Table):
    """The bank, the debts, and what falls due whether or not there is a crop."""

    bank_aud: Number = Field(description="bank balance when the run opens, AUD; below 0 overdrawn")
    overdraft_limit_aud: Amount = Field(description="the most the account may be overdrawn, AUD")
    overdraft_rate_frac_per_year: Rate = Field(description="overdraft interest, fraction a year")
    arrears_aud: Amount = Field(default=0.0, description="loan payments already missed, AUD")
    arrears_rate_frac_per_year: Rate = Field(
        default=0.0, description="interest on missed payments, fraction a year"
    )
    overheads_aud_per_year: Amount = Field(description="overheads, even over months, AUD a year")
    drawings_aud_per_year: Amount = Field(
        default=0.0, description="what the family lives on, even over months, AUD a year"
    )
    off_farm_income_aud_per_year: Amount = Field(
        default=0.0, description="income from off the farm, even over months, AUD a year"
    )
    bank_limits_planting: bool = Field(
        default=False, description="whether the overdraft limit bounds the area planted"
    )
    bank_margin_kept_aud: Amount = Field(
        default=0.0, description="part of the limit that planting leaves unused, AUD"
    )
    tax_aud_per_year: Amount = Field(default=0.0, description="tax, AUD a year")
    tax_rate_frac: Fraction | None = Field(
        default=None, description="tax on the farm's profit, in place of a yearly sum, 0 to 1"
    )
    tax_month: MonthName = Field(default="March", description="month in which tax is paid")
    losses_carried_aud: Amount = Field(
        default=0.0, description="tax losses of earlier years not yet set against profit, AUD"
    )
    profit_so_far_aud: Number = Field(
        default=0.0, description="taxable profit since 1 July, AUD; below 0 a loss"
    )
    tax_due_aud: Amount = Field(
        default=0.0, description="tax on earlier years' profit not yet paid, AUD"
    )
    depreciation_aud_per_year: Amount = Field(
        default=0.0, description="wear of machinery, AUD a year; for interest cover, not cash"
    )
    deposit_aud: Amount = Field(
        default=0.0, description="farm deposit set aside in good years, AUD"
    )
    water_charges: WaterCharges
    loans: tuple[Loan, ...] = Field(default=(), description="term loans")
    machinery: tuple[Machinery, ...] = Field(default=(), description="machinery to be bought")
    forward_sales: tuple[ForwardSale, ...] = Field(default=(), description="bales sold forward")
    assets: Assets
    district: District | None = Field(
        default=None, description="parts of costs spent in the district; left out, not told"
    )

    @field_validator("tax_rate_frac")
    @classmethod
    def _one_tax(cls, value: float | None, info: ValidationInfo) -> float | None:
        if value is not None and info.data.get("tax_aud_per_year"):
            raise ValueError("tax is stated twice|this or tax_aud_per_year, not both")
        return value


class WaterTrade(Table):
    """The yearly water market: dear when the valley is short."""

    reference_aud_per_ml: Amount = Field(description="price in a middle season, AUD per ML")
    reference_supply_ml_per_share: Positive = Field(
        description="water of a middle season, used or still to come included, ML per share"
    )
    scarcity_exponent: Annotated[Number, Field(ge=0.0, le=5.0)] = Field(
        default=1.0, description="how steeply the price rises as water gets short"
    )
    lowest_aud_per_ml: Amount = Field(description="the price never falls below this, AUD per ML")
    highest_aud_per_ml: Amount = Field(description="the price never rises above this, AUD per ML")
    dry_middle_wet_aud_per_ml: DryMiddleWet | None = Field(
        default=None,
        description="own prices of a dry, a middle and a wet season, in place of the reference",
    )
    price_by_month: TwelveFactors | None = Field(
        default=None, description="factor on the price by month; left out, usual ones"
    )
    most_ml_per_season: Amount | None = Field(
        default=None,
        description="the most the farm can buy, or sell, in a season, ML; left out, a tenth of it",
    )
    spread_frac: Fraction = Field(
        default=0.10, description="between what a buyer pays and a seller gets, part of the price"
    )
    fee_aud_per_ml: Amount = Field(default=0.0, description="fee of a trade, AUD per ML")
    end_value_aud_per_ml: Amount | None = Field(
        default=None,
        description="worth of a megalitre left when the run ends, AUD per ML; left out, worked out",
    )

    @field_validator("dry_middle_wet_aud_per_ml")
    @classmethod
    def _dear_when_dry(cls, value: tuple[float, ...] | None) -> tuple[float, ...] | None:
        if value is not None and list(value) != sorted(value, reverse=True):
            raise ValueError("a wetter season is dearer|dry, middle and wet prices that fall")
        return value

    @field_validator("highest_aud_per_ml")
    @classmethod
    def _bounds_in_order(cls, value: float, info: ValidationInfo) -> float:
        lowest = info.data.get("lowest_aud_per_ml")
        if lowest is not None and value < lowest:
            raise ValueError(f"it lies below the lowest price|{lowest:g} AUD per ML or more")
        return value


class Varies(Table):
    """How the full yield and the price of a crop vary from year to year, as the user states it."""

    crop: Annotated[str, Text(min_length=1, max_length=40)] = Field(description="which crop")
    past_yields_units_per_ha: PastYears | None = Field(
        default=None, description="full yield of own past years, bales or t per ha"
    )
    past_prices_aud_per_unit: PastYears | None = Field(
        default=None, description="price in the same years, AUD per bale or t"
    )
    yields_10_50_90_units_per_ha: Three | None = Field(
        default=None, description="full yield not reached in 10, 50 and 90 years of 100"
    )
    prices_10_50_90_aud_per_unit: Three | None = Field(
        default=None, description="price not reached in 10, 50 and 90 years of 100"
    )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        yields, prices = self.past_yields_units_per_ha, self.past_prices_aud_per_unit
        threes = (self.yields_10_50_90_units_per_ha, self.prices_10_50_90_aud_per_unit)
        if (yields is None) != (prices is None):
            raise ValueError("past years need both|past_yields and past_prices, or neither")
        if yields is not None and prices is not None and len(yields) != len(prices):
            raise ValueError("past years need both|as many past_prices as past_yields")
        stated = (yields is not None, any(three is not None for three in threes))
        if stated not in {(True, False), (False, True)}:
            raise ValueError("it does not say how they vary|past years, or 10, 50 and 90 in 100")
        for three in threes:
            if three is not None and list(three) != sorted(three):
                raise ValueError("the three do not rise|10, 50 and 90 in 100, the lowest first")
        return self
