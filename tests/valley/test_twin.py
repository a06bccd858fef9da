"""Whether the scalar twin keeps the reference ledgers of the scheme.

Reference: tests/reference/contract, invented plans on one record, each with the ledger that a
separate program wrote for it. The worked cases below cover the rules that those plans leave unused.
"""

from __future__ import annotations

import csv
import math
import tomllib
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from model.record.record import Record
from model.water_year import months_from, parse_month
from tests.a_ledger import ledger
from tests.strategies import Case
from tests.valley_twin import (
    LEDGER_COLUMNS,
    assured_inflow,
    opening_state,
    quantile_type_7,
    replay,
)
from tests.valley_twin import (
    run as twin_run,
)

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
PLANS = ("", "_spillable", "_dry", "_keep")
FURTHER = ("_capacity", "_delivery", "_stages", "_environment", "_carry")
FIRST, LAST = "1900-09", "2024-06"
# The ledgers were written by another program: the two may differ by rounding, never by a rule.
RELATIVE = 1e-12
NEAR_ZERO = 1e-9  # [ML or ML per share] where large numbers cancel to nothing


def read_plan(name: str) -> dict[str, Any]:
    """Plan of the contract, parsed."""
    return tomllib.loads((CONTRACT / f"plan{name}.toml").read_text(encoding="utf-8"))


def read_table(name: str) -> list[dict[str, Any]]:
    """Rows of a contract table, every column but the month as a number."""
    with (CONTRACT / name).open(newline="", encoding="utf-8") as file:
        return [
            {column: text if column == "month" else float(text) for column, text in row.items()}
            for row in csv.DictReader(file)
        ]


@pytest.fixture(scope="module")
def record() -> list[dict[str, Any]]:
    """Record of the contract."""
    return read_table("record.csv")


@pytest.fixture
def plan() -> dict[str, Any]:
    """First plan of the contract, free to be changed by the test."""
    return read_plan("")


@pytest.mark.parametrize("name", [*PLANS, *FURTHER])
def test_replay_when_plan_is_of_the_contract_then_ledger_agrees(
    name: str, record: list[dict[str, Any]]
) -> None:
    """Every number of every month is the reference number."""
    expected = read_table(f"ledger{name}.csv")
    ledger = replay(read_plan(name), record, FIRST, LAST)
    assert len(ledger) == len(expected)
    for row, expected_row in zip(ledger, expected, strict=True):
        assert tuple(row) == tuple(expected_row)
        assert tuple(row)[: len(LEDGER_COLUMNS)] == LEDGER_COLUMNS
        assert row["month"] == expected_row["month"]
        for column in tuple(row)[1:]:
            assert row[column] == pytest.approx(
                expected_row[column], rel=RELATIVE, abs=NEAR_ZERO
            ), (row["month"], column)


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("spill_rule", ["none", "proportional", "reset", "carried_first"])
@pytest.mark.parametrize("loss_mode", ["by_balance", "socialised"])
def test_replay_when_any_month_ends_then_dam_and_account_balance(
    name: str, spill_rule: str, loss_mode: str, record: list[dict[str, Any]]
) -> None:
    """Nothing is lost between the columns: dam and account close each month under every rule."""
    plan = read_plan(name)
    plan["valley"]["accounts"] |= {
        "spill_rule": spill_rule,
        "loss_mode": loss_mode,
        "reset_ml_per_share": 0.3,
    }
    shares_ml = plan["valley"]["general_security"]["shares_ml"]
    account_ml_per_share = opening_state(plan).account_ml_per_share
    for row in replay(plan, record, FIRST, LAST):
        out_ml = sum(
            row[c] for c in LEDGER_COLUMNS[LEDGER_COLUMNS.index("net_evaporation_ml") : 12]
        )
        balance_ml = row["storage_start_ml"] + row["inflow_ml"] - out_ml - row["storage_end_ml"]
        assert balance_ml == pytest.approx(0.0, abs=1e-9 * (row["storage_start_ml"] + out_ml + 1))
        account_ml_per_share += row["credited_ml_per_share"] - row["forfeited_ml_per_share"]
        account_ml_per_share -= row["general_security_ml"] / shares_ml
        account_ml_per_share -= row["account_loss_ml_per_share"]
        assert row["account_ml_per_share"] == pytest.approx(account_ml_per_share, abs=1e-9)
        account_ml_per_share = row["account_ml_per_share"]


