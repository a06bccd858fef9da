"""What are the drought steps of the strategies, as numbers ready for a month's step?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Self

import numpy as np
from numpy.typing import NDArray

from model.farm.money_rules import CashRules
from model.plan.steps import DroughtStep, Kind, StepDo
from model.plan.strategy import Strategy
from model.water_year import MONTH_NAMES

BoolArray = NDArray[np.bool_]

NO_LOAN: Final = -1


@dataclass(frozen=True, slots=True)
class StepRules:
    """A drought step of one strategy. Infinite: not asked for."""

    name: str
    chosen: BoolArray  # (strategy, 1) whose it is
    k: int  # month of the water year in which it is decided
    nothing_announced: bool
    seasons_of_nothing: int  # in a row, this one counted; 0: not asked for
    account_below_ml_per_share: float
    dam_below_frac: float
    bank_below_aud: float
    arrears: bool
    is_yearly: bool
    cost_aud: float
    kind: Kind
    amount: float  # in the unit of its kind
    price: float  # of a share or an ML; the price limit of water; the part that machinery fetches
    loan_at: int  # place of the loan it changes or repays; NO_LOAN: none

    def part(self, first: int, last: int) -> Self:
        """Return the step for some of the strategies."""
        return replace(self, chosen=self.chosen[first:last])

    def repeated(self, count: int) -> Self:
        """Return the step of one strategy so many times over."""
        return replace(self, chosen=np.repeat(self.chosen, count, axis=0))


def step_rules(strategies: Sequence[Strategy], cash: CashRules) -> tuple[StepRules, ...]:
    """Return the drought steps of all strategies, each strategy's in its order."""
    loans = [loan.name for loan in cash.loans]
    return tuple(
        _rules_of(step, np.array([[other == at] for other in range(len(strategies))]), loans)
        for at, strategy in enumerate(strategies)
        for step in strategy.steps
    )


def _rules_of(step: DroughtStep, chosen: BoolArray, loans: list[str]) -> StepRules:
    """Return one step as numbers."""
    when, do = step.when, step.do
    loan = do.loan or do.repay_loan

    def below(value: float | None) -> float:
        return np.inf if value is None else value

    return StepRules(
        name=step.name,
        chosen=chosen,
        k=MONTH_NAMES.index(when.month),
        nothing_announced=when.nothing_announced,
        seasons_of_nothing=when.seasons_of_nothing or 0,
        account_below_ml_per_share=below(when.account_below_ml_per_share),
        dam_below_frac=below(when.dam_below_frac),
        bank_below_aud=below(when.bank_below_aud),
        arrears=when.arrears,
        is_yearly=step.how_often == "yearly",
        cost_aud=step.cost_aud,
        kind=step.kind,
        amount=float(getattr(do, step.kind)),
        price=_price(step.kind, do),
        loan_at=NO_LOAN if loan is None else loans.index(loan),
    )


def _price(kind: Kind, do: StepDo) -> float:
    """Return the price that goes with a kind of step, or its limit; 0 where there is none."""
    prices = {
        "sell_shares_ml": (do.price_aud_per_share, 0.0),
        "sell_machinery_aud": (do.machinery_fetches_frac, 1.0),
        "sell_water_ml": (do.at_least_aud_per_ml, 0.0),
        "buy_water_ml": (do.at_most_aud_per_ml, np.inf),
        "hire_bore_ml": (do.bore_aud_per_ml, 0.0),
    }
    stated, left_out = prices.get(kind, (None, 0.0))
    return left_out if stated is None else stated
