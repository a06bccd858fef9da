"""Do drought steps do what the same plan by hand does, on what is known, and not for nothing?"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from model.decide.compare import play_rows, run_amounts
from model.decide.risk import worst_mean
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.farm.step_results import name_of
from model.farm.training import Training
from tests.farm.step_cases import BANK, SELL, SPEND_LESS, WATER, a_step
from tests.farm_case import (
    REMOVED,
    farm_case,
    farm_case_on,
    farm_months,
    raw_plan,
    rows_of_plan,
)

CENT_AUD = 0.005

POOR: dict[str, Any] = {
    "sequences.count": 200,
    "sequences.flow_factor": 0.6,
    "opening.month": "2025-09",
    "opening.storage_ml": 40_000.0,
    "opening.account_ml_per_share": 0.15,
    "opening.carried_ml_per_share": 0.0,
    "opening.announced_to_date_ml_per_share": 0.0,
    "farm.trade.most_ml_per_season": 300.0,
    "farm.money.overdraft_limit_aud": 450_000.0,
    "farm.bore": REMOVED,
    "farm.opening.bore_used_ml": 0.0,
}
"""A poor September on a dam of 400,000 ML, in which nothing is announced."""

BY_HAND: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "interest only": (
        a_step("interest only", {"interest_only_years": 3, "loan": "land"}, "September"),
        {"farm.money.loans.0.interest_only_years": 3},
    ),
    "overheads": (
        a_step("overheads", {"overheads_factor": 0.8}, "September"),
        {"farm.money.overheads_aud_per_year": 200_000.0},
    ),
    "shares": (
        a_step(
            "shares",
            {"sell_shares_ml": 1_000.0, "price_aud_per_share": 1_100.0, "repay_loan": "land"},
            "September",
        ),
        {
            "farm.licence.general_security_shares_ml": 2_000.0,
            "farm.opening.account_ml_per_share": 0.15 * 1.5,
            "farm.opening.carried_ml_per_share": 0.0,
            "farm.money.loans.0.balance_aud": 100_000.0,
        },
    ),
    "bore": (
        a_step(
            "bore",
            {"hire_bore_ml": 200.0, "bore_aud_per_ml": 230.0},
            "September",
            how_often="yearly",
        ),
        {
            "farm.bore": {
                "limit_ml_per_year": 200.0,
                "pump_ml_per_month": 200.0,
                "cost_aud_per_ml": 230.0,
            }
        },
    ),
}
"""A step taken in the run's first month, and the plan that it makes."""

SAME = (
    "area_planted_ha",
    "bales",
    "water_used_ml",
    "bore_used_ml",
    "water_sold_ml",
    "margin_aud",
    "costs_aud",
    "closing_cash_aud",
    "lowest_cash_aud",
    "arrears_aud",
    "payments_missed",
    "debt_aud",
    "debt_service_aud",
    "equity_frac",
    "term_debt_cover",
)


@cache
def training() -> Training:
    """Run the poor farm's valley through its training sequences, for all cases."""
    return Training.of(farm_case(POOR).valley)


def poor(changes: dict[str, Any] | None = None) -> FarmSetting:
    """Return the poor farm, with some of its own figures changed."""
    return farm_case_on(training(), POOR | (changes or {}))


def played(setting: FarmSetting) -> FarmResults:
    """Play a farm through the plan's sequences."""
    return play_rows(setting, rows_of_plan(setting))


def with_steps(*steps: dict[str, Any]) -> dict[str, Any]:
    """Return the changes that give every strategy the same steps."""
    strategies = raw_plan()["strategies"]
    return {f"strategies.{at}.steps": list(steps) for at in range(len(strategies))}


@pytest.fixture(scope="module")
def plain() -> FarmResults:
    """Return the poor farm without steps."""
    return played(poor())


