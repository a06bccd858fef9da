"""Do the farm's ledgers of water and money close, and is nothing used that is not there?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from model.farm.drought import owed_aud
from model.farm.harvest import receivable_aud
from model.farm.run import FarmMonth
from model.farm.setting import FarmSetting
from model.farm.state import FarmState
from tests.farm.step_cases import BANK, SELL, SPEND_LESS, WATER
from tests.farm_case import REMOVED, farm_case, farm_months

CLOSES = 1e-9  # of what passed through

CASES: dict[str, tuple[str, dict[str, Any]]] = {
    "as shipped": ("plan", {}),
    "spillable": ("plan_spillable", {}),
    "dry": ("plan_dry", {}),
    "proportional spill": (
        "plan",
        {"valley.accounts.spill_rule": "proportional", "valley.accounts.carryover_loss_frac": 0.1},
    ),
    "reset": (
        "plan",
        {
            "valley.accounts.spill_rule": "reset",
            "valley.accounts.reset_ml_per_share": 0.3,
            "opening.storage_ml": 390_000.0,
        },
    ),
    "crop in the ground": (
        "plan",
        {
            "opening.month": "2026-01",
            "farm.opening.prepared_ha": 0.0,
            "farm.opening.crops": [
                {
                    "crop": "cotton",
                    "layout": "solid",
                    "area_ha": 220.0,
                    "soil_water_mm": 140.0,
                    "spent_aud": 300_000.0,
                }
            ],
            "farm.opening.arrears_aud": REMOVED,
            "farm.money.arrears_aud": 50_000.0,
        },
    ),
    "tax on profit": (
        "plan",
        {"farm.money.tax_aud_per_year": 0.0, "farm.money.tax_rate_frac": 0.3},
    ),
    "shortage spread": ("plan", {"strategies.1.when_short": "spread"}),
    "account first": (
        "plan",
        {
            "farm.watering.supply_order": [
                "general_security",
                "bore",
                "storage",
                "supplementary",
                "high_security",
            ]
        },
    ),
    "drought steps": (
        "plan_dry",
        {
            "sequences.flow_factor": 0.7,
            "farm.money.deposit_aud": 100_000.0,
            "farm.money.overdraft_limit_aud": 500_000.0,
            "strategies.0.steps": [*SPEND_LESS, *WATER],
            "strategies.1.steps": [*SELL, *BANK],
        },
    ),
    "need from a table": (
        "plan",
        {
            "farm.crops.0.need_ml_per_ha": [0, 0, 0, 1.5, 0.3, 1.4, 2.2, 1.7, 0.6, 0, 0, 0],
            **{
                f"farm.crops.0.{key}": REMOVED
                for key in ("kc_initial", "kc_middle", "kc_end", "stage_days")
            },
        },
    ),
}


@pytest.fixture(scope="module", params=CASES)
def run(request: pytest.FixtureRequest) -> tuple[FarmSetting, FarmState, list[FarmMonth]]:
    """Return each case's farm, run month by month."""
    name, changes = CASES[request.param]
    setting = farm_case(changes, name)
    return setting, *farm_months(setting)


def assert_closes(balance: NDArray[np.float64], throughput: NDArray[np.float64]) -> None:
    """Hold that nothing is left over, next to what passed through."""
    assert np.isfinite(balance).all()
    assert (np.abs(balance) <= CLOSES * (throughput + 1.0)).all()


