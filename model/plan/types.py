"""What kinds of value may stand in a plan, and what is the base of its tables?

Every number has its bounds here; every table is frozen and refuses keys it does not know.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field
from pydantic import StringConstraints as Text

from model.water_year import MONTH_NAMES

MonthText = Annotated[str, Text(pattern=r"^\d{4}-(0[1-9]|1[0-2])$")]
DateText = Annotated[str, Text(pattern=r"^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Amount = Annotated[Number, Field(ge=0.0)]
Positive = Annotated[Number, Field(gt=0.0)]
Fraction = Annotated[Number, Field(ge=0.0, le=1.0)]
LossFraction = Annotated[Number, Field(ge=0.0, lt=1.0)]
Count = Annotated[int, Field(strict=True)]
MonthName = Literal[MONTH_NAMES]  # type: ignore[valid-type]
TwelveAmounts = Annotated[tuple[Amount, ...], Field(min_length=12, max_length=12)]
TwelveFractions = Annotated[tuple[Fraction, ...], Field(min_length=12, max_length=12)]
TwelveTemperatures = Annotated[
    tuple[Annotated[Number, Field(ge=-60.0, le=60.0)], ...], Field(min_length=12, max_length=12)
]
MlPerShare = Annotated[Amount, Field(le=100.0)]

PATTERN_TOLERANCE = 1e-6
"""A pattern sums to 1 within this: fractions are written to a few digits."""


class Table(BaseModel):
    """The base of all tables of a plan: frozen, and no key that is not known."""

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=True)


class ReadIn(Table):
    """Where a figure was read."""

    read_in: Annotated[str, Text(max_length=200)] = Field(
        default="", description="the announcement, page or statement it was read in"
    )
    date: DateText | None = Field(default=None, description="of that announcement, YYYY-MM-DD")


def sums_to_one(values: tuple[float, ...]) -> tuple[float, ...]:
    """Check that twelve fractions share out a whole."""
    if abs(sum(values) - 1.0) > PATTERN_TOLERANCE:
        raise ValueError(f"the twelve fractions sum to {sum(values):.6g}|twelve that sum to 1")
    return values
