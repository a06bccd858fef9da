"""What is due on a loan, what is a run of money worth today, and would a lender be content?

Loans: a level payment, or equal parts of principal, either after a period of interest only. Rates
are per payment period. Worth: a flow at time 0 is not discounted. Lender measures: each stands
beside the formula it prints, as two opposite meanings of "interest cover" are in print. A measure
with nothing to divide by is not a number, and is shown blank.

References
----------
Debt-service cover and its kin: Farm Financial Standards Council; Langemeier 2018 (farmdoc daily
8:175). Bands of term-debt cover: Kohl 2023 (Farm Progress, 26 July 2023).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class LoanSchedule:
    """What falls due each period, AUD, each (period,)."""

    interest_aud: FloatArray
    principal_aud: FloatArray
    balance_aud: FloatArray  # after the payment

    @property
    def payment_aud(self) -> FloatArray:
        """Interest and principal together."""
        return self.interest_aud + self.principal_aud


def level_payment_aud(owed_aud: float, rate_frac: float, periods: int) -> float:
    """Return the payment that clears a loan in so many equal payments.

    Parameters
    ----------
    owed_aud
        Owed one period before the first payment.
    rate_frac
        Interest for one period.
    periods
        How many payments.

    Examples
    --------
    >>> round(level_payment_aud(30_000.0, 0.06, 3), 2)
    11223.29
    """
    if rate_frac == 0.0:
        return owed_aud / periods
    return float(owed_aud * rate_frac / -np.expm1(-periods * np.log1p(rate_frac)))


def level_schedule(
    owed_aud: float, rate_frac: float, periods: int, interest_only_periods: int = 0
) -> LoanSchedule:
    """Pay a loan back by equal payments, after a period of interest only.

    Parameters
    ----------
    owed_aud
        Owed one period before the first payment.
    rate_frac
        Interest for one period.
    periods, interest_only_periods
        How many payments in all, and how many of them are interest alone.
    """
    payment_aud = level_payment_aud(owed_aud, rate_frac, periods - interest_only_periods)
    # each part of principal is the one before it and the interest no longer due on that one
    growth: FloatArray = np.power(
        1.0 + rate_frac, np.arange(float(periods - interest_only_periods))
    )
    principal_aud = (payment_aud - owed_aud * rate_frac) * growth
    return _schedule(owed_aud, rate_frac, principal_aud, interest_only_periods)


def equal_principal_schedule(
    owed_aud: float, rate_frac: float, periods: int, interest_only_periods: int = 0
) -> LoanSchedule:
    """Pay a loan back by equal parts of principal, after a period of interest only.

    Parameters
    ----------
    owed_aud, rate_frac, periods, interest_only_periods
        As for `level_schedule`.
    """
    repaying = periods - interest_only_periods
    principal_aud = np.full(repaying, owed_aud / repaying)
    return _schedule(owed_aud, rate_frac, principal_aud, interest_only_periods)


def _schedule(
    owed_aud: float, rate_frac: float, repaid_aud: FloatArray, interest_only_periods: int
) -> LoanSchedule:
    """Arrange a loan by period, from what is repaid once repayment begins."""
    principal_aud = np.concatenate([np.zeros(interest_only_periods), repaid_aud])
    balance_aud = owed_aud - np.cumsum(principal_aud)
    before_aud = balance_aud + principal_aud
    return LoanSchedule(before_aud * rate_frac, principal_aud, balance_aud)


def debt_service_cover(
    operating_income_aud: ArrayLike, interest_aud: ArrayLike, principal_aud: ArrayLike
) -> FloatArray:
    """Return operating income ÷ (interest + principal due); not a number where nothing is due."""
    return ratio(operating_income_aud, np.asarray(interest_aud) + np.asarray(principal_aud))


def repayment_capacity_aud(
    net_farm_income_aud: ArrayLike,
    off_farm_income_aud: ArrayLike,
    depreciation_aud: ArrayLike,
    term_interest_aud: ArrayLike,
    family_living_aud: ArrayLike,
    tax_aud: ArrayLike,
) -> FloatArray:
    """Return what is there to pay term debt with, after family living and tax."""
    earned = np.asarray(net_farm_income_aud, dtype=np.float64) + np.asarray(off_farm_income_aud)
    added_back = np.asarray(depreciation_aud) + np.asarray(term_interest_aud)
    capacity: FloatArray = earned + added_back - np.asarray(family_living_aud) - np.asarray(tax_aud)
    return capacity


def term_debt_cover(
    capacity_aud: ArrayLike, term_principal_aud: ArrayLike, term_interest_aud: ArrayLike
) -> FloatArray:
    """Return capacity ÷ (term principal + term interest due); not a number where nothing is due."""
    return ratio(capacity_aud, np.asarray(term_principal_aud) + np.asarray(term_interest_aud))


def interest_cover(
    earnings_before_interest_and_tax_aud: ArrayLike, interest_aud: ArrayLike
) -> FloatArray:
    """Return earnings ÷ interest, higher is safer; not a number where no interest is due."""
    return ratio(earnings_before_interest_and_tax_aud, interest_aud)


def equity_frac(assets_aud: ArrayLike, liabilities_aud: ArrayLike) -> FloatArray:
    """Return (assets − liabilities) ÷ assets."""
    assets = np.asarray(assets_aud, dtype=np.float64)
    return ratio(assets - np.asarray(liabilities_aud), assets)


def loan_to_value_frac(debt_aud: ArrayLike, security_aud: ArrayLike) -> FloatArray:
    """Return debt ÷ value of what secures it."""
    return ratio(debt_aud, security_aud)


def ratio(upper: ArrayLike, lower: ArrayLike) -> FloatArray:
    """Divide; not a number where the lower part is 0."""
    above, below = np.broadcast_arrays(
        np.asarray(upper, dtype=np.float64), np.asarray(lower, dtype=np.float64)
    )
    divided: FloatArray = np.full(above.shape, np.nan)
    np.divide(above, below, out=divided, where=below != 0.0)
    return divided
