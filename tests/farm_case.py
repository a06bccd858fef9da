"""The example farm on the contract valley, for tests: whole, and with parts changed.

Farm: tests/reference/farm_example.toml, invented. Valley and record: tests/reference/contract,
invented. Farm rain and ETo by month are the invented averages of the demonstration.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from model.decide.strategy import strategies_of
from model.farm.run import FarmMonth, run_farm
from model.farm.setting import FarmSetting, decision_seasons, farm_setting_of, farm_setting_on
from model.farm.state import FarmState, opening_farm
from model.farm.training import Training
from model.outlook.setting import setting_of
from model.plan.plan import Plan
from model.plan.text import check_plan
from model.record.record import Record, read_record
from model.sequences.slices import IntArray

REFERENCE = Path(__file__).parent / "reference"
CONTRACT = REFERENCE / "contract"

FARM_RAIN_MM = [43, 38, 39, 50, 58, 62, 78, 65, 55, 38, 43, 45]
FARM_ETO_MM = [58.9, 86.8, 123.0, 167.4, 195.0, 220.1, 220.1, 176.4, 158.1, 108.0, 71.3, 51.0]

REMOVED = object()
"""As a changed value: take the key out."""


@cache
def contract_record() -> Record:
    """Return the contract's record."""
    return read_record(CONTRACT / "record.csv")


@cache
def _raw_plan(name: str) -> dict[str, Any]:
    raw = tomllib.loads((CONTRACT / f"{name}.toml").read_text(encoding="utf-8"))
    raw["valley"] |= {"farm_rain_mm": FARM_RAIN_MM, "farm_eto_mm": FARM_ETO_MM}
    raw["sequences"] = {"method": "blocks", "seasons": 3, "count": 200, "seed": 7}
    return raw | tomllib.loads((REFERENCE / "farm_example.toml").read_text(encoding="utf-8"))


def raw_plan(changes: Mapping[str, Any] | None = None, name: str = "plan") -> dict[str, Any]:
    """Return the plan as nested tables, with some dotted keys changed."""
    raw = deepcopy(_raw_plan(name))
    for dotted, value in (changes or {}).items():
        *tables, key = dotted.split(".")
        table: Any = raw
        for part in tables:
            table = table[int(part)] if isinstance(table, list) else table.setdefault(part, {})
        if value is REMOVED:
            table.pop(key, None)
        else:
            table[key] = value
    return raw


def farm_plan(changes: Mapping[str, Any] | None = None, name: str = "plan") -> Plan:
    """Return the checked plan, with some dotted keys changed."""
    return check_plan(raw_plan(changes, name), "plan.toml")


def farm_case(changes: Mapping[str, Any] | None = None, name: str = "plan") -> FarmSetting:
    """Prepare the example farm, with some dotted keys changed."""
    plan = farm_plan(changes, name)
    return farm_setting_of(plan, contract_record(), strategies_of(plan))


def farm_case_on(training: Training, changes: Mapping[str, Any] | None = None) -> FarmSetting:
    """Prepare the example farm with parts of it changed, on a valley run through its training.

    For changes of the farm, its opening and its strategies: the valley must be the same.
    """
    plan = farm_plan(changes)
    setting = setting_of(plan, contract_record(), training.valley.method, decision_seasons(plan))
    return farm_setting_on(setting, training, strategies_of(plan))


def rows_of_plan(setting: FarmSetting) -> IntArray:
    """Draw the plan's sequences, (sequence, month) rows of the record."""
    return np.concatenate([sequences.rows for sequences in setting.valley.batches()])


def farm_months(
    setting: FarmSetting, rows: IntArray | None = None
) -> tuple[FarmState, list[FarmMonth]]:
    """Run the farm month by month; give its opening and every month."""
    river = setting.river(rows_of_plan(setting) if rows is None else rows)
    opening = opening_farm(
        setting.farm.opening,
        setting.valley.plan.opening,
        setting.rules,
        setting.settings.count,
        river[0].storage_frac.size,
    )
    months = run_farm(opening, setting.settings, river, setting.expectation, setting.rules)
    return opening, list(months)
