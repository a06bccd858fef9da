"""Does the whole chain, from inflow to the odds of cash, give what enumeration by hand gives?

Reference: row E1 of the check values, derived here over all 216 inflow sequences (its dam and
priorities are row A1). Inflow record 0, 0, 1, 1, 2, 4, resampled independently; a dam of 4 that
holds 1; high priority takes 1 first, then general 2; season cash 60 + 200 x general allocation (in
units of water: 0, 1 or 2), debt service 180, opening cash 100. The water goes through the valley's
code, the money through the farm's: two hectares of a crop that asks for 1 ML each in July. Its soil
holds next to nothing, and a fully dry day costs so much that half of its water is half of its
yield; without any it is lost.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from model.decide.compare import play_rows, run_amounts
from model.decide.risk import worst_mean
from model.decide.strategy import SHIPPED
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting, farm_setting_of
from model.outlook.chances import chance
from model.plan.text import check_plan
from model.record.record import Record
from model.water_year import parse_month
from tests.farm_case import REMOVED, raw_plan

INFLOWS = (0.0, 0.0, 1.0, 1.0, 2.0, 4.0)
JULY_ONLY = [1.0] + [0.0] * 11
AUGUST_ONLY = [0.0, 1.0] + [0.0] * 10
NONE = [0.0] * 12


def tiny_record() -> Record:
    """Six water years whose inflow comes in July."""
    inflow_ml = np.zeros(6 * 12)
    inflow_ml[::12] = INFLOWS
    return Record("tiny", "", parse_month("2000-07"), inflow_ml, {}, {}, {})


def tiny_valley(raw: dict[str, Any]) -> None:
    """A dam of 4 that serves high priority 1, then general 2, all in July; accounts are full."""
    raw["valley"] |= {
        "capacity_ml": 4.0,
        "dead_storage_ml": 0.0,
        "surface_storage_ml": [0.0],
        "surface_area_ha": [0.0],
        "delivery_loss_frac": 0.0,
        "essential_ml": NONE,
        "river_loss_ml": NONE,
        "base_flow_ml": NONE,
        "high_security": {"shares_ml": 1.0, "pattern": JULY_ONLY},
        "general_security": {"shares_ml": 2.0, "pattern": JULY_ONLY},
        "assessment": {
            "years_ahead": 0,
            "essential_reserve_months": 0,
            "high_security_next_year_frac": 0.0,
            "assured_inflow": "fixed",
            "assured_fixed_ml_per_month": 1_000.0,
        },
        "accounts": {
            "account_limit_ml_per_share": 1.0,
            "loss_mode": "socialised",
            "spill_rule": "none",
        },
    }
    del raw["valley"]["access"]
    raw["opening"] = {
        "month": "2025-07",
        "storage_ml": 1.0,
        "account_ml_per_share": 1.0,
        "announced_to_date_ml_per_share": 0.0,
        "used_this_year_ml_per_share": 0.0,
        "used_last_year_ml_per_share": 0.0,
        "used_year_before_ml_per_share": 0.0,
        "high_security_used_ml": 0.0,
        "high_security_allocation_frac": 1.0,
    }
    raw["outlook"] = {"planting_month": "July", "finish_month": "July"}
    raw["sequences"] = {"method": "blocks", "kind": "independent", "seasons": 3}


def tiny_farm(raw: dict[str, Any]) -> None:
    """Two hectares that earn 200 each with all their water; 60 a year besides; debt service 180."""
    crop = {
        "name": "crop",
        "unit": "bale",
        "prepare_month": "February",
        "sow_month": "July",
        "sow_day": 1,
        "last_watering_month": "July",
        "harvest_month": "August",
        "fallow_begins_month": "July",
        "need_ml_per_ha": JULY_ONLY,
        "soil_capacity_mm": 1e-12,
        "soil_stress_below_mm": 1e-12,
        "full_stress_frac": 1.0,
        "loss_stage_ends_days": [30],
        "loss_frac_per_day": [math.log(2.0) / 15.5],
        "price_aud_per_unit": 200.0,
        "growing_cost_aud_per_ha": NONE,
        "income_pattern": AUGUST_ONLY,
        "layouts": [
            {"name": "one", "planned_water_ml_per_ha": 1.0, "full_yield_units_per_ha": 1.0}
        ],
    }
    loan = {"balance_aud": 540.0, "rate_frac_per_year": 0.0, "term_years": 3, "name": "loan"}
    raw["farm"] = {
        "name": "tiny",
        "developed_ha": 2.0,
        "fallow_cost_aud_per_ha": 0.0,
        "licence": {"general_security_shares_ml": 2.0},
        "crops": [crop],
        "money": {
            "bank_aud": 100.0,
            "overdraft_limit_aud": 1e6,
            "overdraft_rate_frac_per_year": 0.0,
            "overheads_aud_per_year": 0.0,
            "off_farm_income_aud_per_year": 60.0,
            "water_charges": {"general_fixed_aud_per_share": 0.0, "usage_aud_per_ml": 0.0},
            "loans": [loan | {"payment_months": ["June"]}],
            "assets": {"land_aud": 0.0, "general_security_aud_per_share": 0.0},
        },
        "opening": {"prepared_ha": 2.0},
    }


@pytest.fixture(scope="module")
def setting() -> FarmSetting:
    """Return the tiny farm in its tiny valley."""
    raw = raw_plan({"strategies": REMOVED})
    tiny_valley(raw)
    tiny_farm(raw)
    all_in = SHIPPED[-1].model_copy(
        update={
            "count_on_frac": 0.0,
            "smallest_area_ha": 0.0,
            "when_short": "spread",
        }
    )
    return farm_setting_of(check_plan(raw, "tiny.toml"), tiny_record(), [all_in])


@pytest.fixture(scope="module")
def results(setting: FarmSetting) -> FarmResults:
    """Play all 216 sequences of three years."""
    years = np.array(list(itertools.product(range(6), repeat=3)))
    rows = (years[:, :, None] * 12 + np.arange(12)).reshape(len(years), 36)
    return play_rows(setting, rows)


def enumerated() -> list[tuple[Fraction, Fraction]]:
    """Work the 216 sequences out in exact fractions: closing cash, and the least on the way."""
    found = []
    for inflows in itertools.product((0, 0, 1, 1, 2, 4), repeat=3):
        dam, cash, lowest = Fraction(1), Fraction(100), Fraction(100)
        for inflow in inflows:
            released = min(Fraction(3), dam + inflow)
            general = max(Fraction(0), released - 1)
            dam = min(Fraction(4), dam + inflow - released)
            cash += 60 + 200 * general - 180
            lowest = min(lowest, cash)
        found.append((cash, lowest))
    return found


def test_chain_when_all_sequences_are_played_then_cash_is_that_of_e1(results: FarmResults) -> None:
    """Mean closing cash 1835/9, below 0 at the end in 10/27, below 0 at some time in 13/27."""
    cash_aud = results["closing_cash_aud"][0]
    assert cash_aud[:, -1].mean() == pytest.approx(1835 / 9, abs=1e-9)
    assert chance(cash_aud[:, -1] < -1e-9, None).value == pytest.approx(10 / 27, abs=1e-9)
    below = (cash_aud < -1e-9).any(axis=1)
    assert chance(below, None).value == pytest.approx(13 / 27, abs=1e-9)


def test_chain_when_each_sequence_is_played_then_cash_is_the_enumerated(
    results: FarmResults,
) -> None:
    """Not only on average: sequence by sequence, and so is the mean of the worst tenth."""
    closing = np.array([float(cash) for cash, _ in enumerated()])
    run = run_amounts(results)
    assert run["closing_cash_aud"][0] == pytest.approx(closing, abs=1e-9)
    assert worst_mean(run["closing_cash_aud"][0]) == pytest.approx(
        float(np.sort(closing)[:21].sum() + 0.6 * np.sort(closing)[21]) / 21.6, abs=1e-9
    )


def test_chain_when_general_is_last_then_its_water_has_the_odds_of_a1(
    results: FarmResults,
) -> None:
    """Row A1: general gets 0 %, 50 % and 100 % with these chances in seasons 1, 2 and 3."""
    expected = [
        [1 / 3, 1 / 3, 1 / 3],
        [5 / 9, 7 / 36, 1 / 4],
        [16 / 27, 41 / 216, 47 / 216],
    ]
    used = results["water_used_ml"][0]
    for season, chances in enumerate(expected):
        found = [np.isclose(used[:, season], ml, atol=1e-9).mean() for ml in (0.0, 1.0, 2.0)]
        assert found == pytest.approx(chances, abs=1e-12)


def test_chain_when_debt_service_is_counted_then_cover_is_income_over_it(
    results: FarmResults,
) -> None:
    """Cover is the season's operating income over 180, off-farm income left out."""
    expected = 200.0 * results["water_used_ml"] / 180.0
    assert results["cover"] == pytest.approx(expected, abs=1e-9)
    assert results["debt_service_aud"] == pytest.approx(np.full_like(expected, 180.0))
