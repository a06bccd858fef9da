"""The plan that tests of the brief run: the contract's valley with the example farm."""

from __future__ import annotations

from pathlib import Path

from model.plan.plan import Plan
from model.plan.text import parse_plan
from model.record.record import Record, read_record

REFERENCE = Path(__file__).parent / "reference"
WEATHER = """delivery_loss_frac = 0.20
farm_rain_mm = [43, 38, 39, 50, 58, 62, 78, 65, 55, 38, 43, 45]
farm_eto_mm = [60, 85, 125, 170, 200, 230, 235, 195, 165, 110, 75, 55]
"""


def farm_plan_text(count: int = 300) -> str:
    """Return the plan as TOML."""
    valley = (REFERENCE / "contract" / "plan.toml").read_text()
    farm = (REFERENCE / "farm_example.toml").read_text()
    valley = valley.replace("delivery_loss_frac = 0.20\n", WEATHER)
    valley = valley.replace('method = "historical"', 'method = "blocks"')
    valley = valley.replace("count = 5_000", f"count = {count}")
    assert "farm_eto_mm" in valley
    assert f"count = {count}" in valley
    return valley + farm


def farm_plan(count: int = 300) -> Plan:
    """Return the plan."""
    return parse_plan(farm_plan_text(count).encode(), "plan")


def contract_record() -> Record:
    """Return the record it runs on."""
    return read_record(REFERENCE / "contract" / "record.csv")
