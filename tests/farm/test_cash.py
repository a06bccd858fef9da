"""Does the money move when it should, and is the bank paid or not as the rules say?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from model.decide.compare import play_rows
from model.farm.cash import pay_lender
from model.farm.drought import due_in
from model.farm.harvest import Harvested, with_forward_sales
from model.farm.money_rules import cash_rules_of
from model.farm.survival import dry_seasons_survived
from model.sequences.draw import Calendar
from model.water_year import MONTH_NAMES, parse_month
from tests.farm_case import REMOVED, farm_case, farm_months, rows_of_plan

NONE = [0.0] * 12

NO_FARMING: dict[str, Any] = {
    "sequences.count": 4,
    "farm.crops.0.price_aud_per_unit": 0.0,
    "farm.crops.0.by_product_aud_per_unit": 0.0,
    "farm.crops.0.prepared_cost_aud_per_ha": NONE,
    "farm.crops.0.growing_cost_aud_per_ha": NONE,
    "farm.crops.0.harvest_cost_aud_per_ha": 0.0,
    "farm.crops.0.harvest_cost_aud_per_unit": 0.0,
    "farm.crops.1.most_of_land_frac": 0.0,
    "farm.crops.2.most_of_land_frac": 0.0,
    "farm.fallow_cost_aud_per_ha": 0.0,
    "farm.bore": REMOVED,
    "farm.trade": REMOVED,
    "farm.money.bank_aud": 0.0,
    "farm.money.overdraft_rate_frac_per_year": 0.0,
    "farm.money.overheads_aud_per_year": 0.0,
    "farm.money.drawings_aud_per_year": 0.0,
    "farm.money.off_farm_income_aud_per_year": 0.0,
    "farm.money.tax_aud_per_year": 0.0,
    "farm.money.depreciation_aud_per_year": 0.0,
    "farm.money.water_charges": {"general_fixed_aud_per_share": 0.0, "usage_aud_per_ml": 0.0},
    "farm.money.loans": [],
    "farm.money.machinery": [],
    "farm.money.forward_sales": [],
    "farm.opening.land_spent_aud": 0.0,
}
"""A farm on which nothing costs and nothing pays."""


def test_cash_when_prices_and_costs_are_zero_then_no_money_moves() -> None:
    """Zero price and zero cost give zero cash, margin and debt, whatever the water does."""
    setting = farm_case(NO_FARMING | {"sequences.count": 50})
    results = play_rows(setting, rows_of_plan(setting))
    assert results["area_planted_ha"].max() > 100.0
    for name in ("income_aud", "costs_aud", "margin_aud", "closing_cash_aud", "standing_aud"):
        assert (results[name] == 0.0).all(), name
    assert np.isnan(results["cover"]).all()


def test_overdraft_when_months_are_given_then_trough_is_in_april() -> None:
    """Opening -200, months -60 ... +350 ($000): lowest -1,065 in April, closing -15.

    Figures invented for the test; the sum is derived here.
    """
    flows_thousand = [-60, -45, -150, -90, -40, -120, -70, -60, -50, -180, 700, 350]
    setting = farm_case(
        NO_FARMING
        | {
            "opening.month": "2025-07",
            "sequences.seasons": 1,
            "farm.money.bank_aud": -200_000.0,
            "farm.money.machinery": [
                {"month": f"{2025 + (k > 5)}-{(k + 6) % 12 + 1:02d}", "cost_aud": -1000.0 * flow}
                for k, flow in enumerate(flows_thousand)
                if flow < 0
            ],
            "farm.opening.money_to_come_aud": [1000.0 * max(0, flow) for flow in flows_thousand],
        }
    )
    results = play_rows(setting, rows_of_plan(setting))
    assert results["peak_overdraft_aud"] == pytest.approx(np.full((3, 4, 1), 1_065_000.0))
    assert (results["lowest_cash_month"] == parse_month("2026-04")).all()
    assert results["closing_cash_aud"] == pytest.approx(np.full((3, 4, 1), -15_000.0))


def test_payment_when_it_would_pass_the_limit_then_it_is_missed_and_arrears_accrue() -> None:
    """A payment that does not fit is missed whole; arrears pay interest and are cleared later."""
    setting = farm_case(
        {
            "farm.money.overdraft_limit_aud": 100.0,
            "farm.money.arrears_rate_frac_per_year": 0.12,
            "farm.money.loans.0.balance_aud": 1_200.0,
            "farm.money.loans.0.rate_frac_per_year": 0.0,
            "farm.money.loans.0.term_years": 10,
        }
    )
    december = setting.valley.calendar.t_of(0, MONTH_NAMES.index("December"))
    assert december is not None
    bank = np.array([[-41.0, -40.0, 500.0, 30.0]])
    arrears = np.array([[0.0, 0.0, 0.0, 200.0]])
    due_aud = due_in(None, december, setting.rules.cash)
    assert due_aud.loan_interest_aud == 0.0
    bank, arrears, paid = pay_lender(bank, arrears, due_aud.loan_principal_aud, setting.rules)
    assert paid.missed.tolist() == [[True, False, False, False]]
    assert paid.missed_aud.tolist() == [[60.0, 0.0, 0.0, 0.0]]
    # 200 owed with 1 % of interest is 202; after the payment 30 - 60 + 100 = 70 of room is left.
    assert arrears == pytest.approx(np.array([[60.0, 0.0, 0.0, 202.0 - 70.0]]))
    assert bank == pytest.approx(np.array([[-41.0, -100.0, 440.0, -100.0]]))
    bank, arrears, _ = pay_lender(bank + 300.0, arrears, 0.0, setting.rules)
    assert arrears == pytest.approx(np.zeros((1, 4)))
    assert bank[0, 0] == pytest.approx(259.0 - 60.0 * 1.01)


def test_licence_charges_when_nothing_is_allocated_then_they_fall_due_all_the_same() -> None:
    """Common practice, no source: fixed charges are due with no allocation too."""
    setting = farm_case({"opening.month": "2025-07"})
    cash = setting.rules.cash
    yearly_aud = 9.0 * 3_000.0 + 18.0 * 50.0
    overheads_aud = cash.overheads_aud[:12].sum() - 250_000.0
    assert overheads_aud == pytest.approx(yearly_aud)
    charged = np.flatnonzero(cash.overheads_aud[:12] > cash.overheads_aud[:12].min())
    assert [MONTH_NAMES[k] for k in charged] == ["September", "December", "March", "June"]


def test_income_when_crop_is_picked_then_it_comes_from_april_to_august() -> None:
    """Common practice, no source: the run's last crop is partly a receivable when the run ends."""
    setting = farm_case()
    _, months = farm_months(setting)
    for month in months:
        comes = setting.rules.layouts[0].income_pattern[month.river.k] > 0.0
        name = MONTH_NAMES[month.river.k]
        assert comes == (name in ("April", "May", "June", "July", "August"))
    results = play_rows(setting, rows_of_plan(setting))
    grown = results["bales"][..., -1] > 0.0
    part = results["receivable_aud"][..., -1][grown] / (results["bales"][..., -1][grown] * 650.0)
    assert part == pytest.approx(np.full(part.shape, 0.40))


