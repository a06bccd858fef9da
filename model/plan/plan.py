"""What does the user state? The plan: the valley, its rules, where things stand, what to draw.

A plan is a TOML file the user owns. Its tables and keys are the classes below; all lists of twelve
run July to June; `ml` means megalitre, `_frac` a fraction of 0 to 1. Each field carries its unit
and meaning, so that messages and the dashboard can show them. Reading a plan reports all its faults
at once (`plan_file`).
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import Field, PrivateAttr, ValidationInfo, field_validator
from pydantic import StringConstraints as Text

from model.plan.drawing import MOST_SEASONS as MOST_SEASONS
from model.plan.drawing import MOST_SEQUENCES as MOST_SEQUENCES
from model.plan.drawing import Drawing as Drawing
from model.plan.farm import Farm
from model.plan.strategy import Strategy
from model.plan.types import (
    Amount,
    Count,
    Fraction,
    LossFraction,
    MlPerShare,
    MonthName,
    MonthText,
    Number,
    Positive,
    ReadIn,
    Table,
    TwelveAmounts,
    TwelveFractions,
    TwelveTemperatures,
    sums_to_one,
)
from model.plan.valley import BlockRelease, CapacitySharing, Environment, MonthNumber, Stage
from model.plan.when_announced import (
    AnnouncedDate,
    WaterYearText,
    date_moment,
    in_order,
    water_year_moment,
)
from model.record.numbers import Decimal
from model.record.reading import HowToRead, how_to_read, parse_columns
from model.record.record import FillPolicy
from model.units import UNITS_IN_WORDS, ml_per_unit

MOST_YEARS_AHEAD = 5
MOST_ANNOUNCED = 2_000
"""Announced figures in a plan: monthly ones of more than a century."""


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


_Texts = tuple[str, ...] | None
_LISTED = Field(min_length=1, max_length=MOST_ANNOUNCED)


def _only_one_source(value: object, info: ValidationInfo, others: tuple[str, ...]) -> None:
    """Refuse announced figures that are given in two ways."""
    for other in others if value is not None else ():
        if info.data.get(other) is not None:
            raise ValueError(f"it is not used, since {other} is given|one of the two")


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


class Sources(Table):
    """Where the announced figures of the opening were read."""

    storage_ml: ReadIn | None = None
    account_ml_per_share: ReadIn | None = None
    announced_to_date_ml_per_share: ReadIn | None = None
    high_security_used_ml: ReadIn | None = None
    high_security_allocation_frac: ReadIn | None = None


class Opening(Table):
    """Where the dam and the average account stand at the start of a month."""

    month: MonthText = Field(description="the month that opens the run, YYYY-MM")
    storage_ml: Amount = Field(description="water in the dam, ML")
    account_ml_per_share: MlPerShare = Field(description="water in the account, ML per share")
    carried_ml_per_share: MlPerShare = Field(
        default=0.0, description="of it, carried from last year and not yet used, ML per share"
    )
    announced_to_date_ml_per_share: MlPerShare = Field(
        description="announced so far this water year, ML per share"
    )
    used_this_year_ml_per_share: MlPerShare = Field(
        description="used this water year, ML per share"
    )
    used_last_year_ml_per_share: MlPerShare = Field(
        description="used last water year, ML per share"
    )
    used_year_before_ml_per_share: MlPerShare = Field(
        description="used the year before, ML per share"
    )
    high_security_used_ml: Amount = Field(description="high-security use this water year, ML")
    high_security_allocation_frac: Fraction = Field(
        description="high-security allocation so far this water year, 0 to 1"
    )
    environment_ml: Amount = Field(
        default=0.0, description="the environment's allowance in the dam, ML"
    )
    high_security_carried_ml: Amount = Field(
        default=0.0, description="high security carried over and not yet used, ML"
    )
    carried_locked: Annotated[bool, Field(strict=True)] = Field(
        default=True, description="whether a spill lock is closed over carried water"
    )
    sources: Sources = Sources()

    @field_validator("carried_ml_per_share")
    @classmethod
    def _carried_within_account(cls, value: float, info: ValidationInfo) -> float:
        account = info.data.get("account_ml_per_share")
        if account is not None and value > account:
            raise ValueError(
                f"more is carried than the account holds|at most {account:g} ML per share"
            )
        return value


class OutlookMonths(Table):
    """The months of the season in which water is counted."""

    planting_month: MonthName = Field(default="October", description="month of planting")
    finish_month: MonthName = Field(
        default="January", description="month in which finishing the crop is decided"
    )


class Announced(Table):
    """What was announced in past years, to hold the rules against: a file, or lists here."""

    file: Annotated[str, Text(min_length=1)] | None = Field(
        default=None, description="a CSV file: water_year or date, and ml_per_share"
    )
    water_years: Annotated[tuple[WaterYearText, ...], _LISTED] | None = Field(
        default=None, description="water years whose last figure is known, such as 2010-11"
    )
    dates: Annotated[tuple[AnnouncedDate, ...], _LISTED] | None = Field(
        default=None, description="dates of announcements, YYYY-MM-DD or YYYY-MM"
    )
    ml_per_share: Annotated[tuple[MlPerShare, ...], _LISTED] | None = Field(
        default=None, description="announced to date in the water year then, ML per share"
    )
    known_month: MonthText | None = Field(
        default=None, description="a July at whose start the dam is known, YYYY-07"
    )
    known_storage_ml: Amount | None = Field(default=None, description="water in the dam then, ML")
    known_account_ml_per_share: MlPerShare = Field(
        default=0.0, description="water in the account then, ML per share"
    )

    @field_validator("water_years")
    @classmethod
    def _years_in_order(cls, value: _Texts, info: ValidationInfo) -> _Texts:
        _only_one_source(value, info, ("file",))
        return value and in_order([water_year_moment(text) for text in value], value)

    @field_validator("dates")
    @classmethod
    def _dates_in_order(cls, value: _Texts, info: ValidationInfo) -> _Texts:
        _only_one_source(value, info, ("file", "water_years"))
        return value and in_order([date_moment(text) for text in value], value)

    @field_validator("ml_per_share")
    @classmethod
    def _figure_for_each(
        cls, value: tuple[float, ...] | None, info: ValidationInfo
    ) -> tuple[float, ...] | None:
        if not {"file", "water_years", "dates"} <= info.data.keys():
            return value  # what it goes with is at fault itself
        _only_one_source(value, info, ("file",))
        when = info.data["water_years"] or info.data["dates"]
        if when is None and info.data["file"] is None:
            problem = "they stand for no time" if value else "there is nothing to hold against"
            raise ValueError(f"{problem}|file alone, or water_years or dates with ml_per_share")
        if when is not None and value is None:
            raise ValueError(f"it is missing|{len(when)} figures, ML per share")
        if when is not None and value is not None and len(value) != len(when):
            raise ValueError(f"it has {len(value)} figures|{len(when)}, one for each time given")
        return value

    @field_validator("known_month")
    @classmethod
    def _july(cls, value: str | None) -> str | None:
        if value is not None and not value.endswith("-07"):
            raise ValueError("it is not a July|YYYY-07, such as 1995-07")
        return value

    @field_validator("known_storage_ml")
    @classmethod
    def _month_and_storage(cls, value: float | None, info: ValidationInfo) -> float | None:
        if "known_month" in info.data and (value is None) != (info.data["known_month"] is None):
            raise ValueError("known_month and known_storage_ml go together|both, or neither")
        return value


class Plan(Table):
    """A whole plan."""

    title: Annotated[str, Text(min_length=1, max_length=200)]
    record: Annotated[str, Text(min_length=1)] = Field(
        description="the record's file: CSV, or an XLSX workbook"
    )
    record_fill: FillPolicy = Field(default="none", description="what is done with missing months")
    record_missing_days_frac: Fraction = Field(
        default=0.0, description="daily records: share of a month's days that may be missing"
    )
    record_columns: str | None = Field(
        default=None, description="which column of the record holds what: month=Date,inflow=Q"
    )
    record_unit: str | None = Field(
        default=None, description="unit of the record's flow, such as GL, m3/s or acre-feet"
    )
    record_sheet: Annotated[str, Text(min_length=1)] | None = Field(
        default=None, description="sheet of the record's workbook; left out, the first"
    )
    record_decimal: Decimal | None = Field(
        default=None, description="decimal mark of the record; left out, as its cells settle it"
    )
    invented: Annotated[bool, Field(strict=True)] = Field(
        default=False, description="whether valley and record are invented"
    )
    ours: Annotated[tuple[Annotated[str, Text(max_length=200)], ...], Field(max_length=1_000)] = (
        Field(
            default=(),
            description="keys and tables looked at and right as they are, though the example has "
            "the same",
        )
    )
    valley: Valley
    opening: Opening
    sequences: Drawing = Drawing()
    outlook: OutlookMonths = OutlookMonths()
    farm: Farm | None = None
    strategies: tuple[Strategy, ...] = ()
    announced: Announced | None = None

    _notes: tuple[str, ...] = PrivateAttr(default=())

    @field_validator("record_columns")
    @classmethod
    def _columns(cls, value: str | None) -> str | None:
        if value is not None:
            parse_columns(value)
        return value

    @field_validator("record_unit")
    @classmethod
    def _unit(cls, value: str | None) -> str | None:
        if value is not None and ml_per_unit(value, 1) is None:
            raise ValueError(f"it is not a known unit|{UNITS_IN_WORDS}")
        return value

    @property
    def how_to_read(self) -> HowToRead:
        """What the plan says of its record's file."""
        return how_to_read(
            self.record_columns, self.record_unit, self.record_sheet, self.record_decimal
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What changed its meaning since the plan's file was written; empty for one of today."""
        return self._notes

    def with_notes(self, notes: tuple[str, ...]) -> Self:
        """Return the same plan with notes on how it was read."""
        noted = self.model_copy()
        noted._notes = notes
        return noted

    def with_drawing(self, **settings: object) -> Self:
        """Return the same plan with some settings of `[sequences]` replaced, unchecked."""
        return self.model_copy(update={"sequences": self.sequences.model_copy(update=settings)})
