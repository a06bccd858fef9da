"""What do odds that know the present earn over playing every past year in turn, nested and not?

On the demonstration in July, September and October; on the natural flow record at Lees Ferry in
October behind invented dams of 1, 2 and 4 years of flow; and on records of shuffled years, where
nothing can be earned. Reported, not tuned. A long run, apart from the tests:

    python -m tests.benchmarks.odds_earned [--shuffled 60]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from model.evidence.choosers import choosers_of
from model.evidence.hindcast import Hindcast, hindcast
from model.evidence.judge import recommended_of
from model.evidence.recommend import CANDIDATES, SEASONS_COUNTED, Recommendation
from model.plan.demonstration import demonstration
from model.plan.plan import Plan
from model.record.record import Record, read_record
from tests.benchmarks.lees_ferry_evidence import RECORD, YEARS_OF_FLOW, plan_of

SHUFFLED = 60
DRAWS_SHUFFLED = 200


def tried(plan: Plan, record: Record, draws_each: int = 500) -> Hindcast:
    """Try the candidates on every stand."""
    return hindcast(
        plan, record, choosers=choosers_of(plan.sequences, CANDIDATES), draws_each=draws_each
    )


def gain_of(found: Recommendation, method: str = "present") -> float:
    """Return what a method earns over `historical`, in the mean of seasons 1 and 2."""
    return found.error_frac["historical"] - found.error_frac[method]


def opened(plan: Plan, month: str) -> Plan:
    """Stand in another month."""
    return plan.model_copy(update={"opening": plan.opening.model_copy(update={"month": month})})


def cases() -> Iterator[tuple[str, Plan, Record]]:
    """Yield the plans and records that are looked at."""
    plan, record = demonstration()
    for month in ("2025-07", "2025-09", "2025-10"):
        yield f"demonstration {month}", opened(plan, month), record
    river = read_record(RECORD)
    mean_ml = float(river.water_year_totals_ml()[1].mean())
    for years in YEARS_OF_FLOW:
        yield (
            f"Lees Ferry 2020-10, {years} years",
            opened(plan_of(mean_ml, years), "2020-10"),
            river,
        )


def nested_gain_of(found: Recommendation) -> float:
    """Return what choosing earned over every start in turn, mean of the seasons counted."""
    return float(np.mean([gain.value for gain in found.nested_gain[:SEASONS_COUNTED]]))


def none_said(tried_on: Hindcast, method: str) -> tuple[int, float, float]:
    """Return how often nothing more came in season 1, how often that was said, and the Brier."""
    came = tried_on.came(0)
    happened = tried_on.happened["none"][came, 0]
    cases_of = next(each for each in tried_on.methods if each.method == method)
    said = cases_of.chance["none"][came, 0]
    return int(happened.sum()), float(said.sum()), float(((said - happened) ** 2).mean())


def shuffled(plan: Plan, record: Record, seed: int) -> tuple[Plan, Record]:
    """Shuffle the years of a record that begin in the plan's opening month; open it in July."""
    rng = np.random.default_rng(seed)
    plan = opened(plan, "2025-07")
    starts = record.slice_starts(2025 * 12 + 6)
    years = record.inflow_ml[starts[:, None] + np.arange(12)]
    order = rng.permutation(len(years))
    inflow_ml = record.inflow_ml.copy()
    inflow_ml[starts[:, None] + np.arange(12)] = years[order]
    return plan.with_drawing(seed=seed), replace(record, inflow_ml=inflow_ml)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shuffled", type=int, default=SHUFFLED)
    options = parser.parse_args()
    print("case: recommended; gain of present, nested gain; nothing came / said (Brier)")
    for name, plan, record in cases():
        began = time.process_time()
        tried_on = tried(plan, record)
        found = recommended_of(tried_on)
        parts = []
        for method in CANDIDATES:
            happened, said, brier = none_said(tried_on, method)
            parts.append(f"{method} {said:.1f} of {happened} ({brier:.4f})")
        print(
            f"{name}: {found.method}; {gain_of(found):+.3f}, nested {nested_gain_of(found):+.3f}; "
            f"{', '.join(parts)}; {time.process_time() - began:.0f} s",
            flush=True,
        )
    plan, record = demonstration()
    chosen, nested = [], []
    for seed in range(options.shuffled):
        found = recommended_of(tried(*shuffled(plan, record, seed), draws_each=DRAWS_SHUFFLED))
        chosen.append(found.method)
        nested.append(nested_gain_of(found))
    if nested:
        print(
            f"{len(nested)} records of shuffled years: present chosen {chosen.count('present')} "
            f"times, nested gain {np.mean(nested):+.4f} (error "
            f"{np.std(nested) / len(nested) ** 0.5:.4f})"
        )


if __name__ == "__main__":
    main()
