"""What does the user state of a strategy's drought steps: when is one taken, and what does it do?

A step is what a family does when the water stays away: it asks the bank for interest only, spends
less, sells shares, hires a bore. Each is decided in one month of the year, on what is known on its
first day after the announcement, and does one thing; two things are two steps. Steps are taken in
their order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Final, Literal, get_args

from pydantic import Field
from pydantic import StringConstraints as Text

from model.plan.types import Amount, Count, Fraction, MlPerShare, MonthName, Number, Positive, Table

MOST_STEPS: Final = 12
LoanName = Annotated[str, Text(min_length=1, max_length=60)]
Factor = Annotated[Number, Field(ge=0.0, le=3.0)]

Kind = Literal[
    "overheads_factor",
    "drawings_factor",
    "off_farm_income_aud_per_year",
    "interest_only_years",
    "sell_shares_ml",
    "sell_machinery_aud",
    "sell_water_ml",
    "buy_water_ml",
    "draw_deposit_aud",
    "hire_bore_ml",
]
"""What a step can do: the key that says so."""

KINDS: Final[tuple[Kind, ...]] = get_args(Kind)

BELONGS_TO: Final[dict[str, Kind]] = {
    "loan": "interest_only_years",
    "price_aud_per_share": "sell_shares_ml",
    "repay_loan": "sell_shares_ml",
    "machinery_fetches_frac": "sell_machinery_aud",
    "at_least_aud_per_ml": "sell_water_ml",
    "at_most_aud_per_ml": "buy_water_ml",
    "bore_aud_per_ml": "hire_bore_ml",
}
"""Keys that say more of what a step does, and the key that each goes with."""

LOAN_KEYS: Final = ("loan", "repay_loan")
"""Keys by which a step names a loan."""

NEEDED: Final = ("loan", "price_aud_per_share", "bore_aud_per_ml")
"""Those of them without which a step is not whole."""


class StepWhen(Table):
    """When a step is taken: in its month, where all that is stated here holds."""

    month: MonthName = Field(description="month on whose first day it is decided")
    nothing_announced: Annotated[bool, Field(strict=True)] = Field(
        default=False, description="only with nothing announced so far this season"
    )
    seasons_of_nothing: Annotated[Count, Field(ge=2, le=10)] | None = Field(
        default=None,
        description="only with nothing announced in so many seasons in a row, this one so far "
        "and those of the run before it; left out, whatever was announced",
    )
    account_below_ml_per_share: Annotated[MlPerShare, Field(gt=0.0)] | None = Field(
        default=None,
        description="only with less in the own account, ML per share; left out, whatever it holds",
    )
    dam_below_frac: Annotated[Fraction, Field(gt=0.0)] | None = Field(
        default=None,
        description="only with the dam below this part of full, 0 to 1; left out, whatever it "
        "holds",
    )
    bank_below_aud: Number | None = Field(
        default=None,
        description="only with the bank balance below this, AUD; below 0 overdrawn; left out, "
        "whatever it is",
    )
    arrears: Annotated[bool, Field(strict=True)] = Field(
        default=False, description="only where a loan payment was missed and is still owed"
    )


class StepDo(Table):
    """What a step does: one of these, with the keys that go with it."""

    overheads_factor: Factor | None = Field(
        default=None, description="factor on overheads, fixed water charges apart"
    )
    drawings_factor: Factor | None = Field(
        default=None, description="factor on what the family lives on"
    )
    off_farm_income_aud_per_year: Positive | None = Field(
        default=None, description="more income from off the farm, AUD a year"
    )
    interest_only_years: Annotated[Count, Field(ge=1, le=20)] | None = Field(
        default=None, description="years of interest only on a loan, then the rest of its term"
    )
    loan: LoanName | None = Field(default=None, description="the loan that is meant")
    sell_shares_ml: Positive | None = Field(
        default=None, description="general-security shares sold for good, ML"
    )
    price_aud_per_share: Positive | None = Field(
        default=None, description="their price, AUD per share"
    )
    repay_loan: LoanName | None = Field(
        default=None,
        description="loan repaid from it, as far as it goes; left out, all goes to the bank",
    )
    sell_machinery_aud: Positive | None = Field(
        default=None, description="machinery sold, at the value stated of it, AUD"
    )
    machinery_fetches_frac: Fraction | None = Field(
        default=None, description="part of that value it fetches, 0 to 1; left out, all"
    )
    sell_water_ml: Positive | None = Field(
        default=None, description="yearly water sold, as far as there is any, ML"
    )
    at_least_aud_per_ml: Amount | None = Field(
        default=None, description="sold only at this price or more, AUD per ML; left out, at any"
    )
    buy_water_ml: Positive | None = Field(
        default=None, description="yearly water bought, as far as it fits, ML"
    )
    at_most_aud_per_ml: Amount | None = Field(
        default=None, description="bought only at this price or less, AUD per ML; left out, at any"
    )
    draw_deposit_aud: Positive | None = Field(
        default=None, description="drawn from the farm deposit, AUD"
    )
    hire_bore_ml: Positive | None = Field(
        default=None, description="bore water hired until 30 June, up to so much, ML"
    )
    bore_aud_per_ml: Amount | None = Field(
        default=None, description="price of what is used of it, AUD per ML"
    )


class DroughtStep(Table):
    """One drought step of a strategy."""

    name: Annotated[str, Text(min_length=1, max_length=60)] = Field(description="what it is called")
    when: StepWhen
    do: StepDo
    how_often: Literal["once", "yearly"] = Field(
        default="once",
        description="once for the rest of the run, or decided anew every year; what changes "
        "overheads, drawings or income then holds for a year",
    )
    cost_aud: Amount = Field(default=0.0, description="what taking it costs each time, AUD")

    @property
    def kind(self) -> Kind:
        """What it does."""
        return next(kind for kind in KINDS if getattr(self.do, kind) is not None)


def names_loan(step: Mapping[str, Any], loan: str) -> bool:
    """Return whether a step, as written, names a loan.

    Examples
    --------
    >>> names_loan({"name": "Ask", "do": {"interest_only_years": 2, "loan": "land"}}, "land")
    True
    """
    do = step.get("do")
    return isinstance(do, Mapping) and loan in [do.get(key) for key in LOAN_KEYS]


def steps_that_name(strategies: Sequence[Mapping[str, Any]], loan: str) -> list[str]:
    """Return the names of the steps that name a loan, each once, in the order of the strategies."""
    steps = (step for strategy in strategies for step in strategy.get("steps") or ())
    return list(dict.fromkeys(str(step.get("name")) for step in steps if names_loan(step, loan)))


def without_loan(strategies: Sequence[Mapping[str, Any]], loan: str) -> list[dict[str, Any]]:
    """Return strategies, as written, without the steps that name a loan."""
    return [
        {
            **strategy,
            "steps": [step for step in strategy["steps"] if not names_loan(step, loan)],
        }
        if strategy.get("steps")
        else dict(strategy)
        for strategy in strategies
    ]
