"""Does the fast farm do, month by month, what the slow and obvious one does?"""

from __future__ import annotations

from typing import Any

import pytest

from model.farm.setting import FarmSetting
from tests.farm.step_cases import BANK, SELL, SPEND_LESS, WATER, a_step
from tests.farm.twin import (
    ACCOUNTS,
    TwinFarm,
    differences,
    numbers_of,
    settings_of,
    twin_of,
)
from tests.farm_case import REMOVED, farm_case, farm_months, raw_plan

SEQUENCES = 25


def crops_with(**changes: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the example's crops with some keys of a crop changed, and crops added by name."""
    crops = raw_plan()["farm"]["crops"]
    known = {crop["name"]: crop for crop in crops}
    for name, change in changes.items():
        if name in known:
            known[name] |= change
        else:
            crops.append({"name": name} | change)
    return crops


COTTON_LAYOUTS = [
    {"name": "solid", "planned_water_ml_per_ha": 7.7, "full_yield_units_per_ha": 11.0},
    {
        "name": "wide-row",
        "planned_water_ml_per_ha": 4.5,
        "use_factor": 0.75,
        "root_zone_factor": 1.2,
        "full_yield_units_per_ha": 8.0,
        "harvest_cost_aud_per_ha": 500.0,
    },
    {"name": "rain-grown", "full_yield_units_per_ha": 11.0, "least_profile_frac": 0.5},
]
WINTER_WHEAT = {
    "unit": "t",
    "most_of_land_frac": 0.3,
    "sow_month": "May",
    "sow_day": 20,
    "last_watering_month": "October",
    "harvest_month": "November",
    "fallow_begins_month": "December",
    "kc_initial": 0.35,
    "kc_middle": 1.15,
    "kc_end": 0.30,
    "stage_days": [20, 50, 60, 30],
    "loss_stage_ends_days": [60, 110, 140],
    "loss_frac_per_day": [0.004, 0.015, 0.010],
    "lost_before_day": 60,
    "price_aud_per_unit": 300.0,
    "growing_cost_aud_per_ha": [60, 90, 40, 0, 0, 0, 0, 0, 0, 0, 300, 0],
    "harvest_cost_aud_per_ha": 80.0,
    "income_pattern": [0, 0, 0, 0, 0.5, 0.5, 0, 0, 0, 0, 0, 0],
    "layouts": [
        {"name": "irrigated", "planned_water_ml_per_ha": 2.5, "full_yield_units_per_ha": 5.5},
        {"name": "rain-grown", "full_yield_units_per_ha": 4.0, "least_profile_frac": 0.3},
    ],
}
LISTS = {
    "strategies.0.grow": [
        {"crop": "cotton", "layout": "solid", "least_water_ml_per_ha": 5.0},
        {"crop": "cotton", "layout": "wide-row", "least_water_ml_per_ha": 2.0},
        {"crop": "cotton", "layout": "rain-grown"},
        {"crop": "winter wheat", "layout": "irrigated", "most_of_land_frac": 0.1},
        {"crop": "winter wheat", "layout": "rain-grown"},
    ],
    "strategies.1.grow": [
        {"crop": "winter wheat", "layout": "rain-grown"},
        {"crop": "cotton", "layout": "wide-row", "planned_water_ml_per_ha": 5.0},
        {"crop": "sorghum", "layout": "rain-grown"},
    ],
}

SHARES_TODAY = a_step(
    "shares", {"sell_shares_ml": 1_000.0, "price_aud_per_share": 1_100.0}, "September"
)

CASES: dict[str, tuple[str, dict[str, Any]]] = {
    "as shipped": ("plan", {}),
    "dry": (
        "plan_dry",
        {
            "strategies.1.when_short": "spread",
            "strategies.0.hold_above_ml_per_share": 0.25,
            "strategies.1.hold_back_ml_per_share": 0.3,
            "strategies.1.hold_above_ml_per_share": 0.4,
        },
    ),
    "trade in many months, and now": (
        "plan_dry",
        {
            "farm.trade.spread_frac": 0.2,
            "farm.trade.fee_aud_per_ml": 5.0,
            "farm.trade.dry_middle_wet_aud_per_ml": [380.0, 150.0, 60.0],
            "farm.trade.price_by_month": [
                1.0,
                1.0,
                1.1,
                1.1,
                1.0,
                0.9,
                0.9,
                0.8,
                0.7,
                0.6,
                0.5,
                0.5,
            ],
            "strategies.0.buy_now_ml": 120.0,
            "strategies.0.buy_months": ["June", "August", "October"],
            "strategies.0.buy_up_to_ml": 400.0,
            "strategies.0.buy_below_aud_per_ml": 260.0,
            "strategies.1.sell_now_ml": 90.0,
            "strategies.1.sell_months": ["September", "February", "April"],
            "strategies.1.sell_above_aud_per_ml": 40.0,
            "strategies.2.buy_months": ["January"],
            "strategies.2.buy_up_to_ml": 500.0,
            "strategies.2.buy_below_aud_per_ml": 900.0,
        },
    ),
    "yields and prices drawn": (
        "plan",
        {
            "farm.risk": [
                {
                    "crop": "cotton",
                    "past_yields_units_per_ha": [11.0, 9.0, 12.5, 10.0],
                    "past_prices_aud_per_unit": [480.0, 650.0, 520.0, 600.0],
                },
                {"crop": "wheat", "prices_10_50_90_aud_per_unit": [230.0, 300.0, 400.0]},
            ]
        },
    ),
    "tax on profit, and a bank that counts": (
        "plan",
        {
            "farm.money.tax_aud_per_year": 0.0,
            "farm.money.tax_rate_frac": 0.3,
            "farm.money.losses_carried_aud": 40_000.0,
            "farm.money.tax_due_aud": 11_000.0,
            "farm.money.bank_limits_planting": True,
            "farm.money.bank_margin_kept_aud": 200_000.0,
            "farm.money.overdraft_limit_aud": 500_000.0,
            "opening.month": "2025-07",
        },
    ),
    "spillable": ("plan_spillable", {"strategies.0.when_short": "spread"}),
    "low dam, tight bank": (
        "plan",
        {
            "opening.storage_ml": 30_000.0,
            "opening.account_ml_per_share": 0.15,
            "sequences.flow_factor": 0.6,
            "farm.money.overdraft_limit_aud": 350_000.0,
            "valley.access.restriction_trigger_frac": 0.2,
        },
    ),
    "crop in the ground, no storage": (
        "plan",
        {
            "opening.month": "2026-01",
            "opening.storage_ml": 40_000.0,
            "opening.account_ml_per_share": 0.2,
            "farm.opening.prepared_ha": 0.0,
            "farm.opening.crops": [
                {"crop": "cotton", "layout": "solid", "area_ha": 230.0, "soil_water_mm": 60.0}
            ],
            "farm.opening.storage_ml": 0.0,
            "farm.storage": REMOVED,
            "farm.money.arrears_aud": 80_000.0,
        },
    ),
    "a poor crop in the ground": (
        "plan_dry",
        {
            "opening.month": "2026-01",
            "opening.storage_ml": 30_000.0,
            "opening.account_ml_per_share": 0.1,
            "opening.carried_ml_per_share": 0.0,
            "farm.opening.storage_ml": 0.0,
            "farm.opening.crops": [
                {
                    "crop": "cotton",
                    "layout": "solid",
                    "area_ha": 200.0,
                    "soil_water_mm": 20.0,
                    "yield_lost_frac": 0.6,
                }
            ],
        },
    ),
    "stages": ("plan_stages", {}),
    "block releases": ("plan_delivery", {}),
    "environment": ("plan_environment", {}),
    "lock and carried high security": (
        "plan_carry",
        {"farm.licence.high_security_shares_ml": 120.0},
    ),
    "shared capacity": ("plan_capacity", {}),
    "reset": (
        "plan",
        {
            "valley.accounts.spill_rule": "reset",
            "valley.accounts.reset_ml_per_share": 0.3,
            "opening.storage_ml": 390_000.0,
        },
    ),
    "many crops": (
        "plan",
        {
            "opening.storage_ml": 45_000.0,
            "opening.account_ml_per_share": 0.2,
            "sequences.flow_factor": 0.7,
            "farm.crops": crops_with(
                cotton={"layouts": COTTON_LAYOUTS}, **{"winter wheat": WINTER_WHEAT}
            ),
            "farm.opening.crops": [
                {
                    "crop": "winter wheat",
                    "layout": "irrigated",
                    "area_ha": 60.0,
                    "last_watered_month": "July",
                    "spent_aud": 20_000.0,
                }
            ],
        }
        | LISTS,
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
    "drought steps, tax on profit and a bank that counts": (
        "plan",
        {
            "sequences.flow_factor": 0.6,
            "opening.month": "2025-07",
            "opening.storage_ml": 40_000.0,
            "farm.bore": REMOVED,
            "farm.opening.bore_used_ml": 0.0,
            "farm.money.deposit_aud": 100_000.0,
            "farm.money.tax_aud_per_year": 0.0,
            "farm.money.tax_rate_frac": 0.3,
            "farm.money.bank_limits_planting": True,
            "farm.money.overdraft_limit_aud": 500_000.0,
            "farm.money.loans.0.kind": "equal_principal",
            "farm.money.loans.0.interest_only_years": 1,
            "strategies.1.steps": [*BANK, *SPEND_LESS],
            "strategies.2.steps": [*SELL, *WATER],
        },
    ),
    "shares sold with water carried over, part of it frozen": (
        "plan_spillable",
        {
            "opening.carried_ml_per_share": 0.2,
            "valley.access.restriction_trigger_frac": 0.6,
            "strategies.1.steps": [SHARES_TODAY],
        },
    ),
    "drought steps, shared capacity": (
        "plan_capacity",
        {"strategies.0.steps": SELL, "strategies.1.steps": WATER},
    ),
    "table, account first": (
        "plan",
        {
            "farm.crops": crops_with(
                cotton={
                    "kc_initial": None,
                    "kc_middle": None,
                    "kc_end": None,
                    "stage_days": None,
                    "need_ml_per_ha": [0, 0, 0, 1.5, 0.3, 1.4, 2.2, 1.7, 0.6, 0, 0, 0],
                }
            ),
            "farm.watering.supply_order": [
                "general_security",
                "bore",
                "storage",
                "supplementary",
                "high_security",
            ],
        },
    ),
}


def disagreements(setting: FarmSetting) -> tuple[list[Any], int]:
    """Run both farms; return where they differ (month, what, numbers), and how many months."""
    opening, months = farm_months(setting)
    found: list[Any] = []
    compared = 0
    crop = setting.rules.crop
    for strategy in range(setting.settings.count):
        twin_farm = TwinFarm(setting.rules, settings_of(setting.settings, strategy))
        for sequence in range(SEQUENCES):
            twin = twin_of(opening, setting.rules, strategy, sequence)
            for month in months:
                expected = 0.0
                if month.river.k in (crop.planting_k, crop.finish_k):
                    chance = setting.settings.expected_chance_frac[strategy : strategy + 1]
                    further = setting.expectation.ml_per_share(month.river, chance)
                    expected = float(further[0, sequence])
                twin_farm.month(twin, numbers_of(month.river, sequence), expected)
                differ = differences(twin, month.end, strategy, sequence)
                found += [(month.river.t, *each) for each in differ]
                compared += 1
    return found, compared


@pytest.mark.parametrize("name", CASES)
def test_farm_when_run_beside_its_twin_then_every_number_agrees(name: str) -> None:
    """State for state, month for month, under every strategy, to 1e-9."""
    plan, changes = CASES[name]
    setting = farm_case(changes | {"sequences.count": SEQUENCES}, plan)
    found, compared = disagreements(setting)
    assert found[:5] == []
    assert compared == 3 * SEQUENCES * setting.valley.calendar.months


def test_cases_when_added_up_then_they_reach_the_rules_that_matter() -> None:
    """Between them: land cut and kept, arrears, frozen water, trade, spills, crops of each kind."""
    reached: set[str] = set()
    for plan, changes in CASES.values():
        setting = farm_case(changes | {"sequences.count": SEQUENCES}, plan)
        labels = [layout.label for layout in setting.rules.layouts]
        for month in farm_months(setting)[1]:
            main = month.end.main_fields(setting.rules)
            seen = {
                "cut": any(((f.dry_ha > 0.0) & (f.watered_ha > 0.0)).any() for f in main),
                "given up": any((f.harvest_ha < f.sown_ha - 1.0).any() for f in main),
                "arrears": (month.end.arrears_aud > 0.0).any(),
                "frozen": (month.end.frozen_ml_per_share > 0.0).any(),
                "sold": (month.fluxes.traded.sold_ml > 0.0).any(),
                "bought": (month.fluxes.traded.bought_ml > 0.0).any(),
                "spilled": (month.fluxes.account_end.spilled > 0.0).any(),
                "short": any((f.watered.kept_frac < 0.9).any() for f in main),
                "bore": (month.fluxes.watering.taken.bore_ml > 0.0).any(),
                "stored": (month.fluxes.storage.pumped_in_ml > 0.0).any(),
            }
            reached |= {name for name, hit in seen.items() if hit}
            reached |= {
                label
                for label, each in zip(labels, month.end.fields, strict=True)
                if each is not None and (each.sown_ha > 0.0).any()
            }
    assert reached == {
        "cut",
        "given up",
        "arrears",
        "frozen",
        "sold",
        "bought",
        "spilled",
        "short",
        "bore",
        "stored",
        "cotton, solid",
        "cotton, wide-row",
        "cotton, rain-grown",
        "wheat, rain-grown",
        "sorghum, rain-grown",
        "winter wheat, irrigated",
        "winter wheat, rain-grown",
    }
    assert len(ACCOUNTS) == 20
