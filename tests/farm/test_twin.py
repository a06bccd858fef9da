"""Does the fast farm do, month by month, what the slow and obvious one does?"""

from __future__ import annotations

from dataclasses import astuple, fields
from typing import Any

import pytest

from model.farm.setting import FarmSetting
from tests.farm_case import REMOVED, farm_case, farm_months
from tests.farm_twin import TwinFarm, close, numbers_of, twin_of

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
            "farm.opening.planted_ha": 230.0,
            "farm.opening.storage_ml": 0.0,
            "farm.storage": REMOVED,
            "farm.money.arrears_aud": 80_000.0,
        },
    ),
    "reset, wheat on idle land": (
        "plan",
        {
            "valley.accounts.spill_rule": "reset",
            "valley.accounts.reset_ml_per_share": 0.3,
            "opening.storage_ml": 390_000.0,
            "farm.unplanted_crop": "wheat",
        },
    ),
    "table, account first": (
        "plan",
        {
            "farm.cotton.need_ml_per_ha": [0, 0, 0, 1.5, 0.3, 1.4, 2.2, 1.7, 0.6, 0, 0, 0],
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
SEQUENCES = 25


def disagreements(setting: FarmSetting) -> tuple[list[tuple[Any, ...]], int]:
    """Run both farms; give where they differ (month, field, numbers), and how much was compared."""
    opening, months = farm_months(setting)
    found: list[tuple[Any, ...]] = []
    compared = 0
    for strategy in range(setting.settings.count):
        own = numbers_of(setting.settings, strategy)
        own = {name: value[0] if isinstance(value, list) else value for name, value in own.items()}
        twin_farm = TwinFarm(setting.rules, own)
        for sequence in range(SEQUENCES):
            twin = twin_of(opening, strategy, sequence)
            for month in months:
                expected = 0.0
                if month.river.k in (setting.rules.crop.planting_k, setting.rules.crop.finish_k):
                    chance = setting.settings.expected_chance_frac[strategy : strategy + 1]
                    further = setting.expectation.ml_per_share(month.river, chance)
                    expected = float(further[0, sequence])
                twin_farm.month(twin, numbers_of(month.river, sequence), expected)
                fast = twin_of(month.end, strategy, sequence)
                for field, slow_value, fast_value in zip(
                    fields(twin), astuple(twin), astuple(fast), strict=True
                ):
                    compared += 1
                    if not close(slow_value, fast_value):
                        found.append((month.river.t, field.name, slow_value, fast_value))
    return found, compared


@pytest.mark.parametrize("name", CASES)
def test_farm_when_run_beside_its_twin_then_every_number_agrees(name: str) -> None:
    """State for state, month for month, under every strategy, to 1e-9."""
    plan, changes = CASES[name]
    setting = farm_case(changes | {"sequences.count": SEQUENCES}, plan)
    found, compared = disagreements(setting)
    assert found[:5] == []
    assert compared == 3 * SEQUENCES * setting.valley.calendar.months * 24


def test_cases_when_added_up_then_they_reach_the_rules_that_matter() -> None:
    """Between them: land cut and kept, arrears, frozen water, trade, spills, nothing planted."""
    reached: set[str] = set()
    for plan, changes in CASES.values():
        setting = farm_case(changes | {"sequences.count": SEQUENCES}, plan)
        for month in farm_months(setting)[1]:
            seen = {
                "cut": (month.end.run_out_ha > 0.0).any(),
                "arrears": (month.end.arrears_aud > 0.0).any(),
                "frozen": (month.end.frozen_ml_per_share > 0.0).any(),
                "sold": (month.fluxes.traded.sold_ml > 0.0).any(),
                "bought": (month.fluxes.traded.bought_ml > 0.0).any(),
                "spilled": (month.fluxes.account_end.spilled > 0.0).any(),
                "idle": month.river.k == 3 and (month.end.planted_ha == 0.0).any(),
                "short": (month.end.yield_lost_frac > 0.05).any(),
                "bore": (month.fluxes.watering.taken.bore_ml > 0.0).any(),
                "stored": (month.fluxes.storage.pumped_in_ml > 0.0).any(),
            }
            reached |= {name for name, hit in seen.items() if hit}
    assert reached == {
        "cut",
        "arrears",
        "frozen",
        "sold",
        "bought",
        "spilled",
        "idle",
        "short",
        "bore",
        "stored",
    }