@pytest.mark.parametrize(
    "names", [(name,) for name in BY_HAND] + [("interest only", "overheads"), ("bore", "shares")]
)
def test_steps_when_taken_at_once_then_they_equal_the_plan_by_hand(
    names: tuple[str, ...], plain: FarmResults
) -> None:
    """One step, or two in a row, and the plan changed by hand: the same to the cent."""
    steps = played(poor(with_steps(*(BY_HAND[name][0] for name in names))))
    changes: dict[str, Any] = {}
    for name in names:
        changes |= BY_HAND[name][1]
    by_hand = played(poor(changes))
    for name in SAME:
        np.testing.assert_allclose(
            steps[name], by_hand[name], rtol=1e-12, atol=CENT_AUD, err_msg=name
        )
    assert (np.abs(steps["closing_cash_aud"] - plain["closing_cash_aud"]) > 100.0).any()
    worth = by_hand["standing_aud"] + steps["steps_aud"]
    np.testing.assert_allclose(steps["standing_aud"], worth, rtol=1e-12, atol=CENT_AUD)


def test_principal_when_it_is_put_off_then_it_is_still_owed_and_stands_against_the_farm(
    plain: FarmResults,
) -> None:
    """Interest only lowers payments: what was put off is in the debt, and off what it is worth."""
    setting = poor(with_steps(BY_HAND["interest only"][0]))
    found = played(setting)
    schedule_aud = setting.rules.cash.loan_principal_aud.sum()
    assert found["principal_put_off_aud"][..., -1] == pytest.approx(schedule_aud)
    assert (found["steps_aud"][..., -1] == -found["principal_put_off_aud"][..., -1]).all()
    assert found["payments_missed"].mean() < plain["payments_missed"].mean()
    unmissed = (found["payments_missed"] + plain["payments_missed"]).sum(axis=-1) == 0.0
    more_aud = found["debt_aud"][..., -1] - plain["debt_aud"][..., -1]
    bank_aud = found["closing_cash_aud"][..., -1] - plain["closing_cash_aud"][..., -1]
    cash_rich = unmissed & (plain["closing_cash_aud"][..., -1] > 0.0)
    assert cash_rich.any()
    assert more_aud[cash_rich] == pytest.approx(schedule_aud)
    # It stays at the bank, with what was saved of overdraft interest, less the interest on it.
    assert bank_aud[cash_rich] == pytest.approx(schedule_aud, rel=0.1)


def test_step_when_it_costs_and_does_nothing_then_every_measure_is_worse(
    plain: FarmResults,
) -> None:
    """A factor of 1 for a fee: less in the end in every sequence, and no chance is better."""
    idle = a_step("nothing", {"overheads_factor": 1.0}, "September", cost_aud=20_000.0)
    found = played(poor(with_steps(idle)))
    fee, free = run_amounts(found), run_amounts(plain)
    for name in ("standing_aud", "closing_cash_aud"):
        assert (fee[name] - fee["arrears_aud"] < free[name] - free["arrears_aud"] - 19_000.0).all()
        assert (fee[name].mean(axis=-1) < free[name].mean(axis=-1)).all()
        assert (worst_mean(fee[name]) < worst_mean(free[name])).all()
    for name in ("peak_overdraft_aud", "past_limit_aud", "arrears_aud"):
        assert (fee[name].mean(axis=-1) >= free[name].mean(axis=-1)).all()
        assert (fee[name].mean(axis=-1) > free[name].mean(axis=-1)).any()
    assert (found["payments_missed"].sum(axis=-1) >= plain["payments_missed"].sum(axis=-1)).all()
    assert found["payments_missed"].sum() > plain["payments_missed"].sum()
    first = found["cover"][..., 0], plain["cover"][..., 0]
    assert (first[0] < first[1]).all()
    assert (found["equity_frac"] < plain["equity_frac"]).all()


