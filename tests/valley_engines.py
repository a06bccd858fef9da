"""Two programs of one valley, asked alike: the model, and the slow scalar twin.

A case worked by hand is held to both; it would say little of the model if it ran over the twin
alone.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import numpy as np
import pytest

from model.plan.text import check_plan
from model.record.record import Record
from model.valley.rules import rules_of
from model.valley.state import forcing_of, opening_state
from model.water_year import format_month, parse_month
from tests import valley_twin
from tests.a_ledger import ledger

RawPlan = dict[str, Any]
Columns = dict[str, list[float]]
NONE = [0.0] * 12
CLAIMS = ("lake_evaporation_mm", "lake_rain_mm", "essential_ml", "river_loss_ml", "base_flow_ml")


def bare_plan() -> RawPlan:
    """A dam of 1,000 ML that loses nothing and sets nothing aside; general security of 1,000 ML.

    It opens in August with 500 ML. Nothing is announced, and all is used in June.
    """
    return deepcopy(
        {
            "title": "A bare dam",
            "record": "record.csv",
            "invented": True,
            "valley": {
                "name": "A bare valley",
                "capacity_ml": 1_000.0,
                "dead_storage_ml": 0.0,
                "surface_storage_ml": [0.0],
                "surface_area_ha": [0.0],
                **dict.fromkeys(
                    (
                        "lake_evaporation_mm",
                        "lake_rain_mm",
                        "essential_ml",
                        "river_loss_ml",
                        "base_flow_ml",
                    ),
                    NONE,
                ),
                "delivery_loss_frac": 0.0,
                "high_security": {"shares_ml": 0.0, "pattern": used_in(June=1.0)},
                "general_security": {"shares_ml": 1_000.0, "pattern": used_in(June=1.0)},
                "assessment": {
                    "years_ahead": 0,
                    "essential_reserve_months": 0,
                    "high_security_next_year_frac": 0.0,
                    "assured_inflow": "fixed",
                    "assured_fixed_ml_per_month": 0.0,
                },
                "accounts": {"allocation_cap_ml_per_share": 0.0},
            },
            "opening": {
                "month": "2000-08",
                "storage_ml": 500.0,
                "account_ml_per_share": 0.0,
                "announced_to_date_ml_per_share": 0.0,
                "used_this_year_ml_per_share": 0.0,
                "used_last_year_ml_per_share": 0.0,
                "used_year_before_ml_per_share": 0.0,
                "high_security_used_ml": 0.0,
                "high_security_allocation_frac": 0.0,
            },
        }
    )


def used_in(**shares: float) -> list[float]:
    """Twelve shares, July first, of months named by their first letters: `used_in(June=1.0)`."""
    names = "July August September October November December January February March April May June"
    return [shares.get(name, 0.0) for name in names.split()]


def by_model(raw: RawPlan, inflow_ml: list[float]) -> Columns:
    """Ledger of the months from the plan's opening, by the model."""
    plan, first = check_plan(raw, "by hand"), parse_month(raw["opening"]["month"])
    record = Record("by hand", "", first, np.array(inflow_ml, dtype=float), {}, {}, {})
    rows = np.arange(len(inflow_ml))[None]
    forcing = forcing_of(rows, record, plan.valley)
    rules = rules_of(plan.valley, record)
    kept = ledger(opening_state(plan.opening, 1), forcing, rules, first)
    return {name: values[0].tolist() for name, values in kept.items()}


def by_twin(raw: RawPlan, inflow_ml: list[float]) -> Columns:
    """The same by the scalar twin."""
    month = raw["opening"]["month"]
    first = parse_month(month)
    record = [{"month": format_month(first + t), "inflow_ml": ml} for t, ml in enumerate(inflow_ml)]
    rows = valley_twin.run(raw, record, list(range(len(inflow_ml))), month)
    return {name: [row[name] for row in rows] for name in rows[0] if name != "month"}


both_engines = pytest.mark.parametrize("engine", [by_model, by_twin])
"""Runs a test over the model and over the twin."""
