"""What may a plan state of its valley: the dam, licences, assessment, accounts, further rules?

Lists of twelve run July to June; months in tables of further rules are calendar numbers, 1 to 12.
A further rule that is left out changes nothing. Which of them refuse each other stands in
`valley_agreement`.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator
from pydantic import StringConstraints as Text

from model.plan.types import (
    Amount,
    Count,
    Fraction,
    LossFraction,
    MlPerShare,
    MonthText,
    Number,
    Positive,
    Table,
    TwelveAmounts,
    TwelveFractions,
    TwelveTemperatures,
    sums_to_one,
)

MOST_YEARS_AHEAD = 5

MonthNumber = Annotated[Count, Field(ge=1, le=12)]


def _required_with(key: str, setting: str) -> Callable[[Any, ValidationInfo], Any]:
    """Check a key that one value of another key asks for, and that no other value uses."""

    def check(value: float | None, info: ValidationInfo) -> float | None:
        chosen = info.data.get(key)
        if chosen == setting and value is None:
            raise ValueError(f'it is missing|a value, since {key} is "{setting}"')
        if chosen is not None and chosen != setting and value is not None:
            raise ValueError(f'it is not used, since {key} is "{chosen}"|only {key} = "{setting}"')
        return value

    return check


class Environment(Table):
    """What the environment holds in the dam."""

    yearly_ml: Amount = Field(default=0.0, description="credited on 1 July, ML at the dam")
    credit_frac: Fraction = Field(
        default=0.0, description="credited for each ML that general security is credited"
    )
    inflow_frac: Fraction = Field(default=0.0, description="fraction of inflow credited")
    limit_ml: Amount | None = Field(default=None, description="the most that is held, ML")
    carryover_limit_ml: Amount | None = Field(
        default=None, description="the most that is carried over 1 July, ML"
    )
    release_ml: TwelveAmounts = Field(description="released after base flow, ML a month")


class BlockRelease(Table):
    """Small orders of general security wait for the months of block releases."""

    months: Annotated[tuple[MonthNumber, ...], Field(min_length=1, max_length=12)] = Field(
        description="calendar numbers of the months with a block release, 1 to 12"
    )
    below_ml: Positive = Field(description="an order of all shares below this waits, ML a month")

    @field_validator("months")
    @classmethod
    def _once_each(cls, months: tuple[int, ...]) -> tuple[int, ...]:
        if len(set(months)) < len(months):
            raise ValueError("a month is listed twice|each month once")
        return months


class CapacitySharing(Table):
    """General security owns a part of the dam's space and of its inflow."""

    space_frac: Annotated[Fraction, Field(gt=0.0)] = Field(
        description="fraction of the space above dead storage that is general security's"
    )
    inflow_frac: Fraction = Field(
        description="fraction of what higher classes leave of inflow that is general security's"
    )


class Stage(Table):
    """One stage of a restriction."""

    trigger_frac: Fraction = Field(
        description="fraction of capacity at or below which the stage begins"
    )
    access_frac: Fraction = Field(description="fraction of what it freezes that stays usable")
    freezes: Literal["account", "carried"] = Field(
        description="the whole account, or the part of it carried over"
    )


class HighSecurity(Table):
    """High-security licences, as one holder."""

    shares_ml: Amount = Field(description="ML a year at full allocation")
    pattern: TwelveFractions = Field(description="share of the year's use in each month")
    carryover_frac: Fraction | None = Field(
        default=None, description="fraction of what is left on 30 June that is carried over"
    )

    _pattern_sums_to_one = field_validator("pattern")(sums_to_one)


class GeneralSecurity(Table):
    """General-security licences, as the average holder times the shares."""

    shares_ml: Positive = Field(description="ML for 1.0 ML per share")
    pattern: TwelveFractions = Field(description="share of the year's use in each month")
    others_keep_ml_per_share: MlPerShare = Field(
        default=0.0, description="ML per share other irrigators leave in their accounts"
    )
    others_keep_above_ml_per_share: MlPerShare = Field(
        default=0.0,
        description="of that, only what a season's water so far (account and use) has above this, "
        "ML per share",
    )

    _pattern_sums_to_one = field_validator("pattern")(sums_to_one)


