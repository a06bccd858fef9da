"""A dam that is emptied holds nothing: what rounding leaves in it decides nothing.

The case is invented. 3,879.2 ML meet 72.8 of essential supplies, 123.8 of river loss and a base
flow far above what is there: 3,879.2 - 72.8 - 123.8 - 3,682.6 = 0, but 4.5e-13 in doubles. A lake
of 50 ha stands on it, so that any evaporation at all is the whole of that dust.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from model.plan.text import check_plan
from model.valley.rules import rules_of
from model.valley.state import forcing_of, opening_state
from model.water_year import parse_month
from tests.a_ledger import ledger
from tests.benchmarks.c_loop import CLoop
from tests.textbook_dam import record_of_months, textbook_plan
from tests.valley_twin import run as run_twin

MONTHS = 3


def emptied(*, trigger_frac: float | None = None, loss_mode: str = "by_balance") -> dict[str, Any]:
    """Plan of a dam that its base flow empties in the first month; no month brings inflow."""
    raw = textbook_plan(10_000.0, general_security_ml=1_000.0).model_dump(exclude_none=True)
    raw["valley"] |= {
        "surface_area_ha": [50.0],
        "lake_evaporation_mm": [0.0] + [100.0] * 11,
        "essential_ml": [72.8] * 12,
        "river_loss_ml": [123.8] * 12,
        "base_flow_ml": [60_000.0] * 12,
    }
    if trigger_frac is not None:
        access = {"restriction_trigger_frac": trigger_frac, "restriction_access_frac": 0.0}
        raw["valley"]["access"] = access
    raw["valley"]["accounts"]["loss_mode"] = loss_mode
    raw["opening"] |= {"storage_ml": 3_879.2, "account_ml_per_share": 1.0}
    return raw


def months_of(inflow_ml: float) -> list[dict[str, Any]]:
    """July to September of one year; what comes, comes in July."""
    flows_ml = [inflow_ml] + [0.0] * (MONTHS - 1)
    return [{"month": f"2000-{m:02d}", "inflow_ml": ml} for m, ml in enumerate(flows_ml, start=7)]


def by_product(raw: dict[str, Any], inflow_ml: float = 0.0) -> dict[str, list[float]]:
    """The ledger by the model, column by column."""
    plan, record = check_plan(raw, "dust"), record_of_months([inflow_ml] + [0.0] * 11)
    rows = np.arange(MONTHS)[None]
    kept = ledger(
        opening_state(plan.opening, 1),
        forcing_of(rows, record, plan.valley),
        rules_of(plan.valley, record),
        parse_month(plan.opening.month),
    )
    return {name: values[0].tolist() for name, values in kept.items()}


def by_twin(raw: dict[str, Any], inflow_ml: float = 0.0) -> dict[str, list[float]]:
    """The same by the scalar twin."""
    rows = run_twin(raw, months_of(inflow_ml), list(range(MONTHS)), "2000-07")
    return {name: [row[name] for row in rows] for name in rows[0] if name != "month"}


ENGINES = pytest.mark.parametrize("engine", [by_product, by_twin])


def test_case_when_worked_in_doubles_then_it_does_leave_dust() -> None:
    """The case stands for what it is meant to: the sums below differ from 0 in the last digit."""
    assert pytest.approx(4.5e-13, abs=1e-14) == 3_879.2 - (72.8 + 123.8 + (3_879.2 - 72.8 - 123.8))


@ENGINES
def test_dam_when_it_is_emptied_then_it_holds_nothing_and_accounts_do_not_evaporate(
    engine: Any,
) -> None:
    """An empty dam has nothing to share out: the account stays at 1.0 through the next months."""
    kept = engine(emptied())
    assert kept["storage_end_ml"] == [0.0] * MONTHS
    assert kept["account_ml_per_share"] == [1.0] * MONTHS
    assert kept["account_loss_ml_per_share"] == [0.0] * MONTHS


@ENGINES
def test_dam_when_it_is_emptied_then_a_trigger_of_nothing_restricts(engine: Any) -> None:
    """With a trigger of 0 an emptied dam is at it; water of rounding would lift it above."""
    kept = engine(emptied(trigger_frac=0.0, loss_mode="socialised"))
    assert kept["frozen_ml_per_share"] == [0.0, 1.0, 1.0]


@ENGINES
def test_dam_when_little_is_left_then_it_is_not_taken_for_rounding(engine: Any) -> None:
    """A millionth of a megalitre in a dam of 10,000 ML is above 1e-12 of it, and stays water."""
    raw = emptied()
    raw["valley"] |= {"base_flow_ml": [0.0] * 12, "river_loss_ml": [0.0] * 12}
    raw["valley"]["essential_ml"] = [3_879.2 - 1e-6] + [0.0] * 11
    raw["valley"]["lake_evaporation_mm"] = [0.0] * 12
    assert engine(raw)["storage_end_ml"][0] == pytest.approx(1e-6, rel=1e-3)


@ENGINES
def test_dam_when_a_flood_runs_through_a_small_one_then_its_rounding_is_no_water(
    engine: Any,
) -> None:
    """What is at hand counts, not the dam alone: 1e-12 of a flood is more than 1e-12 of the dam."""
    raw = emptied()
    scale = 2.0**30  # exact, so that the dust is 4.5e-13 times as much
    raw["opening"]["storage_ml"] = 0.0
    raw["valley"] |= {"lake_evaporation_mm": [0.0] * 12, "lake_rain_mm": [0.0] * 12}
    for name in ("essential_ml", "river_loss_ml", "base_flow_ml"):
        raw["valley"][name] = [scale * value for value in raw["valley"][name]]
    raw["valley"]["surface_area_ha"] = [scale]
    raw["valley"]["lake_rain_mm"] = [387_920.0] + [0.0] * 11  # 3,879.2 ML on each ha of scale
    kept = engine(raw)
    assert kept["storage_end_ml"][0] == 0.0


def by_loop(raw: dict[str, Any], inflow_ml: float = 0.0) -> dict[str, list[float]]:
    """Storage and account at the run's end by the C loop that speed is measured against."""
    found = CLoop(raw, months_of(inflow_ml)).run(np.arange(MONTHS, dtype=np.int32)[None], 0)
    return {name: values[0].tolist() for name, values in found.items()}


@pytest.mark.parametrize("engine", [by_product, by_twin, by_loop])
def test_dam_when_evaporation_takes_all_then_rounding_leaves_nothing(engine: Any) -> None:
    """0.1 ML, inflow of 0.2 and 30 mm from 1 ha: 0.1 + 0.2 - 0.3 is nothing, in doubles 5.6e-17."""
    raw = emptied(loss_mode="socialised")
    raw["valley"] |= {name: [0.0] * 12 for name in ("essential_ml", "river_loss_ml")}
    raw["valley"] |= {"base_flow_ml": [0.0] * 12, "surface_area_ha": [1.0]}
    raw["valley"]["lake_evaporation_mm"] = [30.0] + [0.0] * 11
    raw["valley"]["accounts"]["allocation_cap_ml_per_share"] = 0.0  # so that none is ordered
    raw["opening"] |= {"storage_ml": 0.1, "account_ml_per_share": 0.0}
    assert engine(raw, 0.2)["storage_end_ml"][-1] == 0.0


def test_c_loop_when_a_dam_is_emptied_then_its_account_stays() -> None:
    """The loop that speed is measured against follows the same rule."""
    found = by_loop(emptied())
    assert found["storage_end_ml"] == [0.0]
    assert found["account_ml_per_share"] == [1.0]
