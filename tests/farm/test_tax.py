"""Is tax due on profit only, with losses carried on?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.errors import PlanError
from model.farm.standing import standing_aud, tax_owing_aud
from model.farm.tax import TaxBook, owing_aud, year_closed
from model.water_year import MONTH_NAMES
from tests.farm_case import farm_case, farm_months

RATE = 0.25


def test_tax_when_three_years_follow_then_losses_are_set_against_profit_first() -> None:
    """By hand: -100, +60, +90 at 25 %: losses 100, 40, 0; tax 0, 0 and 12.50 on the 50 left."""
    none = np.zeros(1)
    book = TaxBook(none, none, none)
    losses, due = [], []
    for profit in (-100.0, 60.0, 90.0):
        book = year_closed(book._replace(profit_aud=np.array([profit])), RATE)
        losses.append(book.losses_aud[0])
        due.append(book.due_aud[0])
        assert book.profit_aud[0] == 0.0
    assert losses == [100.0, 40.0, 0.0]
    assert due == [0.0, 0.0, 12.5]


def test_tax_when_owed_from_before_then_the_new_is_added() -> None:
    """Tax not yet paid stays due when the next year is closed."""
    book = TaxBook(np.array([80.0]), np.array([0.0]), np.array([7.0]))
    assert owing_aud(book, RATE).tolist() == [27.0]
    assert book.due_aud.tolist() == [7.0]


def test_tax_when_the_farm_runs_then_paid_in_march_on_the_year_before() -> None:
    """Each March pays 30 % of the profit to the June before less losses; the rest is owing."""
    setting = farm_case(
        {
            "farm.money.tax_aud_per_year": 0.0,
            "farm.money.tax_rate_frac": 0.3,
            "farm.money.losses_carried_aud": 25_000.0,
            "sequences.count": 60,
        }
    )
    fixed, (opening, months) = setting.rules.cash, farm_months(setting)
    none = np.zeros_like(opening.bank_aud)
    profit, losses, due, paid_any = none, none + 25_000.0, none, none
    for month in months:
        cash, t = month.fluxes.cash, month.river.t
        if month.river.turns_year:
            taxable = profit - losses
            losses, profit = np.maximum(0.0, -taxable), none
            due = due + 0.3 * np.maximum(0.0, taxable)
        is_march = month.river.k == MONTH_NAMES.index("March")
        assert cash.tax_aud == pytest.approx(due if is_march else none)
        due = none if is_march else due
        paid_any = paid_any + cash.tax_aud
        profit = profit + cash.income_aud - cash.costs_aud - cash.overdraft_interest_aud
        profit = profit - cash.arrears_interest_aud
        profit = profit - fixed.loan_interest_aud[t] - fixed.depreciation_aud[t]
    assert paid_any.max() > 10_000.0
    assert (paid_any == 0.0).any()
    owing = due + 0.3 * np.maximum(0.0, profit - losses)
    last = months[-1]
    assert tax_owing_aud(last.end, setting.rules) == pytest.approx(owing)
    with_tax = standing_aud(last.end, last.river, setting.rules)
    untaxed = replace(setting.rules, cash=replace(fixed, tax_rate_frac=None))
    assert standing_aud(last.end, last.river, untaxed) - with_tax == pytest.approx(owing)


def test_tax_when_stated_twice_then_refused() -> None:
    """A yearly sum and a rate are two answers to one question."""
    with pytest.raises(PlanError, match="tax is stated twice"):
        farm_case({"farm.money.tax_aud_per_year": 9_000.0, "farm.money.tax_rate_frac": 0.3})
