"""What is due on the farm's loans, where a drought step may have changed their terms?

Without drought steps the payments are known when a run opens (`money_rules`). With them a loan is
state: what is owed, how many payments are left, and how many of them are interest alone. A payment
is that of `finance`'s schedules, worked out anew from what is owed. Arrays are (strategy,
sequence), money in AUD.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from model.plan.money import Loan
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.water_year import MONTH_NAMES


@dataclass(frozen=True, slots=True)
class LoanRules:
    """A loan as it stands when the run opens."""

    name: str
    due: NDArray[np.bool_]  # (month,) of the run
    payments_a_year: int
    rate_frac: float  # for one payment
    is_level: bool  # else equal parts of principal
    balance_aud: float
    payments_left: int
    interest_only_left: int


@dataclass(frozen=True, slots=True)
class LoanState:
    """A loan on its way, each (strategy, sequence)."""

    balance_aud: FloatArray
    payments_left: FloatArray
    interest_only_left: FloatArray  # of them

    def take(self, places: IntArray, axis: int = 1) -> Self:
        """Return the loan in some sequences (or strategies), in a new order."""
        return type(self)(*(getattr(self, f.name).take(places, axis=axis) for f in fields(self)))


def loan_rules_of(loan: Loan, ks: IntArray) -> LoanRules:
    """Prepare a loan for a run of months of the water year `ks`."""
    yearly = len(loan.payment_months)
    return LoanRules(
        name=loan.name,
        due=np.isin(ks, [MONTH_NAMES.index(name) for name in loan.payment_months]),
        payments_a_year=yearly,
        rate_frac=loan.rate_frac_per_year / yearly,
        is_level=loan.kind == "level",
        balance_aud=loan.balance_aud,
        payments_left=loan.term_years * yearly,
        interest_only_left=loan.interest_only_years * yearly,
    )


def loan_at_opening(rules: LoanRules, shape: tuple[int, ...]) -> LoanState:
    """Return a loan as a run opens, under so many strategies and in so many sequences."""
    return LoanState(
        np.full(shape, rules.balance_aud),
        np.full(shape, float(rules.payments_left)),
        np.full(shape, float(rules.interest_only_left)),
    )


def payment_due(loan: LoanState, rules: LoanRules) -> tuple[FloatArray, FloatArray]:
    """Return interest and principal of a loan's next payment; nothing once it is paid back."""
    interest_aud = np.where(loan.payments_left > 0.0, loan.balance_aud * rules.rate_frac, 0.0)
    repaying = loan.payments_left - loan.interest_only_left
    parts = np.maximum(repaying, 1.0)
    if rules.is_level and rules.rate_frac > 0.0:
        parts = np.expm1(parts * np.log1p(rules.rate_frac)) / rules.rate_frac
    repays = (loan.interest_only_left == 0.0) & (repaying > 0.0)
    return interest_aud, np.where(repays, loan.balance_aud / parts, 0.0)


def after_payment(loan: LoanState, principal_aud: FloatArray) -> LoanState:
    """Return a loan after a payment fell due: one that is missed is arrears from then on."""
    return LoanState(
        np.maximum(0.0, loan.balance_aud - principal_aud),
        np.maximum(0.0, loan.payments_left - 1.0),
        np.maximum(0.0, loan.interest_only_left - 1.0),
    )


def with_interest_only(
    loan: LoanState, years: int, rules: LoanRules, where: NDArray[np.bool_]
) -> LoanState:
    """Return a loan on interest only for some years; what is left of its term then pays it back.

    At least the last payment is of principal too.
    """
    asked = float(years * rules.payments_a_year)
    most = np.maximum(loan.interest_only_left, np.minimum(asked, loan.payments_left - 1.0))
    return replace(loan, interest_only_left=np.where(where, most, loan.interest_only_left))


def repaid(loan: LoanState, aud: FloatArray) -> LoanState:
    """Return a loan after some of it was repaid at once; its term stays, its payments fall."""
    return replace(loan, balance_aud=loan.balance_aud - aud)
