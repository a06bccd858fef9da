"""Is water left at the end of a run never silently worth nothing, and the same for all?"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.decide.compare import play_rows, run_amounts
from model.farm.setting import FarmSetting
from model.farm.standing import left_ml_per_share, standing_aud, water_left_aud
from tests.farm_case import REMOVED, farm_case, farm_months, rows_of_plan

STATED = "farm.trade.end_value_aud_per_ml"


def per_ml(setting: FarmSetting) -> float:
    """Return the mean worth of a megalitre left at the end, AUD."""
    _, months = farm_months(setting)
    last = months[-1]
    left = left_ml_per_share(last.end, setting.rules.water) * setting.rules.water.shares_ml
    worth = water_left_aud(last.end, last.river, setting.rules)
    return float(worth.sum() / left.sum())


@pytest.mark.parametrize(
    "changes",
    [
        {STATED: REMOVED},
        {"farm.trade": REMOVED},
        {"farm.licence.general_security_shares_ml": 4.0, STATED: REMOVED},
    ],
    ids=["with a market", "without a market", "four shares"],
)
def test_water_left_when_the_plan_states_no_worth_then_worked_out(changes: dict[str, Any]) -> None:
    """With a market, without one, and with four shares: never 0, and no more than a crop earns."""
    worth = per_ml(farm_case(changes))
    assert 20.0 < worth < 1_000.0


def test_water_left_when_the_plan_states_its_worth_then_that_is_taken() -> None:
    """Stated at 150 it is 150, whatever a season would earn from it."""
    assert per_ml(farm_case({STATED: 150.0})) == pytest.approx(150.0)


def test_water_left_when_the_market_pays_more_then_its_july_price() -> None:
    """With prices of 900 and no crop grown by it, water left is worth what July pays."""
    dear = {
        STATED: REMOVED,
        "farm.trade.reference_aud_per_ml": 900.0,
        "farm.trade.lowest_aud_per_ml": 900.0,
        "farm.trade.highest_aud_per_ml": 900.0,
    }
    assert per_ml(farm_case(dear)) >= 900.0 * 0.95 - 1e-9


def test_curve_when_fitted_then_fuller_is_never_worth_less_and_dry_valleys_pay_more() -> None:
    """More water in the account is worth more; the same water is worth more beside a low dam."""
    worth = farm_case({STATED: REMOVED}).rules.water_worth
    assert worth is not None
    assert (np.diff(worth.worth_aud, axis=1) >= 0.0).all()
    assert worth.worth_aud[0, -1] > worth.worth_aud[-1, -1]
    assert (worth.worth_aud[:, 0] == 0.0).all()


def test_curve_when_strategies_differ_then_one_for_all_of_them() -> None:
    """The same water left by another strategy is worth the same: the middle one sets the curve."""
    setting = farm_case({STATED: REMOVED})
    _, months = farm_months(setting)
    last = months[-1]
    alike = replace(
        last.end,
        account_ml_per_share=last.end.account_ml_per_share[:1] + 0.0 * last.end.bank_aud,
        storage_ml=0.0 * last.end.storage_ml,
        frozen_ml_per_share=0.0 * last.end.frozen_ml_per_share,
    )
    worth = water_left_aud(alike, last.river, setting.rules)
    assert worth[1] == pytest.approx(worth[0])
    assert worth[2] == pytest.approx(worth[0])


def test_water_left_when_the_account_is_forfeited_then_only_the_storage_counts() -> None:
    """No carryover: what stands in the account on 30 June is gone on 1 July, and worth nothing."""
    setting = farm_case({STATED: REMOVED, "valley.accounts.carryover_limit_ml_per_share": 0.0})
    _, months = farm_months(setting)
    last = months[-1]
    empty = replace(last.end, storage_ml=0.0 * last.end.storage_ml)
    assert last.end.account_ml_per_share.max() > 0.0
    assert (water_left_aud(empty, last.river, setting.rules) == 0.0).all()


def test_standing_when_results_are_gathered_then_its_parts_add_up() -> None:
    """Cash less arrears and tax owed, water, land, crops in the ground and harvests unpaid."""
    setting = farm_case({STATED: REMOVED})
    results = play_rows(setting, rows_of_plan(setting))
    run = run_amounts(results)
    parts = (
        run["closing_cash_aud"]
        - run["arrears_aud"]
        - run["tax_owing_aud"]
        + run["water_left_aud"]
        + results["spent_on_land_aud"][..., -1]
        + results["spent_on_crops_aud"][..., -1]
        + results["receivable_aud"][..., -1]
    )
    assert run["standing_aud"] == pytest.approx(parts)


def test_standing_when_payments_are_in_arrears_then_they_are_taken_off() -> None:
    """A farm that owes 12,345 in arrears stands 12,345 lower, by hand and as results gather it."""
    setting = farm_case({STATED: REMOVED})
    _, months = farm_months(setting)
    last = months[-1]
    without = replace(last.end, arrears_aud=np.zeros_like(last.end.arrears_aud))
    owing = replace(without, arrears_aud=without.arrears_aud + 12_345.0)
    stands = standing_aud(without, last.river, setting.rules)
    assert stands - standing_aud(owing, last.river, setting.rules) == pytest.approx(12_345.0)
