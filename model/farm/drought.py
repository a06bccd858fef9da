"""What have drought steps changed of the farm, and what falls due in a month since?

What no step can change is in the farm's rules. A farm whose strategies have no steps has no such
state (None), and pays nothing for it. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from model.farm.loans import LoanState, after_payment, loan_at_opening, payment_due
from model.farm.money_rules import CashRules
from model.farm.step_rules import StepRules
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.water_year import MONTHS_IN_YEAR

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Hired:
    """Bore water hired by one step."""

    aud_per_ml: float
    left_ml: FloatArray  # until 30 June

    def take(self, places: IntArray, axis: int = 1) -> Self:
        """Return some sequences (or strategies), in a new order."""
        return type(self)(self.aud_per_ml, self.left_ml.take(places, axis=axis))

    def none_left(self) -> Self:
        """Return it after 30 June."""
        return type(self)(self.aud_per_ml, np.zeros_like(self.left_ml))


@dataclass(frozen=True, slots=True)
class Drought:
    """What drought steps have changed, each (strategy, sequence)."""

    taken: tuple[BoolArray, ...]  # by step: once, ever; yearly, on its last day
    hired: tuple[Hired | None, ...]  # by step; None: it hires no bore
    loans: tuple[LoanState, ...]
    seasons_of_nothing: FloatArray  # whole seasons in a row, before this one
    shares_ml: FloatArray  # general security still owned
    machinery_sold_aud: FloatArray  # at the value stated of it
    deposit_aud: FloatArray
    overheads_factor: FloatArray
    drawings_factor: FloatArray
    more_income_aud_per_year: FloatArray

    def take(self, places: IntArray, axis: int = 1) -> Self:
        """Return some sequences (or strategies), in a new order; one may come more than once."""

        def taken(value: Any) -> Any:
            if isinstance(value, tuple):
                return tuple(
                    None if each is None else each.take(places, axis=axis) for each in value
                )
            return value.take(places, axis=axis)

        return type(self)(*(taken(getattr(self, f.name)) for f in fields(self)))


def nothing_changed(steps: Sequence[StepRules], cash: CashRules, shape: tuple[int, ...]) -> Drought:
    """Return the state before any step was taken.

    Parameters
    ----------
    steps
        Of all strategies.
    cash
        The farm's money.
    shape
        (strategy, sequence)
    """

    def each(value: float) -> FloatArray:
        return np.full(shape, value)

    return Drought(
        taken=(np.zeros(shape, dtype=np.bool_),) * len(steps),
        hired=tuple(
            Hired(step.price, each(0.0)) if step.kind == "hire_bore_ml" else None for step in steps
        ),
        loans=tuple(loan_at_opening(loan, shape) for loan in cash.loans),
        seasons_of_nothing=each(0.0),
        shares_ml=each(cash.shares_ml),
        machinery_sold_aud=each(0.0),
        deposit_aud=each(cash.deposit_aud),
        overheads_factor=each(1.0),
        drawings_factor=each(1.0),
        more_income_aud_per_year=each(0.0),
    )


class Due(NamedTuple):
    """What falls due in a month whatever comes, AUD: numbers, or (strategy, sequence)."""

    overheads_aud: FloatArray | float  # with fixed water charges
    drawings_aud: FloatArray | float
    off_farm_aud: FloatArray | float  # comes in
    loan_interest_aud: FloatArray | float
    loan_principal_aud: FloatArray | float


def due_in(drought: Drought | None, t: int, cash: CashRules) -> Due:
    """Return what falls due in a month of the run."""
    if drought is None:
        return Due(
            overheads_aud=float(cash.overheads_aud[t]),
            drawings_aud=float(cash.drawings_aud[t]),
            off_farm_aud=float(cash.off_farm_aud[t]),
            loan_interest_aud=float(cash.loan_interest_aud[t]),
            loan_principal_aud=float(cash.loan_principal_aud[t]),
        )
    sold_ml = cash.shares_ml - drought.shares_ml
    saved_aud = (1.0 - drought.overheads_factor) * cash.own_overheads_aud_per_month
    interest_aud = principal_aud = np.zeros_like(sold_ml)
    for loan, rules in zip(drought.loans, cash.loans, strict=True):
        if rules.due[t]:
            interest, principal = payment_due(loan, rules)
            interest_aud, principal_aud = interest_aud + interest, principal_aud + principal
    return Due(
        overheads_aud=cash.overheads_aud[t] - saved_aud - sold_ml * cash.fixed_aud_per_share[t],
        drawings_aud=cash.drawings_aud[t] * drought.drawings_factor,
        off_farm_aud=cash.off_farm_aud[t] + drought.more_income_aud_per_year / MONTHS_IN_YEAR,
        loan_interest_aud=interest_aud,
        loan_principal_aud=principal_aud,
    )


def after_payments(drought: Drought, t: int, cash: CashRules) -> Drought:
    """Return the state after the payments of a month fell due."""
    if not any(rules.due[t] for rules in cash.loans):
        return drought
    return replace(
        drought,
        loans=tuple(
            after_payment(loan, payment_due(loan, rules)[1]) if rules.due[t] else loan
            for loan, rules in zip(drought.loans, cash.loans, strict=True)
        ),
    )


def less_due_aud(drought: Drought, ts: Sequence[int], cash: CashRules) -> FloatArray:
    """Return how much less falls due in months to come than before any step was taken."""
    less_aud, then = np.zeros_like(drought.shares_ml), drought
    for t in ts:
        first, now = due_in(None, t, cash), due_in(then, t, cash)
        less_aud = less_aud + (_out_aud(first) - _out_aud(now))
        then = after_payments(then, t, cash)
    return less_aud


def _out_aud(due: Due) -> FloatArray | float:
    """Return what a month takes, less what comes in from off the farm."""
    loans_aud = due.loan_interest_aud + due.loan_principal_aud
    return due.overheads_aud + due.drawings_aud + loans_aud - due.off_farm_aud


def owed_aud(drought: Drought) -> FloatArray:
    """Return what is owed on all loans, arrears apart."""
    return sum((loan.balance_aud for loan in drought.loans), np.zeros_like(drought.shares_ml))


def put_off_aud(drought: Drought, t: int, cash: CashRules) -> FloatArray:
    """Return the principal put off after a month: what is owed beyond the loans' first terms."""
    beyond_aud: FloatArray = owed_aud(drought) - cash.loan_balance_aud[t]
    return np.maximum(0.0, beyond_aud)