def one_month_plan(plan: dict[str, Any]) -> dict[str, Any]:
    """Plan of round numbers: no claims but general security, no losses, a dam of 1000 ML."""
    valley = plan["valley"]
    valley |= {
        "capacity_ml": 1000.0,
        "dead_storage_ml": 0.0,
        "surface_storage_ml": [0.0, 1000.0],
        "surface_area_ha": [0.0, 100.0],
        "delivery_loss_frac": 0.0,
    }
    for name in ("essential_ml", "river_loss_ml", "base_flow_ml", "lake_rain_mm"):
        valley[name] = [0.0] * 12
    valley["lake_evaporation_mm"] = [100.0] * 12
    valley["high_security"]["shares_ml"] = 0.0
    valley["general_security"] = {
        "shares_ml": 1000.0,
        "pattern": [1.0] + [0.0] * 11,  # nothing is used in May and June
        "others_keep_ml_per_share": 0.0,
    }
    valley["assessment"] |= {
        "years_ahead": 0,
        "assured_inflow": "fixed",
        "assured_fixed_ml_per_month": 0.0,
    }
    valley["accounts"] = {"carryover_loss_frac": 0.0, "loss_mode": "socialised"}
    valley["accounts"]["spill_rule"] = "none"
    del valley["access"]
    plan["opening"] |= {
        "storage_ml": 800.0,
        "account_ml_per_share": 0.5,
        "carried_ml_per_share": 0.2,
        "high_security_used_ml": 0.0,
        "announced_to_date_ml_per_share": 0.0,
    }
    return plan


def by_model(
    plan: dict[str, Any],
    record: list[dict[str, Any]],
    rows: list[int],
    opening_month: str,
    flow_factor: float = 1.0,
) -> list[dict[str, Any]]:
    """Run the model on what the twin is given; return its ledger in the twin's form."""
    raw = deepcopy(plan)
    raw["opening"]["month"] = opening_month
    columns = {
        name: np.array([row[name] for row in record]) for name in record[0] if name != "month"
    }
    observed = Record(
        "worked",
        "",
        parse_month(record[0]["month"]),
        columns.pop("inflow_ml"),
        columns,
        {},
        {},
    )
    case = Case(raw, observed, np.array([rows]))
    found = ledger(
        case.opening, case.forcing(flow_factor=flow_factor), case.rules, case.first_month
    )
    months = months_from(case.first_month, len(rows))
    return [
        {"month": month} | {name: float(values[0, t]) for name, values in found.items()}
        for t, month in enumerate(months)
    ]


Run = Callable[..., list[dict[str, Any]]]
ENGINES: dict[str, Run] = {"twin": twin_run, "model": by_model}


@pytest.fixture(params=ENGINES.values(), ids=ENGINES)
def run(request: pytest.FixtureRequest) -> Run:
    """Return what runs a plan: the twin, and then the model."""
    engine: Run = request.param
    return engine


def one_june(run: Run, plan: dict[str, Any], inflow_ml: float, **columns: float) -> dict[str, Any]:
    """Return the ledger's row of a single June that meets this inflow."""
    return run(plan, [{"month": "2020-06", "inflow_ml": inflow_ml, **columns}], [0], "2020-06")[0]


