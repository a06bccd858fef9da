"""Does the valley agree with its slow twin on any plan? `python -m tests.long.twin 10000`.

Plans, records and sequences are made up at random, every second plan with one to three of the
further rules. Every column of the ledger is held to the scalar twin's, to 1e-9 of the column. The
tests run some tens; ten thousand take about half an hour. The first that differs is made as small
as it can be, and printed.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.strategies import FURTHER_RULES, SEQUENCES, Case, cases
from tests.valley.test_properties import by_twin

PLANS = 10_000
REPORTED = 500
AGREES = 1e-9


def check(case: Case) -> None:
    """Hold every column of a case's ledgers to the twin's.

    Raises
    ------
    AssertionError
        A column is missing, or differs.
    """
    found = case.ledger()
    for at in range(SEQUENCES):
        expected = by_twin(case, at)
        assert list(found) == [name for name in expected[0] if name != "month"]
        for name, values in found.items():
            column = np.array([row[name] for row in expected], dtype=float)
            atol = AGREES * max(1.0, float(np.abs(column).max()))
            np.testing.assert_allclose(values[at], column, rtol=AGREES, atol=atol, err_msg=name)


def rules_in(case: Case) -> int:
    """Count the further rules of a case."""
    valley = case.raw["valley"]
    stated = (
        "capacity_sharing" in valley,
        "delivery_loss_fixed_ml" in valley,
        "block_release" in valley,
        bool((valley.get("access") or {}).get("stages")),
        "environment" in valley,
        "carryover_frac" in valley["high_security"],
        any(key.startswith("spill_lock") for key in valley["accounts"]),
    )
    assert len(stated) == len(FURTHER_RULES)
    return sum(stated)


def compare(plans: int, number: int, told: Callable[[str], object]) -> int:
    """Compare as many plans as are asked for; return how many had a further rule.

    Raises
    ------
    AssertionError
        A plan on which the two differ.
    """
    tried, further, began = 0, 0, time.monotonic()

    @seed(number)
    @settings(
        max_examples=plans,
        derandomize=False,
        deadline=None,
        database=None,
        phases=(Phase.generate, Phase.shrink),
        suppress_health_check=list(HealthCheck),
    )
    @given(st.booleans().flatmap(lambda on: cases(further=on)))
    def look(case: Case) -> None:
        nonlocal tried, further
        check(case)
        tried, further = tried + 1, further + (rules_in(case) > 0)
        if tried % REPORTED == 0:
            took = time.monotonic() - began
            told(f"{tried} plans agree, {further} of them with further rules, {took:.0f} s\n")

    look()
    told(f"{tried} plans agree with the twin to {AGREES:g}, {further} with further rules\n")
    return further


def main() -> int:
    """Compare; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("plans", nargs="?", type=int, default=PLANS)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()

    def told(words: str) -> None:
        sys.stdout.write(words)
        sys.stdout.flush()

    compare(options.plans, options.seed, told)
    return 0


if __name__ == "__main__":
    sys.exit(main())