def test_low_water_year_when_crop_is_missed_then_the_next_year_is_starved_of_money() -> None:
    """Common practice, no source: a missed planting is felt in the money of two water years."""
    setting = farm_case({"sequences.count": 400}, "plan_dry")
    results = play_rows(setting, rows_of_plan(setting))
    planted = results["area_planted_ha"][1]
    missed, grown = planted[:, 1] < 20.0, planted[:, 1] > 100.0
    assert missed.sum() > 20
    assert grown.sum() > 20
    income_aud = results["income_aud"][1]
    for season in (1, 2):
        starved_aud = income_aud[grown, season].mean() - income_aud[missed, season].mean()
        assert starved_aud > 100_000.0


def test_forward_sale_when_crop_falls_short_then_washout_is_paid() -> None:
    """400 bales sold at 560 and 75 a short bale: by hand for a whole crop, half and none."""
    setting = farm_case()
    units, none = np.array([[1_000.0, 200.0, 0.0]]), np.zeros((1, 3))
    picked = Harvested(units, units, 650.0 * units, none, none)
    found = with_forward_sales({0: picked}, 0, setting.rules)[0]
    assert found.worth_aud[0] == pytest.approx([1_000 * 650 + 400 * 10, 200 * 660, 0.0])
    assert found.cost_aud[0] == pytest.approx([0.0, 200 * 75.0, 400 * 75.0])
    assert found.margin_aud[0] == pytest.approx([4_000.0, 2_000.0 - 15_000.0, -30_000.0])
    assert with_forward_sales({0: picked}, 1, setting.rules)[0] is picked


def test_loans_when_laid_out_over_a_run_then_interest_and_principal_are_the_schedule() -> None:
    """1,200,000 at 7.5 % over 15 years, twice a year: payments by the annuity formula, by hand."""
    setting = farm_case({"opening.month": "2025-07"})
    cash = cash_rules_of(setting.farm, Calendar(parse_month("2025-07"), 3))
    rate, periods = 0.0375, 30
    payment_aud = 1_200_000.0 * rate / (1.0 - (1.0 + rate) ** -periods)
    due_aud = cash.loan_interest_aud + cash.loan_principal_aud
    assert np.flatnonzero(due_aud).tolist() == [5, 11, 17, 23, 29, 35]
    assert due_aud[due_aud > 0.0] == pytest.approx(np.full(6, payment_aud))
    assert cash.loan_interest_aud[5] == pytest.approx(45_000.0)
    assert cash.loan_balance_aud[-1] == pytest.approx(1_200_000.0 - cash.loan_principal_aud.sum())


def test_survival_when_costs_and_debts_are_known_then_seasons_are_counted_by_hand() -> None:
    """50,000 in the bank, 30,000 a year of overheads, a limit of 100,000: five seasons, not six.

    Figures invented; the count is derived here. By June of the fifth year 150,000 is spent, and the
    account stands at its limit; in the sixth it passes it.
    """
    changes = NO_FARMING | {
        "opening.month": "2025-07",
        "opening.account_ml_per_share": 0.0,
        "opening.used_this_year_ml_per_share": 0.0,
        "farm.money.bank_aud": 50_000.0,
        "farm.money.overheads_aud_per_year": 30_000.0,
        "farm.money.overdraft_limit_aud": 100_001.0,
    }
    survived = dry_seasons_survived(farm_case(changes))[0]
    assert (survived.seasons, survived.tried) == (5, 10)
    richer = farm_case(changes | {"farm.money.bank_aud": 1_000_000.0})
    assert dry_seasons_survived(richer)[0].seasons == 10
