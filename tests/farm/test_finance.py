"""Loans, worth and lender measures against worked examples in print and numpy-financial."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import numpy_financial
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.farm.finance import (
    debt_service_cover,
    equal_principal_schedule,
    equity_frac,
    interest_cover,
    level_payment_aud,
    level_schedule,
    loan_to_value_frac,
    repayment_capacity_aud,
    term_debt_cover,
)

REFERENCE: dict[str, Any] = tomllib.loads(
    (Path(__file__).parents[1] / "reference" / "farm_finance.toml").read_text()
)


def test_level_schedule_when_three_years_then_every_printed_line() -> None:
    """F1: a worked schedule in print, to the cent."""
    case = REFERENCE["F1"]
    found = level_schedule(case["owed_aud"], case["rate_frac"], case["periods"])
    assert found.payment_aud == pytest.approx(np.full(3, case["payment_aud"]), abs=0.0051)
    for column in ("interest_aud", "principal_aud", "balance_aud"):
        assert getattr(found, column) == pytest.approx(case[column], abs=0.0051)


def test_level_schedule_when_four_years_then_printed_balances() -> None:
    """F2: a second worked schedule in print."""
    case = REFERENCE["F2"]
    found = level_schedule(case["owed_aud"], case["rate_frac"], case["periods"])
    assert found.payment_aud[0] == pytest.approx(case["payment_aud"], abs=0.0101)
    assert found.balance_aud[:3] == pytest.approx(case["balance_aud"], abs=0.0101)


def test_level_payment_when_extension_table_then_its_printed_payment() -> None:
    """F4: the payment of an extension service's table (number from memory)."""
    case = REFERENCE["F4"]
    found = level_payment_aud(case["owed_aud"], case["rate_frac"], case["periods"])
    assert found == pytest.approx(case["payment_aud"], abs=0.0051)


def test_payment_when_documented_case_then_its_printed_value() -> None:
    """F5: the example in numpy-financial's own documentation."""
    case = REFERENCE["F5"]
    payment = level_payment_aud(case["owed_aud"], case["yearly_rate_frac"] / 12.0, case["months"])
    assert payment == pytest.approx(case["payment_aud"], abs=1e-4)


def test_equal_principal_when_five_years_then_payments_fall_and_interest_is_less() -> None:
    """F5b: payments and interest by hand; the level loan costs more interest."""
    case = REFERENCE["F5b"]
    loan = case["owed_aud"], case["rate_frac"], case["periods"]
    found = equal_principal_schedule(*loan)
    assert found.payment_aud == pytest.approx(case["payment_aud"], abs=1e-9)
    assert found.interest_aud.sum() == pytest.approx(case["interest_total_aud"], abs=1e-9)
    level_interest = level_schedule(*loan).interest_aud.sum()
    assert level_interest == pytest.approx(case["level_interest_total_aud"], abs=0.0051)


def test_term_debt_cover_when_three_farms_then_the_ratio() -> None:
    """F11: three farms by the Farm Financial Standards Council's ratio."""
    case = REFERENCE["F11"]
    capacity = repayment_capacity_aud(
        case["net_farm_income_aud"],
        case["off_farm_income_aud"],
        case["depreciation_aud"],
        case["term_interest_aud"],
        case["family_living_aud"],
        case["tax_aud"],
    )
    cover = term_debt_cover(capacity, case["term_principal_aud"], case["term_interest_aud"])
    assert capacity == pytest.approx(case["capacity_aud"])
    assert cover == pytest.approx(case["cover"], abs=1e-6)


def test_covers_when_worked_figures_then_as_derived_here() -> None:
    """Debt-service cover 1.50 and interest cover 3.0 (derived here)."""
    case = REFERENCE["lender"]
    income = sum(case["debt_service_parts_thousand_aud"])
    due = case["debt_service_thousand_aud"]
    assert debt_service_cover(income, 0.4 * due, 0.6 * due) == pytest.approx(1.50)
    found = interest_cover(case["earnings_thousand_aud"], case["interest_thousand_aud"])
    assert found == pytest.approx(case["interest_cover"])
    assert interest_cover(case["earnings_thousand_aud"] / 3.0, 110.0) == pytest.approx(1.0)


def test_covers_when_no_debt_then_blank() -> None:
    """Without debt there is nothing to cover: not a number, never infinite."""
    assert np.isnan(debt_service_cover([100.0, -50.0], 0.0, 0.0)).all()
    assert np.isnan(interest_cover(0.0, 0.0))


def test_equity_and_loan_to_value_when_demonstration_farm_then_its_shares() -> None:
    """2.4 million owed on 9 million of assets: 73 % equity (the demonstration's own figures)."""
    assert equity_frac(9.0e6, 2.4e6) == pytest.approx(0.73, abs=0.0051)
    assert loan_to_value_frac(2.4e6, 8.0e6) == pytest.approx(0.30)


@given(
    owed=st.floats(1e3, 1e7),
    rate=st.floats(0.001, 0.25),
    periods=st.integers(2, 40),
    interest_only=st.integers(0, 5),
)
def test_level_schedule_when_any_loan_then_as_numpy_financial(
    owed: float, rate: float, periods: int, interest_only: int
) -> None:
    """Each period's interest and principal agree with numpy-financial, after interest only."""
    found = level_schedule(owed, rate, periods + interest_only, interest_only)
    n = np.arange(1, periods + 1)
    assert found.interest_aud[:interest_only] == pytest.approx(np.full(interest_only, owed * rate))
    assert not found.principal_aud[:interest_only].any()
    tolerance = 1e-9 * owed
    assert found.interest_aud[interest_only:] == pytest.approx(
        -numpy_financial.ipmt(rate, n, periods, owed), abs=tolerance
    )
    assert found.principal_aud[interest_only:] == pytest.approx(
        -numpy_financial.ppmt(rate, n, periods, owed), abs=tolerance
    )
    assert found.balance_aud[-1] == pytest.approx(0.0, abs=tolerance)


def test_level_schedule_when_interest_is_free_then_equal_parts() -> None:
    """At no interest a level loan is one of equal parts."""
    free = level_schedule(900.0, 0.0, 3)
    assert free.payment_aud == pytest.approx(equal_principal_schedule(900.0, 0.0, 3).payment_aud)


def test_schedules_when_summed_then_all_is_repaid_and_balances_follow() -> None:
    """Principal adds up to what was owed, and every balance is the last less what was repaid."""
    for schedule in (level_schedule, equal_principal_schedule):
        found = schedule(2.4e6, 0.075, 15, 2)
        assert found.principal_aud.sum() == pytest.approx(2.4e6)
        before = np.concatenate([[2.4e6], found.balance_aud[:-1]])
        assert before - found.principal_aud == pytest.approx(found.balance_aud, abs=1e-6)
        assert found.interest_aud == pytest.approx(before * 0.075)