class Assessment(Table):
    """How much is set aside before general security, and what inflow is counted on."""

    years_ahead: Annotated[Count, Field(ge=0, le=MOST_YEARS_AHEAD)] = Field(
        description="whole water years after this one that commitments run to"
    )
    essential_reserve_months: Annotated[Count, Field(ge=0, le=120)] = Field(
        description="months of essential supplies kept in reserve"
    )
    high_security_next_year_frac: Fraction = Field(
        description="fraction of high security set aside for each year ahead"
    )
    assured_inflow: Literal["worst", "percentile", "fixed"] = Field(
        description="the inflow counted on: worst observed, a percentile of it, or a fixed volume"
    )
    assured_percentile_frac: Fraction | None = Field(
        default=None, description="chance of non-exceedance of the inflow counted on"
    )
    assured_fixed_ml_per_month: Amount | None = Field(
        default=None, description="ML a month counted on"
    )
    assured_before: MonthText | None = Field(
        default=None, description="only the record before this month is counted on"
    )

    _percentile = field_validator("assured_percentile_frac")(
        _required_with("assured_inflow", "percentile")
    )
    _fixed = field_validator("assured_fixed_ml_per_month")(
        _required_with("assured_inflow", "fixed")
    )


class Access(Table):
    """When part of the water in accounts is frozen: at one trigger, or in stages."""

    stages: Annotated[tuple[Stage, ...], Field(max_length=12)] = Field(
        default=(), description="stages of a restriction, in place of the single trigger"
    )
    restriction_trigger_frac: Fraction | None = Field(
        default=None, description="fraction of capacity at or below which the valley is restricted"
    )
    restriction_access_frac: Fraction | None = Field(
        default=None, description="fraction of an account that stays usable in a restriction"
    )

    @field_validator("stages")
    @classmethod
    def _triggers_fall(cls, stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
        triggers = [stage.trigger_frac for stage in stages]
        if any(later >= earlier for earlier, later in pairwise(triggers)):
            raise ValueError("the triggers do not fall|each trigger_frac below the one before")
        return stages

    @field_validator("restriction_trigger_frac", "restriction_access_frac")
    @classmethod
    def _trigger_or_stages(cls, value: float | None, info: ValidationInfo) -> float | None:
        staged = info.data.get("stages")
        if staged and value is not None:
            raise ValueError("it is not used, since stages are given|one of the two")
        if staged == () and value is None:
            meaning = cls.model_fields[info.field_name or ""].description
            raise ValueError(f"it is missing|{meaning}; or stages")
        return value


class Accounts(Table):
    """The rules of general-security accounts; a limit left out is no limit."""

    account_limit_ml_per_share: Annotated[MlPerShare, Field(gt=0.0)] | None = Field(
        default=None, description="the most an account may hold, ML per share"
    )
    carryover_limit_ml_per_share: MlPerShare | None = Field(
        default=None, description="the most that is carried into a new year, ML per share"
    )
    carryover_loss_frac: Fraction = Field(
        default=0.0, description="fraction of carried water lost on 1 July"
    )
    use_limit_1yr_ml_per_share: MlPerShare | None = Field(
        default=None, description="the most used in one water year, ML per share"
    )
    use_limit_3yr_ml_per_share: MlPerShare | None = Field(
        default=None, description="the most used in three water years, ML per share"
    )
    allocation_cap_ml_per_share: MlPerShare | None = Field(
        default=None, description="the most announced in one water year, ML per share"
    )
    loss_mode: Literal["by_balance", "socialised"] = Field(
        default="socialised",
        description="who bears evaporation: each account by its balance, or everyone's allocation",
    )
    spill_rule: Literal["none", "proportional", "carried_first", "reset"] = Field(
        default="none", description="what a spill takes from accounts"
    )
    reset_ml_per_share: MlPerShare | None = Field(
        default=None, description="what a spill resets accounts to, ML per share"
    )

    spill_lock_below_frac: Annotated[Fraction, Field(lt=1.0)] | None = Field(
        default=None,
        description="carried water is locked from 1 July until a month opens below this fraction "
        "of capacity",
    )
    spill_lock_until_month: MonthNumber | None = Field(
        default=None,
        description="carried water is locked from 1 July until this calendar month, 1 to 12",
    )

    _reset = field_validator("reset_ml_per_share")(_required_with("spill_rule", "reset"))

    @field_validator("spill_lock_until_month")
    @classmethod
    def _after_july(cls, value: int | None) -> int | None:
        if value == 7:
            raise ValueError("the lock closes in July|a later month, 8 to 12 or 1 to 6")
        return value


class Valley(Table):
    """The dam, what is taken from it first, and the two classes of licence."""

    name: Annotated[str, Text(min_length=1, max_length=120)]
    capacity_ml: Positive = Field(description="full supply volume, ML")
    dead_storage_ml: Amount = Field(description="volume below the outlet, ML")
    surface_storage_ml: Annotated[tuple[Amount, ...], Field(min_length=1, max_length=200)] = Field(
        description="storage volumes of the surface table, ML, rising"
    )
    surface_area_ha: Annotated[tuple[Amount, ...], Field(min_length=1, max_length=200)] = Field(
        description="water surface at each of those volumes, ha"
    )
    lake_evaporation_mm: TwelveAmounts = Field(description="evaporation from the lake, mm a month")
    lake_rain_mm: TwelveAmounts = Field(description="rain on the lake, mm a month")
    essential_ml: TwelveAmounts = Field(description="essential supplies, ML a month")
    river_loss_ml: TwelveAmounts = Field(description="loss of running the river, ML a month")
    base_flow_ml: TwelveAmounts = Field(description="environmental base flow, ML a month")
    tributary_ml: TwelveAmounts = Field(
        default=(0.0,) * 12, description="tributary inflow below the dam, ML a month"
    )
    farm_rain_mm: TwelveAmounts | None = Field(default=None, description="farm rain, mm a month")
    farm_eto_mm: TwelveAmounts | None = Field(default=None, description="farm ETo, mm a month")
    farm_latitude_deg: Annotated[Number, Field(ge=-66.0, le=66.0)] | None = Field(
        default=None,
        description="latitude of the farm, south below 0: without ETo it is estimated from "
        "temperature, degrees",
    )
    farm_warmest_c: TwelveTemperatures | None = Field(
        default=None, description="mean of the days' highest temperature by month, degrees Celsius"
    )
    farm_coolest_c: TwelveTemperatures | None = Field(
        default=None, description="mean of the days' lowest temperature by month, degrees Celsius"
    )
    delivery_loss_frac: LossFraction = Field(
        description="fraction of a release lost between the dam and the farm gate"
    )
    delivery_loss_fixed_ml: TwelveAmounts | None = Field(
        default=None,
        description="lost beside it in each month that the river carries licensed water, ML",
    )
    high_security: HighSecurity
    general_security: GeneralSecurity
    assessment: Assessment
    access: Access | None = None
    accounts: Accounts
    block_release: BlockRelease | None = None
    environment: Environment | None = None
    capacity_sharing: CapacitySharing | None = None

    @field_validator("dead_storage_ml")
    @classmethod
    def _dead_below_capacity(cls, value: float, info: ValidationInfo) -> float:
        capacity_ml = info.data.get("capacity_ml")
        if capacity_ml is not None and value >= capacity_ml:
            raise ValueError(
                f"dead storage is not below capacity|an amount below {capacity_ml:g} ML"
            )
        return value

    @field_validator("farm_coolest_c")
    @classmethod
    def _cooler_than_the_warmest(
        cls, values: tuple[float, ...] | None, info: ValidationInfo
    ) -> tuple[float, ...] | None:
        warmest = info.data.get("farm_warmest_c")
        if values is None or "farm_warmest_c" not in info.data:
            return values
        if warmest is None:
            raise ValueError("farm_warmest_c is left out|both, or neither")
        if any(low > high for low, high in zip(values, warmest, strict=True)):
            raise ValueError("a month's lowest is above its highest|twelve below farm_warmest_c")
        return values

    @field_validator("surface_storage_ml")
    @classmethod
    def _volumes_rise(cls, values: tuple[float, ...]) -> tuple[float, ...]:
        if any(later <= earlier for earlier, later in pairwise(values)):
            raise ValueError("the volumes do not rise|volumes in ML, each above the one before")
        return values

    @field_validator("surface_area_ha")
    @classmethod
    def _areas_match(cls, values: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        volumes = info.data.get("surface_storage_ml")
        if volumes is not None and len(values) != len(volumes):
            raise ValueError(f"it has {len(values)} areas|{len(volumes)} areas, one a volume")
        if any(later < earlier for earlier, later in pairwise(values)):
            raise ValueError("the areas fall as the dam rises|areas in ha that do not fall")
        return values