def sold_aud(drought: Drought, cash: CashRules) -> FloatArray:
    """Return the worth, as the plan states it, of what was sold or drawn: it is owned no more."""
    sold_ml = cash.shares_ml - drought.shares_ml
    drawn_aud: FloatArray = cash.deposit_aud - drought.deposit_aud
    return sold_ml * cash.share_worth_aud + drought.machinery_sold_aud + drawn_aud


def changed_aud(drought: Drought, t: int, cash: CashRules) -> FloatArray:
    """Return what steps have changed of debts and of what is owned: below 0, the farm has less."""
    less_debt_aud: FloatArray = cash.loan_balance_aud[t] - owed_aud(drought)
    return less_debt_aud - sold_aud(drought, cash)


def hired_left_ml(drought: Drought) -> FloatArray:
    """Return the bore water still hired, ML."""
    hired = (each.left_ml for each in drought.hired if each is not None)
    return sum(hired, np.zeros_like(drought.shares_ml))


@dataclass(frozen=True, slots=True)
class HiredMonth:
    """What was used of hired bores in a month, each (strategy, sequence)."""

    by_step_ml: tuple[FloatArray | None, ...]
    total_ml: FloatArray
    cost_aud: FloatArray


def take_hired(need_ml: FloatArray, drought: Drought) -> HiredMonth:
    """Meet a need from hired bores, in the order of their steps."""
    total_ml = cost_aud = np.zeros_like(need_ml)
    by_step: list[FloatArray | None] = []
    for each in drought.hired:
        ml = None if each is None else np.minimum(need_ml - total_ml, each.left_ml)
        by_step.append(ml)
        if each is not None and ml is not None:
            total_ml, cost_aud = total_ml + ml, cost_aud + ml * each.aud_per_ml
    return HiredMonth(tuple(by_step), total_ml, cost_aud)


def after_hired(drought: Drought, used: HiredMonth) -> Drought:
    """Return the state after hired bores were used."""
    hired = tuple(
        each if each is None or ml is None else replace(each, left_ml=each.left_ml - ml)
        for each, ml in zip(drought.hired, used.by_step_ml, strict=True)
    )
    return replace(drought, hired=hired)
