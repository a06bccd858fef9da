"""What does the user ask of a lender, on what security, and under what covenants?

The table `[farm.credit]`. All of it is optional, and none of it moves what the farm does: a loan or
a limit that is to count is stated in `[farm.money]`. All money is in AUD, of today's worth.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Final, Literal

from pydantic import Field, ValidationInfo, field_validator
from pydantic import StringConstraints as Text

from model.plan.types import Amount, Count, DateText, Fraction, Positive, Table

Few = Annotated[str, Text(max_length=60)]
Words = Annotated[str, Text(max_length=160)]
Held = Literal[
    "debt_cover_over_the_run",
    "debt_cover_after_drawings_and_tax",
    "debt_cover",
    "interest_cover",
    "equity",
    "loan_to_value",
]
"""What a covenant may hold a borrower to: the first over the run, all others each 30 June."""

IN_PARTS: Final = frozenset({"equity", "loan_to_value"})
"""These are parts of a whole; the others are so many times."""


class Security(Table):
    """What secures the debt, at a value of a day."""

    asset: Annotated[str, Text(min_length=1, max_length=60)] = Field(description="what it is")
    value_aud: Amount = Field(description="its value, AUD")
    basis: Few = Field(default="", description="how it was valued")
    valued_on: DateText | None = Field(
        default=None, description="day of that value, YYYY-MM-DD; left out, not said"
    )

    @field_validator("valued_on")
    @classmethod
    def _a_day_there_is(cls, value: str | None) -> str | None:
        if value is not None:
            try:
                dt.date.fromisoformat(value)
            except ValueError as error:
                raise ValueError("there is no such day|a day of the calendar") from error
        return value


class Covenant(Table):
    """A level that the borrower has agreed to keep."""

    measure: Held = Field(
        description="what is measured; cover over the run once, all others each 30 June"
    )
    level: Positive = Field(
        description="level to keep: equity and loan to value as a part of 1, covers in times; "
        "loan to value at most, all others at least"
    )
    words: Words = Field(default="", description="as the agreement has it")

    @field_validator("level")
    @classmethod
    def _part_of_one(cls, value: float, info: ValidationInfo) -> float:
        if info.data.get("measure") in IN_PARTS and value > 1.0:
            raise ValueError("it is a part of 1, not percent|0.6 for 60 %")
        if value > 100.0:
            raise ValueError("no cover is so large|100 times or less")
        return value


class Credit(Table):
    """A request to a lender, as typed; it moves no figure."""

    asked_by: Few = Field(default="", description="who asks; left out, the farm's name")
    purpose: Words = Field(default="", description="what it is for")
    amount_aud: Amount | None = Field(
        default=None, description="what is asked for, AUD; left out, nothing is"
    )
    term_years: Annotated[Count, Field(ge=1, le=40)] | None = Field(
        default=None, description="for how many years; left out, not said"
    )
    value_fall_frac: Fraction = Field(
        default=0.20, description="fall of the securities' values that is tried, 0 to 1"
    )
    securities: Annotated[tuple[Security, ...], Field(max_length=12)] = Field(
        default=(), description="what secures the debt; left out, the assets of the plan"
    )
    covenants: Annotated[tuple[Covenant, ...], Field(max_length=8)] = Field(
        default=(), description="levels agreed to be kept"
    )
