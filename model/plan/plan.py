"""What does the user state? The plan: the valley, its rules, where things stand, what to draw.

A plan is a TOML file the user owns. Its tables and keys are the classes below; all lists of twelve
run July to June; `ml` means megalitre, `_frac` a fraction of 0 to 1. Each field carries its unit
and meaning, so that messages and the dashboard can show them. Reading a plan reports all its faults
at once (`plan_file`).
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, PrivateAttr, ValidationInfo, field_validator
from pydantic import StringConstraints as Text

from model.plan.drawing import MOST_SEASONS as MOST_SEASONS
from model.plan.drawing import MOST_SEQUENCES as MOST_SEQUENCES
from model.plan.drawing import Drawing as Drawing
from model.plan.farm import Farm
from model.plan.strategy import Strategy
from model.plan.types import (
    Amount,
    Fraction,
    MlPerShare,
    MonthName,
    MonthText,
    ReadIn,
    Table,
)
from model.plan.valley import Valley
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

MOST_ANNOUNCED = 2_000
"""Announced figures in a plan: monthly ones of more than a century."""


_Texts = tuple[str, ...] | None
_LISTED = Field(min_length=1, max_length=MOST_ANNOUNCED)


def _only_one_source(value: object, info: ValidationInfo, others: tuple[str, ...]) -> None:
    """Refuse announced figures that are given in two ways."""
    for other in others if value is not None else ():
        if info.data.get(other) is not None:
            raise ValueError(f"it is not used, since {other} is given|one of the two")


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
