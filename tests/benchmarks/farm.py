"""What does the farm cost beside its valley? `python -m tests.benchmarks.farm`.

Processor time on one core, best of some turns, of the demonstration drawn by `blocks`, as it was in
version 0.1: its first three strategies compared on 10,000 sequences, with the records resampled;
all that was gathered laid out; and one area at 5,000. The plain C loop of the valley takes turns
with them on the same sequences, so that a ratio to it says the same on a fast machine and a slow
one, a busy one and an idle one.
"""

from __future__ import annotations

import time
import tomllib
from collections.abc import Callable

import numpy as np

from model.decide.compare import compare_drawn
from model.decide.one_area import outcome_of_area
from model.decide.rivers import rivers_of
from model.decide.strategy import strategies_of
from model.farm.setting import FarmSetting, decision_seasons, farm_setting_of
from model.outlook.ahead import Drawn, draw_ahead
from model.outlook.setting import keep_dropped_memory
from model.plan.text import read_plan
from model.record.record import read_record
from model.water_year import month_of_water_year
from tests.benchmarks import __main__ as shared
from tests.benchmarks.c_loop import CLoop

COMPARED, AT_ONE_AREA, TURNS = 10_000, 5_000, 8
MIDDLE = 1
BEFORE, BEFORE_LAID_OUT = 22.8, 27.0
"""The comparison over the loop in version 0.1, of one crop in one row layout: measured on the same
machine in the same hour, in turns with this."""

GOAL = 1.3
AREA_GOAL_MS = 80.0


def main() -> None:
    """Measure and print."""
    keep_dropped_memory()  # as the command does
    plan = read_plan(shared.PLAN).with_drawing(method="blocks", count=COMPARED)
    record = read_record(shared.RECORD)
    strategies, seasons = strategies_of(plan)[:3], decision_seasons(plan)
    drawn = draw_ahead(plan, record, seasons)
    setting = farm_setting_of(plan, record, strategies, drawn.method)
    small = plan.with_drawing(count=AT_ONE_AREA)
    area = farm_setting_of(small, record, strategies)
    rivers = rivers_of(area)
    timed: dict[str, Callable[[], object]] = {
        "the plain C loop of the valley": _loop(setting),
        "drawing sequences": lambda: draw_ahead(plan, record, seasons),
        "preparing the farm, its prices and its curve of water": lambda: farm_setting_of(
            plan, record, strategies, drawn.method
        ),
        "the valley as a farm meets it": lambda: setting.river_of_legs(drawn.batches[0]),
        "valley and farm, gathered and compared": lambda: compare_drawn(setting, drawn),
        "the same, and all results laid out": lambda: _laid_out(setting, drawn),
        "one area": lambda: outcome_of_area(area, rivers, strategy=MIDDLE, area_ha=120.0),
    }
    best_s = dict.fromkeys(timed, np.inf)
    for _ in range(TURNS):
        for name, work in timed.items():
            best_s[name] = min(best_s[name], _processor_s(work))
    _print(best_s)


def _print(best_s: dict[str, float]) -> None:
    """Print where the time goes, the comparison over the loop, and one area."""
    loop_s, draw_s, prepare_s, valley_s, play_s, all_s, area_s = best_s.values()
    for name, seconds in best_s.items():
        print(f"{name}: {seconds * 1e3:.0f} ms, {seconds / loop_s:.1f} times the loop")
    valley = valley_s / loop_s
    print(f"compare, {COMPARED:,} sequences x 3 strategies, {valley:.1f} of it the valley:")
    for name, last_s, before in (
        ("compared", play_s, BEFORE),
        ("all results laid out", all_s, BEFORE_LAID_OUT),
    ):
        ratio = (draw_s + prepare_s + last_s) / loop_s
        beside = f"{ratio / before:.2f} of version 0.1 (goal {GOAL})"
        print(f"  {name}: {ratio:.1f} times the loop, {beside}")
    print(f"one area at {AT_ONE_AREA:,}: {area_s * 1e3:.0f} ms (goal {AREA_GOAL_MS:.0f})")


def _laid_out(setting: FarmSetting, drawn: Drawn) -> None:
    """Compare, and lay out every result of every season, as `outcomes.csv` wants them."""
    _, results, _ = compare_drawn(setting, drawn)
    for name in results.values:
        results[name]


def _loop(setting: FarmSetting) -> Callable[[], object]:
    """Return the C loop on the plan's sequences."""
    loop = CLoop(tomllib.loads(shared.PLAN.read_text()), shared.record_rows())
    rows = np.ascontiguousarray(next(iter(setting.valley.batches())).rows, dtype=np.int32)
    k0 = month_of_water_year(setting.valley.calendar.opening_month)
    return lambda: loop.run(rows, k0)


def _processor_s(work: Callable[[], object]) -> float:
    """Time a piece of work, s of this process on a processor."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


if __name__ == "__main__":
    main()
