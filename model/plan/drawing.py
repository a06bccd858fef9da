"""How are possible runs of seasons drawn, and what does the user count on besides the record?

The plan's table `[sequences]`: the method and its settings, a drier river, and the user's own view
of the season. A wish or a view is never part of a trial on past years, and is marked wherever odds
stand.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator
from pydantic import StringConstraints as Text

from model.plan.types import (
    PATTERN_TOLERANCE,
    Amount,
    Count,
    Fraction,
    MonthText,
    Number,
    Table,
)
from model.water_year import format_month, parse_month

MOST_SEQUENCES = 1_000_000
MOST_SEASONS = 3
MONTHS_OF_A_VIEW = 6
"""What a view is about until its span is changed: from spring sowing through the summer."""

ColumnName = Annotated[str, Text(min_length=1)]
TwelveFactors = Annotated[
    tuple[Annotated[Number, Field(ge=0.0, le=3.0)], ...], Field(min_length=12, max_length=12)
]


class DryingByMonth(Table):
    """Factors by calendar month, July to June, on what is drawn; each left out is 1 throughout."""

    flow: TwelveFactors | None = Field(
        default=None, description="on inflow and tributary, besides flow_factor"
    )
    rain: TwelveFactors | None = Field(default=None, description="on rain, on lake and farm")
    eto: TwelveFactors | None = Field(default=None, description="on ETo on the farm")
    lake_evaporation: TwelveFactors | None = Field(
        default=None, description="on evaporation from the lake"
    )


class View(Table):
    """What the user thinks of the season: chances of thirds, or of more than the middle."""

    of: ColumnName = Field(
        default="inflow_ml", description="column of the record that it is about: inflow, or a rain"
    )
    first_month: MonthText = Field(description="first month of the span it is about, YYYY-MM")
    last_month: MonthText = Field(description="last month of that span, YYYY-MM")
    thirds: tuple[Fraction, Fraction, Fraction] | None = Field(
        default=None, description="chances of a dry, a middle and a wet third, which sum to 1"
    )
    chance_above_middle: Fraction | None = Field(
        default=None, description="chance of more than the middle of the record"
    )
    belief: Fraction = Field(description="how far to believe it, 0 not at all to 1 wholly")
    source: Annotated[str, Text(max_length=200)] = Field(
        default="", description="where it was read, or whose it is"
    )

    @field_validator("thirds")
    @classmethod
    def _whole(cls, values: tuple[float, float, float] | None) -> object:
        if values is not None and abs(sum(values) - 1.0) > PATTERN_TOLERANCE:
            raise ValueError(f"the three chances sum to {sum(values):.6g}|three that sum to 1")
        return values

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if (self.thirds is None) == (self.chance_above_middle is None):
            raise ValueError(
                "it states both or neither|thirds, or chance_above_middle, one of the two"
            )
        if self.last_month < self.first_month:
            raise ValueError("the span ends before it begins|a last_month not before first_month")
        return self

    @property
    def chances(self) -> tuple[float, ...]:
        """The chances stated, the driest class first."""
        if self.thirds is not None:
            return self.thirds
        above = self.chance_above_middle or 0.0
        return (1.0 - above, above)


class Drawing(Table):
    """How possible runs of seasons are drawn from the record."""

    method: Literal["historical", "blocks", "present", "neighbours", "regimes"] | None = Field(
        default=None,
        description="how sequences are drawn; left out, the method that did best on the past years",
    )
    kind: Literal["independent", "circular", "moving", "stationary"] = Field(
        default="stationary", description="kind of block, with method blocks"
    )
    block_years: Annotated[Number, Field(ge=1.0, le=50.0)] | None = Field(
        default=None, description="length of a block, years; left out, the record says how long"
    )
    count: Annotated[Count, Field(ge=1, le=MOST_SEQUENCES)] = Field(
        default=5_000, description="how many sequences are drawn (historical has its own number)"
    )
    seed: Annotated[Count, Field(ge=0, lt=2**63)] = Field(
        default=1, description="the number that random draws start from"
    )
    seasons: Annotated[Count, Field(ge=1, le=MOST_SEASONS)] = Field(
        default=MOST_SEASONS, description="seasons ahead, this one counted"
    )
    flow_factor: Annotated[Number, Field(gt=0.0, le=3.0)] = Field(
        default=1.0, description="a factor on all drawn flow; below 1 is drier than the record"
    )
    flow_elasticity: Annotated[Number, Field(ge=2.0, le=3.5)] | None = Field(
        default=None, description="low flow is cut harder: the driest by flow_factor to this power"
    )
    opening_dry_chance: Fraction | None = Field(
        default=None,
        description="method regimes: chance that the season before the run was a dry one; left "
        "out, as the record says",
    )
    last_twelve_months_inflow_ml: Amount | None = Field(
        default=None,
        description="method neighbours: inflow of the twelve months before the opening month, ML; "
        "left out, as the record says",
    )
    climate_indices: tuple[ColumnName, ...] = Field(
        default=(),
        description="methods present and neighbours: columns of the record that join the present",
    )
    climate_index_today: tuple[Number, ...] = Field(
        default=(),
        description="what each of climate_indices stands at today, in their order; left out, the "
        "mean of the record's last three months",
    )
    drying: DryingByMonth | None = Field(
        default=None,
        description="month by month, how far flow, rain, ETo and evaporation are moved",
    )
    view: View | None = Field(
        default=None, description="the user's own view of the season, and how far to believe it"
    )

    @field_validator("flow_elasticity")
    @classmethod
    def _only_when_drier(cls, value: float | None, info: ValidationInfo) -> float | None:
        if value is not None and info.data.get("flow_factor", 0.0) >= 1.0:
            raise ValueError("flow_factor is not below 1|a flow_factor below 1, or leave it out")
        return value

    @field_validator("climate_index_today")
    @classmethod
    def _one_each(cls, values: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        indices = info.data.get("climate_indices", ())
        if values and len(values) != len(indices):
            allowed = f"{len(indices)} numbers, in the order of climate_indices"
            raise ValueError(f"there are {len(values)} of them|{allowed}")
        return values

    @field_validator("block_years")
    @classmethod
    def _whole_years(cls, value: float | None, info: ValidationInfo) -> float | None:
        whole_kinds = ("circular", "moving")
        if value is not None and info.data.get("kind") in whole_kinds and value % 1:
            raise ValueError("a block of this kind has whole years|a whole number of years")
        return value


def view_to_begin_with(opening_month: str) -> dict[str, object]:
    """Return a view to begin from: about the record's own thirds, over the first six months.

    Examples
    --------
    >>> view_to_begin_with("2025-09")["last_month"]
    '2026-02'
    """
    last = parse_month(opening_month) + MONTHS_OF_A_VIEW - 1
    return {
        "first_month": opening_month,
        "last_month": format_month(last),
        "thirds": [0.33, 0.34, 0.33],
        "belief": 0.5,
    }
