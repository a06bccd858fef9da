"""What do the further rules of a valley cost? `python -m tests.benchmarks.further_rules`.

Prints ns a sequence-month of the valley on the contract's dam: without a further rule, with each
contract plan's own, with all that go together, and with capacity sharing and what goes with it. All
take turns, and the processor's time is taken, so that each sees the same machine. Goal: all of
them within twice the valley without any.
"""

from __future__ import annotations

import sys
import time
import tomllib
from pathlib import Path
from typing import Any, Final

import numpy as np

from model.plan.text import check_plan
from model.record.record import Record, read_record
from model.valley.rules import Rules, rules_of
from model.valley.run import run
from model.valley.state import Forcing, State, forcing_of, opening_state
from model.water_year import month_of_water_year, parse_month

CONTRACT: Final = Path(__file__).parents[1] / "reference" / "contract"
SEQUENCES, MONTHS, TURNS = 10_000, 34, 25
GOAL: Final = 2.0
NONE, ALL, SHARED = "none", "all that go together", "capacity sharing and what goes with it"

RawPlan = dict[str, Any]


def raw_plan(name: str) -> RawPlan:
    """Return a plan of the contract as its file has it."""
    return tomllib.loads((CONTRACT / f"plan{name}.toml").read_text(encoding="utf-8"))


def without_rules() -> RawPlan:
    """Return the dam of the plan of stages, under a single trigger."""
    raw = raw_plan("_stages")
    raw["valley"]["access"] = raw_plan("_carry")["valley"]["access"]
    return raw


def with_losses_and_allowance(raw: RawPlan) -> RawPlan:
    """Return a plan with fixed loss, block releases, an allowance and carried high security."""
    delivery, environment = raw_plan("_delivery")["valley"], raw_plan("_environment")
    raw["valley"] |= {key: delivery[key] for key in ("delivery_loss_fixed_ml", "block_release")} | {
        "environment": dict(environment["valley"]["environment"])
    }
    raw["valley"]["high_security"]["carryover_frac"] = 0.8
    raw["opening"] |= {"environment_ml": 3_000.0, "high_security_carried_ml": 1_200.0}
    return raw


def all_together() -> RawPlan:
    """Return a plan with every rule but capacity sharing."""
    raw = with_losses_and_allowance(raw_plan("_stages"))
    raw["valley"]["accounts"] |= {"spill_lock_below_frac": 0.4, "spill_lock_until_month": 12}
    return raw


def shared() -> RawPlan:
    """Return a plan with capacity sharing, stages, fixed loss, blocks, allowance and carry."""
    raw = with_losses_and_allowance(raw_plan("_capacity"))
    raw["valley"]["access"] = raw_plan("_stages")["valley"]["access"]
    raw["valley"]["environment"].pop("credit_frac", None)
    return raw


def plans() -> dict[str, RawPlan]:
    """Return what is timed, by name."""
    own = ("_capacity", "_delivery", "_stages", "_environment", "_carry")
    each = {name.removeprefix("_"): raw_plan(name) for name in own}
    return {NONE: without_rules(), **each, ALL: all_together(), SHARED: shared()}


Ready = tuple[State, Forcing, Rules, int]


def prepared(raw: RawPlan, record: Record) -> Ready:
    """Return all that a run needs, on sequences of observed years in any order."""
    plan = check_plan(raw, "plan")
    first = parse_month(plan.opening.month)
    starts = np.random.default_rng(20_251_001).integers(0, 100, (SEQUENCES, MONTHS // 12 + 1, 1))
    at = (month_of_water_year(first) - month_of_water_year(record.first_month)) % 12
    rows = (12 * starts + np.arange(12)).reshape(SEQUENCES, -1)[:, :MONTHS] + at
    forcing = forcing_of(rows, record, plan.valley)
    return opening_state(plan.opening, SEQUENCES), forcing, rules_of(plan.valley, record), first


def seconds(ready: Ready) -> float:
    """Return the processor's time of one run through the months, s."""
    began = time.process_time()
    for _ in run(*ready):
        pass
    return time.process_time() - began


def measure(turns: int = TURNS) -> dict[str, float]:
    """Return the best ns a sequence-month of each plan."""
    record = read_record(CONTRACT / "record.csv")
    ready = {name: prepared(raw, record) for name, raw in plans().items()}
    found: dict[str, list[float]] = {name: [] for name in ready}
    for _ in range(turns):
        for name, each in ready.items():
            found[name].append(seconds(each))
    return {name: 1e9 * min(took) / (SEQUENCES * MONTHS) for name, took in found.items()}


def main() -> int:
    """Measure and print; return the exit status: 1 where all together pass the goal."""
    found = measure()
    for name, ns in found.items():
        sys.stdout.write(f"{name:40} {ns:6.1f} ns a sequence-month, {ns / found[NONE]:.2f} times\n")
    worst = max(found[ALL], found[SHARED]) / found[NONE]
    sys.stdout.write(f"all of them: {worst:.2f} times (goal {GOAL:g})\n")
    return int(worst > GOAL)


if __name__ == "__main__":
    sys.exit(main())
