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


CREDIT = """
[farm.credit]
asked_by = "Reedmace, two partners"
purpose = "#panic() a longer *overdraft* <b>limit</b>, =1+1"
amount_aud = 250_000.0
term_years = 3
value_fall_frac = 0.25

[[farm.credit.securities]]
asset = "=Home block, 520 ha"
value_aud = 3_900_000.0
basis = "market appraisal"
valued_on = "2024-03-12"

[[farm.credit.securities]]
asset = "Licence, 3,000 shares"
value_aud = 3_300_000.0

[[farm.credit.covenants]]
measure = "debt_cover_over_the_run"
level = 1.25
words = "@SUM(A1) $x^2$ not less than one and a quarter"

[[farm.credit.covenants]]
measure = "loan_to_value"
level = 0.28

[[farm.credit.covenants]]
measure = "interest_cover"
level = 2.0
"""


def credit_plan(count: int = 300) -> Plan:
    """Return the plan with a request, securities and covenants, some of it like markup."""
    return parse_plan((farm_plan_text(count) + CREDIT).encode(), "plan")
