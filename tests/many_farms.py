"""Folders of farm plans, alike or varied, on the demonstration's valley, for tests and benchmarks.

The demonstration is invented; so is what is varied of it. What varies, and how far, is drawn from a
seed.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from copy import deepcopy
from functools import cache
from pathlib import Path
from shutil import copy
from typing import Any

import numpy as np
import tomlkit

from model.plan.shipped import demonstration_plan


@cache
def _demonstration() -> dict[str, Any]:
    return tomllib.loads(demonstration_plan().read_text(encoding="utf-8"))


def plan_tables(changes: Mapping[str, object] | None = None) -> dict[str, Any]:
    """Return the demonstration as nested tables, with some dotted keys changed."""
    raw = deepcopy(_demonstration())
    for dotted, value in (changes or {}).items():
        *tables, key = dotted.split(".")
        table: Any = raw
        for part in tables:
            table = table[int(part)] if isinstance(table, list) else table[part]
        table[key] = value
    return raw


def write_plan(folder: Path, name: str, changes: Mapping[str, object] | None = None) -> Path:
    """Write a plan, and the record beside it, into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    raw = plan_tables(changes)
    record = folder / raw["record"]
    if not record.exists():
        copy(demonstration_plan().parent / _demonstration()["record"], record)
    path = folder / f"{name}.toml"
    path.write_text(tomlkit.dumps(raw), encoding="utf-8")
    return path


def varied(rng: np.random.Generator) -> dict[str, object]:
    """Return what one farm has otherwise than the demonstration: size, soil, yields, money."""
    size, owes, at_bank = rng.uniform(0.3, 2.0), rng.uniform(0.3, 2.2), rng.uniform(-0.5, 1.5)
    prepared_ha = round(240.0 * size * rng.uniform(0.6, 1.0))
    return {
        "farm.developed_ha": round(500.0 * size),
        "farm.licence.general_security_shares_ml": float(round(3_000.0 * size)),
        "farm.licence.high_security_shares_ml": float(round(50.0 * size * rng.integers(0, 2))),
        "farm.storage.capacity_ml": float(round(800.0 * size)),
        "farm.crops.0.soil_capacity_mm": float(rng.choice([170.0, 185.0, 200.0, 215.0])),
        "farm.crops.0.layouts.0.full_yield_units_per_ha": float(rng.choice([10.0, 10.5, 11.0, 12])),
        "farm.crops.0.price_aud_per_unit": float(rng.choice([530.0, 550.0, 570.0])),
        "farm.money.bank_aud": float(round(600_000.0 * size * at_bank)),
        "farm.money.overdraft_limit_aud": float(round(1_000_000.0 * size)),
        "farm.money.overheads_aud_per_year": float(round(230_000.0 * size * rng.uniform(0.8, 1.2))),
        "farm.money.loans.0.balance_aud": float(round(1_200_000.0 * size * owes)),
        "farm.opening.prepared_ha": float(prepared_ha),
        "farm.opening.storage_ml": float(round(180.0 * size * rng.uniform(0.0, 1.0))),
        "farm.opening.crops.0.area_ha": float(round(140.0 * size)),
    }


def write_varied(folder: Path, farms: int, *, seed: int = 7, **settings: object) -> None:
    """Write so many varied plans on one valley."""
    rng = np.random.default_rng(seed)
    shared = {f"sequences.{name}": value for name, value in settings.items()}
    for number in range(farms):
        changes = varied(rng) | shared | {"farm.name": f"Farm {number + 1} (invented)"}
        write_plan(folder, f"farm_{number + 1:05d}", changes)