def test_steps_when_that_months_and_later_inflow_is_changed_then_none_moves() -> None:
    """Every step up to a month, and all that it did, is the same whatever flows from then on."""
    steps = [*SPEND_LESS, *SELL, *BANK, *WATER]
    setting = poor({"farm.money.deposit_aud": 90_000.0} | with_steps(*steps))
    rows = rows_of_plan(setting)
    months = farm_months(setting, rows)[1]
    taken = 0
    for t in (6, 14, 20):
        other = rows.copy()
        other[:, t:] = np.roll(rows[:, t:], 1, axis=0)
        again = farm_months(setting, other)[1]
        for month, month_again in zip(months[: t + 1], again[: t + 1], strict=True):
            one, two = month.fluxes.steps, month_again.fluxes.steps
            assert one is not None
            assert two is not None
            for ours, theirs in zip(one.taken, two.taken, strict=True):
                assert (ours == theirs).all()
                taken += int(ours.sum())
            assert (one.received_aud == two.received_aud).all()
            assert (one.sold_ml == two.sold_ml).all()
        later = zip(months[t:], again[t:], strict=True)
        assert any((one.end.bank_aud != two.end.bank_aud).any() for one, two in later)
    assert taken > 100


def test_steps_when_one_of_them_is_yearly_then_it_holds_for_a_year_and_is_decided_anew() -> None:
    """Drawings are cut in the years with nothing announced by December, and in no other."""
    cut = a_step(
        "cut", {"drawings_factor": 0.5}, "December", nothing_announced=True, how_often="yearly"
    )
    setting = poor(with_steps(cut))
    before_aud: dict[int, Any] = {}
    both = np.zeros(2, dtype=np.bool_)
    for month in farm_months(setting)[1]:
        due_aud = np.asarray(month.fluxes.cash.due.drawings_aud)
        if month.river.k == 5:
            nothing = month.river.announced_to_date_ml_per_share <= 1e-9
            before_aud = dict.fromkeys(range(12), np.where(nothing, 0.5, 1.0) * 100_000.0 / 12.0)
            both |= [nothing.any(), (~nothing).any()]
        if before_aud:
            expected = np.broadcast_to(before_aud[0], due_aud.shape)
            assert due_aud == pytest.approx(expected)
    assert both.all()


def test_shares_when_more_water_stands_in_them_than_the_rest_may_hold_then_it_is_lost() -> None:
    """Two thirds sold at 0.6 ML a share: the rest may hold 1.0, so 1,000 ML stay of 1,800."""
    sale = a_step("sale", {"sell_shares_ml": 2_000.0, "price_aud_per_share": 900.0}, "September")
    full = POOR | {
        "opening.storage_ml": 200_000.0,
        "opening.account_ml_per_share": 0.6,
        "opening.announced_to_date_ml_per_share": 0.6,
        "valley.accounts.account_limit_ml_per_share": 1.0,
    }
    months = farm_months(farm_case(full | with_steps(sale)))[1]
    first = months[0].fluxes
    assert first.steps is not None
    credited_ml = first.credited_ml_per_share * first.shares_ml
    assert first.account_before_ml_per_share == pytest.approx(1.0)
    assert first.steps.forfeited_ml == pytest.approx(800.0 + credited_ml)
    assert first.steps.received_aud == pytest.approx(1_800_000.0)
    assert months[0].end.drought is not None
    assert (months[0].end.drought.shares_ml == 1_000.0).all()


def test_once_when_a_step_was_taken_then_it_is_not_taken_again() -> None:
    """Once in a run at most, and only where it is asked for; yearly up to once a season."""
    once = a_step("once", {"overheads_factor": 0.9}, "November", dam_below_frac=0.2)
    yearly = a_step("yearly", {"overheads_factor": 0.9}, "November", how_often="yearly")
    found = played(poor({"strategies.1.steps": [once, yearly]}))
    times = found[name_of(0)].sum(axis=-1)
    assert (times[[0, 2]] == 0.0).all()
    assert set(np.unique(times[1])) == {0.0, 1.0}
    assert (found[name_of(1)][1] == 1.0).all()


def test_strategies_without_steps_when_another_has_some_then_they_bring_what_they_did(
    plain: FarmResults,
) -> None:
    """To the cent: their loans are worked out as they go, and come to the same."""
    found = played(poor({"strategies.1.steps": SELL}))
    for name in SAME:
        np.testing.assert_allclose(found[name][[0, 2]], plain[name][[0, 2]], rtol=1e-9, atol=1e-6)
    assert (found["closing_cash_aud"][1] != plain["closing_cash_aud"][1]).any()
    assert "owned_aud" not in plain.values