def test_account_ledger_when_any_month_ends_then_it_closes(
    run: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """The account holds what it held, credited and bought, less use, sale and loss."""
    setting, before, months = run
    shares_before_ml: Any = setting.rules.water.shares_ml
    for month in months:
        fluxes, end = month.fluxes, month.end
        shares_ml = fluxes.shares_ml
        in_ml = fluxes.credited_ml_per_share * shares_ml + fluxes.traded.bought_ml
        lost = fluxes.carryover_loss_ml_per_share + fluxes.account_end.lost
        out_ml = (
            fluxes.watering.taken.general_security_ml + fluxes.traded.sold_ml + lost * shares_ml
        )
        if fluxes.steps is not None:
            out_ml = out_ml + fluxes.steps.forfeited_ml
        start_ml = before.account_ml_per_share * shares_before_ml
        assert_closes(
            start_ml + in_ml - out_ml - end.account_ml_per_share * shares_ml,
            start_ml + in_ml + out_ml,
        )
        before, shares_before_ml = end, shares_ml


def test_storage_ledger_when_any_month_ends_then_it_closes(
    run: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """The farm storage holds what it held and was pumped in, less use and net loss."""
    _, before, months = run
    for month in months:
        moved, taken = month.fluxes.storage, month.fluxes.watering.taken
        out_ml = taken.storage_ml + moved.net_loss_ml
        balance_ml = before.storage_ml + moved.pumped_in_ml - out_ml - month.end.storage_ml
        assert_closes(balance_ml, before.storage_ml + moved.pumped_in_ml + np.abs(out_ml))
        before = month.end


def test_cash_ledger_when_any_month_ends_then_it_closes(
    run: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """The bank holds what it held and took in, less every cost, interest and payment."""
    setting, before, months = run
    fixed = setting.rules.cash
    for month in months:
        cash, t, steps = month.fluxes.cash, month.river.t, month.fluxes.steps
        in_aud = cash.income_aud + cash.due.off_farm_aud
        if steps is None:
            assert cash.due.drawings_aud == fixed.drawings_aud[t]
            assert cash.due.off_farm_aud == fixed.off_farm_aud[t]
        else:
            in_aud = in_aud + steps.received_aud
        out_aud = (
            cash.costs_aud
            + cash.due.drawings_aud
            + cash.tax_aud
            + fixed.machinery_aud[t]
            + cash.overdraft_interest_aud
            + cash.loan_paid_aud
        )
        balance_aud = before.bank_aud + in_aud - out_aud - month.end.bank_aud
        assert_closes(balance_aud, np.abs(before.bank_aud) + in_aud + out_aud)
        due_aud = cash.due.loan_interest_aud + cash.due.loan_principal_aud
        if steps is not None and before.drought is not None and month.end.drought is not None:
            paid_off_aud = steps.repaid_aud + cash.due.loan_principal_aud
            loans_aud = owed_aud(before.drought) - owed_aud(month.end.drought)
            assert_closes(loans_aud - paid_off_aud, owed_aud(before.drought))
        late_aud = before.arrears_aud + cash.arrears_interest_aud + due_aud
        assert_closes(late_aud - cash.loan_paid_aud - month.end.arrears_aud, late_aud)
        before = month.end


def test_crop_money_when_seasons_end_then_received_and_receivable_are_all_of_it(
    run: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """All crops' money is received in its months or still to come, and none is lost between."""
    setting, opening, months = run
    earned_aud = np.zeros_like(opening.bank_aud)
    received_aud = np.zeros_like(opening.bank_aud)
    for month in months:
        crops = month.fluxes.crops
        earned_aud = earned_aud + sum(found.worth_aud for found in crops.harvested if found)
        received_aud = received_aud + crops.income_aud
    last = months[-1]
    to_come_aud = receivable_aud(last.end, last.river.k, setting.rules)
    assert earned_aud.max() > 0.0
    assert to_come_aud.max() > 0.0
    assert_closes(earned_aud - received_aud - to_come_aud, earned_aud)


def test_use_when_any_month_ends_then_it_is_within_account_access_and_limits(
    run: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """Nothing is used or sold beyond account, access, limits on use, pumps and licences."""
    setting, _, months = run
    rules, farm = setting.rules.water, setting.farm
    assert farm.bore is not None
    assert farm.supplementary is not None
    for month in months:
        fluxes, end = month.fluxes, month.end
        taken, slack = fluxes.watering.taken, 1e-9
        drawn_ml = taken.general_security_ml + fluxes.traded.sold_ml - fluxes.traded.bought_ml
        if fluxes.steps is not None:  # traded before the rest was decided
            drawn_ml = drawn_ml - fluxes.steps.sold_ml + fluxes.steps.bought_ml
        assert (drawn_ml <= fluxes.usable_ml_per_share * fluxes.shares_ml + slack).all()
        assert (end.account_ml_per_share >= 0.0).all()
        assert (end.account_ml_per_share <= rules.account_limit_ml_per_share + slack).all()
        assert (end.carried_ml_per_share <= end.account_ml_per_share + slack).all()
        assert (end.used_this_year_ml_per_share <= rules.use_limit_1yr_ml_per_share + slack).all()
        assert (end.bore_used_ml <= farm.bore.limit_ml_per_year + slack).all()
        assert (taken.bore_ml <= farm.bore.pump_ml_per_month + slack).all()
        assert (end.supplementary_used_ml <= farm.supplementary.limit_ml_per_year + slack).all()
        pumped_ml = taken.supplementary_ml + fluxes.storage.pumped_in_ml
        assert (pumped_ml <= month.river.uncontrolled_ml + slack).all()
        assert (pumped_ml <= rules.supplementary_ml_per_month + slack).all()
        assert (end.storage_ml >= 0.0).all()
        assert (end.storage_ml <= rules.storage_capacity_ml + slack).all()
        for got_ml in (taken.river_ml, taken.storage_ml, taken.bore_ml):
            assert (got_ml >= 0.0).all()
        assert (taken.total_ml <= fluxes.watering.need_ml + slack).all()
        allocated_ml = month.river.high_security_allocation_frac * rules.high_security_shares_ml
        assert (end.high_security_used_ml <= allocated_ml + slack).all()


def test_land_when_any_month_ends_then_no_more_is_used_than_there_is(
    run: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """Every crop stays within its limit, cotton within prepared land, all within the land."""
    setting, _, months = run
    crop = setting.rules.crop
    for month in months:
        end = month.end
        assert (end.prepared_ha <= crop.land_limit_ha + 1e-9).all()
        assert (end.in_ground_ha() <= crop.developed_ha + 1e-9).all()
        if month.river.k == crop.planting_k:
            planted_ha = end.planted_ha(setting.rules)
            assert (planted_ha <= month.fluxes.prepared_ha + 1e-9).all()
        for field, layout in zip(end.fields, setting.rules.layouts, strict=True):
            if field is not None:
                assert (field.harvest_ha <= field.sown_ha + 1e-9).all()
                assert (field.sown_ha <= layout.most_ha + 1e-9).all()


def test_field_when_sown_then_costs_and_harvest_are_of_the_same_hectares(
    run: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """What is sown is fixed until harvest; all that a field cost is in its crop's margin."""
    setting, before, months = run
    spent_aud = {at: field.spent_aud for at, field in enumerate(before.fields) if field is not None}
    harvests = 0
    for month in months:
        crops = month.fluxes.crops
        for at, layout in enumerate(setting.rules.layouts):
            was, field, cost_aud = before.fields[at], month.end.fields[at], crops.cost_aud[at]
            if was is None and field is not None:
                assert month.river.k == layout.sow_k
                spent_aud[at] = field.spent_aud - cost_aud
            if was is not None and field is not None:
                assert (field.sown_ha == was.sown_ha).all()
            if cost_aud is not None:
                spent_aud[at] = spent_aud[at] + cost_aud
            if (found := crops.harvested[at]) is not None:
                harvests += 1
                assert was is not None
                assert (found.area_ha <= was.sown_ha + 1e-9).all()
                assert found.margin_aud == pytest.approx(found.worth_aud - spent_aud.pop(at))
        before = month.end
    assert harvests >= 5
