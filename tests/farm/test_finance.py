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
    discount_factors,
    equal_principal_schedule,
    equity_frac,
    interest_cover,
    interest_share_frac,
    level_payment_aud,
    level_schedule,
    loan_to_value_frac,
    present_value_aud,
    rate_of_return_frac,
    repayment_capacity_aud,
    term_debt_band,
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


def test_payment_worth_and_return_when_documented_cases_then_their_printed_values() -> None:
    """F5: the three examples in numpy-financial's own documentation."""
    case = REFERENCE["F5"]
    payment = level_payment_aud(case["owed_aud"], case["yearly_rate_frac"] / 12.0, case["months"])
    assert payment == pytest.approx(case["payment_aud"], abs=1e-4)
    worth = present_value_aud(case["worth_rate_frac"], case["worth_flows_aud"])
    assert worth == pytest.approx(case["worth_aud"], abs=1e-4)
    assert rate_of_return_frac(case["return_flows_aud"]) == pytest.approx(
        case["return_frac"], abs=1e-6
    )


def test_equal_principal_when_five_years_then_payments_fall_and_interest_is_less() -> None:
    """F5b: payments and interest by hand; the level loan costs more interest."""
    case = REFERENCE["F5b"]
    loan = case["owed_aud"], case["rate_frac"], case["periods"]
    found = equal_principal_schedule(*loan)
    assert found.payment_aud == pytest.approx(case["payment_aud"], abs=1e-9)
    assert found.interest_aud.sum() == pytest.approx(case["interest_total_aud"], abs=1e-9)
    level_interest = level_schedule(*loan).interest_aud.sum()
    assert level_interest == pytest.approx(case["level_interest_total_aud"], abs=0.0051)


def test_present_value_when_factors_are_rounded_then_the_textbook_value() -> None:
    """F6: a textbook's net present value, by its four-figure factors and in full."""
    case = REFERENCE["F6"]
    factors = discount_factors(case["rate_frac"], 5)
    assert np.round(factors, 4) @ np.array(case["flows_aud"]) == pytest.approx(
        case["worth_by_printed_factors_aud"], abs=0.0051
    )
    assert present_value_aud(case["rate_frac"], case["flows_aud"]) == pytest.approx(
        case["worth_aud"], abs=0.0051
    )


def test_discount_factors_when_seven_years_then_the_printed_table() -> None:
    """F7: printed factors at 7 %, and what a yearly flow is worth from year 3 on."""
    case = REFERENCE["F7"]
    factors = discount_factors(case["rate_frac"], 7)[1:]
    assert factors == pytest.approx(case["factors"], abs=5.1e-5)
    assert case["flow_aud"] * factors[2:] == pytest.approx(
        case["worth_years_3_to_7_aud"], abs=0.0051
    )


def test_term_debt_cover_when_three_farms_then_ratio_and_band() -> None:
    """F11 and F11b: three farms by the Farm Financial Standards Council's ratio, and its bands."""
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
    assert term_debt_band(cover).tolist() == case["band"]
    assert term_debt_band([1.10, 1.50]).tolist() == [1, 1]


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


def test_interest_measures_when_interest_rises_then_they_move_apart() -> None:
    """The two meanings of interest cover run against each other."""
    interest = np.array([100.0, 200.0])
    assert np.diff(interest_cover(600.0, interest)) < 0.0
    assert np.diff(interest_share_frac(interest, 1_000.0)) > 0.0


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


@given(
    outlay=st.floats(10.0, 1e4),
    back=st.lists(st.floats(0.1, 1e4), min_size=1, max_size=8),
    rate=st.floats(-0.2, 0.5),
)
def test_worth_and_return_when_any_outlay_then_as_numpy_financial(
    outlay: float, back: list[float], rate: float
) -> None:
    """Present value agrees with numpy-financial; at the rate of return it is nothing."""
    flows = [-outlay, *back]
    assert present_value_aud(rate, flows) == pytest.approx(numpy_financial.npv(rate, flows))
    found = rate_of_return_frac(flows)
    scale = outlay + sum(back) / (1.0 + found) ** len(back)
    assert abs(present_value_aud(found, flows)) <= 1e-9 * scale


@pytest.mark.parametrize("flows", [[-1.0, -2.0], [-1.0, 3.0, -2.0]])
def test_rate_of_return_when_there_is_no_single_one_then_refused(flows: list[float]) -> None:
    """Flows that never turn, or turn twice, have no one rate of return."""
    with pytest.raises(ValueError, match="change sign exactly once"):
        rate_of_return_frac(flows)


def test_schedules_when_summed_then_all_is_repaid_and_balances_follow() -> None:
    """Principal adds up to what was owed, and every balance is the last less what was repaid."""
    for schedule in (level_schedule, equal_principal_schedule):
        found = schedule(2.4e6, 0.075, 15, 2)
        assert found.principal_aud.sum() == pytest.approx(2.4e6)
        before = np.concatenate([[2.4e6], found.balance_aud[:-1]])
        assert before - found.principal_aud == pytest.approx(found.balance_aud, abs=1e-6)
        assert found.interest_aud == pytest.approx(before * 0.075)