def test_month_when_optional_columns_are_missing_then_calendar_serves(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """Evaporation comes from the plan: 100 mm from 80 ha is 80 ML, and the tributary is dry."""
    row = one_june(run, one_month_plan(plan), 10.0)
    assert row["net_evaporation_ml"] == pytest.approx(80.0)
    assert row["tributary_ml"] == 0.0
    assert row["storage_end_ml"] == pytest.approx(730.0)


def test_month_when_columns_are_recorded_then_they_replace_the_calendar(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """Rain of 150 mm on a month of 50 mm evaporation puts 80 ML into the dam."""
    row = one_june(run, one_month_plan(plan), 0.0, lake_rain_mm=150.0, lake_evaporation_mm=50.0)
    assert row["net_evaporation_ml"] == pytest.approx(-80.0)


def test_assessment_when_no_limits_are_given_then_all_free_water_is_announced(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """800 ML less June's reserve of 40 ML and accounts of 500 ML leaves 0.26 ML per share."""
    row = one_june(run, one_month_plan(plan), 0.0)
    assert row["committed_ml"] == pytest.approx(100.0 * (80.0 + 0.0) / 2.0 * 0.01 + 500.0)
    assert row["announced_ml_per_share"] == pytest.approx(0.26)
    assert row["credited_ml_per_share"] == pytest.approx(0.26)


def test_assessment_when_only_account_limit_is_given_then_it_caps_the_year(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """With 0.6 announced and a limit of 0.7, no more than 0.1 is announced."""
    plan = one_month_plan(plan)
    plan["valley"]["accounts"]["account_limit_ml_per_share"] = 0.7
    plan["opening"]["announced_to_date_ml_per_share"] = 0.6
    row = one_june(run, plan, 0.0)
    assert row["announced_ml_per_share"] == pytest.approx(0.1)
    assert row["announced_to_date_ml_per_share"] == pytest.approx(0.7)


def test_assessment_when_account_is_nearly_full_then_credit_is_less_than_announced(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """An account of 0.5 under a limit of 0.6 takes 0.1 of the 0.26 announced."""
    plan = one_month_plan(plan)
    plan["valley"]["accounts"]["account_limit_ml_per_share"] = 0.6
    row = one_june(run, plan, 0.0)
    assert row["announced_ml_per_share"] == pytest.approx(0.26)
    assert row["credited_ml_per_share"] == pytest.approx(0.1)


def test_assessment_when_there_is_no_high_security_then_allocation_is_full(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """No shares to serve counts as served, with nothing delivered and nothing set aside."""
    row = one_june(run, one_month_plan(plan), 0.0)
    assert row["high_security_allocation_frac"] == 1.0
    assert row["high_security_ml"] == 0.0


@pytest.mark.parametrize(
    ("spill_rule", "account_ml_per_share"),
    [
        ("none", 0.76),
        ("proportional", 0.76 * 0.9),
        ("reset", 0.3),
        ("carried_first", 0.76 - 0.1),
    ],
)
def test_spill_when_rule_is_named_then_account_loses_by_that_rule(
    run: Run, plan: dict[str, Any], spill_rule: str, account_ml_per_share: float
) -> None:
    """A spill of 100 ML, a tenth of the dam, meets an account of 0.76 with 0.2 carried."""
    plan = one_month_plan(plan)
    plan["valley"]["accounts"]["spill_rule"] = spill_rule
    if spill_rule == "reset":
        plan["valley"]["accounts"]["reset_ml_per_share"] = 0.3
    row = one_june(run, plan, 380.0)
    assert row["spill_ml"] == pytest.approx(100.0)
    assert row["uncontrolled_ml"] == pytest.approx(100.0)
    assert row["account_ml_per_share"] == pytest.approx(account_ml_per_share)
    assert row["account_loss_ml_per_share"] == pytest.approx(0.76 - account_ml_per_share)


def test_spill_when_it_exceeds_the_carried_water_then_no_more_than_that_is_lost(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """A spill of 500 ML takes the 0.2 carried over and leaves this year's water alone."""
    plan = one_month_plan(plan)
    plan["valley"]["accounts"]["spill_rule"] = "carried_first"
    assert one_june(run, plan, 780.0)["account_loss_ml_per_share"] == pytest.approx(0.2)


def test_evaporation_when_shared_by_balance_then_account_shrinks_like_the_dam(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """80 ML from 800 ML is a tenth of the account of 0.76."""
    plan = one_month_plan(plan)
    plan["valley"]["accounts"]["loss_mode"] = "by_balance"
    assert one_june(run, plan, 0.0)["account_loss_ml_per_share"] == pytest.approx(0.076)


def test_evaporation_when_dam_is_empty_then_account_loses_nothing(
    run: Run, plan: dict[str, Any]
) -> None:
    """An empty dam cannot share its evaporation out."""
    plan = one_month_plan(plan)
    plan["valley"]["accounts"]["loss_mode"] = "by_balance"
    plan["opening"]["storage_ml"] = 0.0
    assert one_june(run, plan, 10.0)["account_loss_ml_per_share"] == 0.0


def test_access_when_dam_stands_at_the_trigger_then_part_is_frozen_until_it_rises(
    run: Run,
    plan: dict[str, Any],
) -> None:
    """The trigger itself restricts; a later month frees all once it opens above the trigger."""
    plan = one_month_plan(plan)
    plan["valley"]["access"] = {"restriction_trigger_frac": 0.8, "restriction_access_frac": 0.6}
    months = [
        {"month": f"2020-{m:02d}", "inflow_ml": inflow_ml}
        for m, inflow_ml in ((5, 180.0), (6, 0.0))
    ]
    may, june = run(plan, months, [0, 1], "2020-05")
    account_ml_per_share = 0.5 + may["credited_ml_per_share"]
    assert may["frozen_ml_per_share"] == pytest.approx(0.4 * account_ml_per_share)
    assert june["storage_start_ml"] > 800.0
    assert june["frozen_ml_per_share"] == 0.0


def test_assured_inflow_when_rule_is_worst_then_least_run_of_record_counts(
    plan: dict[str, Any],
) -> None:
    """Twelve months from July, three on record: the least sum serves, earlier cuts leave fewer."""
    plan["valley"]["assessment"] |= {"years_ahead": 0, "assured_inflow": "worst"}
    months = [
        {"month": f"{2000 + (i + 6) // 12}-{(i + 6) % 12 + 1:02d}", "inflow_ml": flow_ml}
        for i, flow_ml in enumerate([3.0] * 12 + [2.0] * 12 + [1.0] * 12)
    ]
    assert assured_inflow(plan, months, 0) == 12.0
    plan["valley"]["assessment"]["assured_before"] = "2003-07"
    assert assured_inflow(plan, months, 0) == 12.0
    plan["valley"]["assessment"]["assured_before"] = "2003-06"
    assert assured_inflow(plan, months, 0) == 24.0
    plan["valley"]["assessment"] |= {"assured_inflow": "percentile", "assured_percentile_frac": 0.5}
    assert assured_inflow(plan, months, 0) == 30.0


def test_assured_inflow_when_fixed_then_grows_with_the_horizon(plan: dict[str, Any]) -> None:
    """From May to the end of next water year are 14 months."""
    plan["valley"]["assessment"] |= {"assured_inflow": "fixed", "assured_fixed_ml_per_month": 500.0}
    assert assured_inflow(plan, [], 10) == 7000.0


def test_quantile_when_between_two_values_then_interpolates() -> None:
    """Type 7 puts the quarter of five values on the second and splits the steps between."""
    values = [1.0, 2.0, 4.0, 8.0, 16.0]
    assert quantile_type_7(values, 0.25) == 2.0
    assert quantile_type_7(values, 0.375) == 3.0
    assert quantile_type_7(values, 1.0) == 16.0


def test_run_when_flow_is_scaled_then_assured_inflow_stays(
    run: Run, record: list[dict[str, Any]]
) -> None:
    """A flow factor halves what the run meets and nothing that the rules count on."""
    plan = read_plan("")
    rows = list(range(62, 62 + 34))
    plain = run(plan, record, rows, FIRST)
    halved = run(plan, record, rows, FIRST, flow_factor=0.5)
    for whole, half in zip(plain, halved, strict=True):
        assert half["inflow_ml"] == 0.5 * whole["inflow_ml"]
        assert half["tributary_ml"] == 0.5 * whole["tributary_ml"]
        assert half["assured_inflow_ml"] == whole["assured_inflow_ml"]


def test_run_when_rows_repeat_then_each_month_meets_its_own_row(
    run: Run,
    record: list[dict[str, Any]],
) -> None:
    """Rows need not follow each other, and months are named from the run's own start."""
    ledger = run(read_plan(""), record, [2, 2, 0], "2025-05")
    assert [row["month"] for row in ledger] == ["2025-05", "2025-06", "2025-07"]
    assert [row["inflow_ml"] for row in ledger] == [record[i]["inflow_ml"] for i in (2, 2, 0)]


def test_run_when_it_opens_in_july_then_accounts_are_not_carried_again(
    run: Run,
    record: list[dict[str, Any]],
) -> None:
    """The opening state already stands on 1 July, so the year's announcements are kept."""
    plan = read_plan("_spillable")
    first = run(plan, record, [0], "2025-07")[0]
    assert first["announced_to_date_ml_per_share"] >= 0.03
    assert first["forfeited_ml_per_share"] == 0.0
    assert first["account_loss_ml_per_share"] == 0.0


def test_run_when_repeated_then_inputs_are_left_as_they_were(
    run: Run, record: list[dict[str, Any]]
) -> None:
    """The twin reads its plan and record and changes neither."""
    plan = read_plan("_dry")
    plan_before, record_before = deepcopy(plan), deepcopy(record[:40])
    ledger = run(plan, record[:600], list(range(40)), "1895-07")
    assert plan == plan_before
    assert record[:40] == record_before
    assert all(math.isfinite(value) for row in ledger for value in list(row.values())[1:])
