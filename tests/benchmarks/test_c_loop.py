"""Whether the compiled loop works the same valley as the scalar twin.

Both are compared season by season on drawn sequences, under the reference plans and under variants
that reach every rule. A machine without gcc fails here rather than passing by unseen.
"""

from __future__ import annotations

import csv
import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.benchmarks.c_loop import MONTHS, SEASON_FIELDS, CLoop, compile_loop, slices
from tests.valley_twin import month_after, run

Plan = dict[str, Any]

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
PLANS = ("", "_spillable", "_dry", "_keep")
SEQUENCES = 12
RELATIVE = 1e-9
NEAR_ZERO = 1e-9  # [ML or ML per share] where large numbers cancel to nothing


def _accounts(**settings: Any) -> Callable[[Plan], None]:
    """Change of the account rules."""
    return lambda plan: plan["valley"]["accounts"].update(settings)


def _assessment(**settings: Any) -> Callable[[Plan], None]:
    """Change of the assessment rules."""
    return lambda plan: plan["valley"]["assessment"].update(settings)


def _without_limits(plan: Plan) -> None:
    """Leave out every limit."""
    accounts = plan["valley"]["accounts"]
    for name in [name for name in accounts if "limit" in name or "cap" in name]:
        del accounts[name]


def _without_high_security(plan: Plan) -> None:
    """Return the valley no high-security shares."""
    plan["valley"]["high_security"]["shares_ml"] = 0.0
    plan["opening"]["high_security_used_ml"] = 0.0


def _with_late_rest(plan: Plan) -> None:
    """Order nothing after January, so that the pattern's rest is 0."""
    plan["valley"]["general_security"]["pattern"] = [0.0, 0.0, 0.1, 0.2, 0.3, 0.3, 0.1] + [0.0] * 5


VARIANTS: dict[str, Callable[[Plan], None]] = {
    "as_given": lambda plan: None,
    "proportional": _accounts(spill_rule="proportional", loss_mode="socialised"),
    "reset": _accounts(spill_rule="reset", reset_ml_per_share=0.3),
    "carried_first": _accounts(spill_rule="carried_first", loss_mode="by_balance"),
    "no_spill_rule": _accounts(spill_rule="none"),
    "no_limits": _without_limits,
    "no_access": lambda plan: plan["valley"].pop("access"),
    "no_high_security": _without_high_security,
    "late_rest": _with_late_rest,
    "fixed": _assessment(assured_inflow="fixed", assured_fixed_ml_per_month=1500.0),
    "percentile": _assessment(assured_inflow="percentile", assured_percentile_frac=0.1),
    "two_years_ahead": _assessment(years_ahead=2, assured_before="1990-03"),
}


def _plan(name: str) -> Plan:
    """Read a plan of the contract."""
    return tomllib.loads((CONTRACT / f"plan{name}.toml").read_text(encoding="utf-8"))


def _table(name: str) -> list[dict[str, Any]]:
    """Read a table of the contract, every column but the month as numbers."""
    with (CONTRACT / name).open(newline="", encoding="utf-8") as file:
        return [
            {column: text if column == "month" else float(text) for column, text in row.items()}
            for row in csv.DictReader(file)
        ]


@pytest.fixture(scope="module")
def record() -> list[dict[str, Any]]:
    """Record of the contract."""
    return _table("record.csv")


def _seasons(ledger: list[dict[str, Any]]) -> dict[str, list[float]]:
    """Season results of a ledger, named as the compiled loop names them."""
    results: dict[str, list[float]] = {name: [] for name in SEASON_FIELDS}
    credited_ml_per_share = 0.0
    for i, row in enumerate(ledger):
        credited_ml_per_share += row["credited_ml_per_share"]
        if row["month"].endswith("-06") or i == len(ledger) - 1:
            for name in SEASON_FIELDS:
                results[name].append(row[name])
            results["credited_ml_per_share"][-1] = credited_ml_per_share
            credited_ml_per_share = 0.0
    return results


def _assert_twin_agrees(plan: Plan, record: list[dict[str, Any]], k0: int, months: int) -> None:
    """Compare both on the same drawn sequences, season by season."""
    rows = slices(len(record), k0, months, SEQUENCES, seed=7)
    compiled = CLoop(plan, record).run(rows, k0)
    first_month = month_after("2025-07", k0)
    for i in range(SEQUENCES):
        expected = _seasons(run(plan, record, rows[i].tolist(), first_month))
        for name in SEASON_FIELDS:
            np.testing.assert_allclose(
                compiled[name][i], expected[name], rtol=RELATIVE, atol=NEAR_ZERO, err_msg=name
            )


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("variant", VARIANTS)
def test_loop_when_sequences_are_drawn_then_twin_agrees(
    name: str, variant: str, record: list[dict[str, Any]]
) -> None:
    """Three seasons from September come out the same under every rule."""
    plan = _plan(name)
    VARIANTS[variant](plan)
    _assert_twin_agrees(plan, record, k0=2, months=34)


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize(("k0", "months"), [(0, 36), (11, 25), (0, 1), (5, 20)])
def test_loop_when_run_opens_in_another_month_then_twin_agrees(
    name: str, k0: int, months: int, record: list[dict[str, Any]]
) -> None:
    """Runs may open on 1 July, in June, or end before a season does."""
    _assert_twin_agrees(_plan(name), record, k0, months)


@pytest.mark.parametrize("name", PLANS)
def test_loop_when_optional_columns_are_missing_then_twin_agrees(
    name: str, record: list[dict[str, Any]]
) -> None:
    """Flow alone is enough: the plan's calendar gives the tributary, rain and evaporation."""
    plan = _plan(name)
    plan["valley"]["tributary_ml"] = [100.0 * i for i in range(MONTHS)]
    flow_alone = [{"month": row["month"], "inflow_ml": row["inflow_ml"]} for row in record]
    _assert_twin_agrees(plan, flow_alone, k0=2, months=34)


@pytest.mark.parametrize("name", PLANS)
def test_loop_when_it_replays_the_record_then_reference_ledger_agrees(
    name: str, record: list[dict[str, Any]]
) -> None:
    """The whole replay, as one sequence of 124 seasons, ends each June on the reference numbers."""
    ledger = _table(f"ledger{name}.csv")
    first = [row["month"] for row in record].index(ledger[0]["month"])
    rows = np.arange(first, first + len(ledger), dtype=np.int32)[np.newaxis]
    compiled = CLoop(_plan(name), record).run(rows, k0=2)
    expected = _seasons(ledger)
    for field in SEASON_FIELDS:
        assert compiled[field].shape == (1, 124)
        np.testing.assert_allclose(
            compiled[field][0], expected[field], rtol=RELATIVE, atol=NEAR_ZERO, err_msg=field
        )


@pytest.mark.parametrize(
    ("rows", "k0"), [([[0, 1560]], 0), ([[-1, 0]], 0), ([0, 1], 0), ([[0, 1]], 12)]
)
def test_loop_when_rows_or_month_are_out_of_range_then_refuses(
    rows: list[Any], k0: int, record: list[dict[str, Any]]
) -> None:
    """The compiled loop checks nothing itself, so a wrong row number never reaches it."""
    with pytest.raises(ValueError, match="must"):
        CLoop(_plan(""), record).run(np.array(rows, dtype=np.int32), k0)


def test_loop_when_gcc_is_missing_then_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a compiler nothing is skipped: the message names what to install."""
    monkeypatch.setattr(shutil, "which", lambda command: None)
    with pytest.raises(RuntimeError, match="gcc is not on the path"):
        compile_loop()
