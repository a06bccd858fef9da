"""Is the farm as fast as a person at the screen needs?

Run by hand, on two cores that are otherwise idle: `pytest tests/benchmarks/test_farm_speed.py -s`.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest

from model.decide.frontier import frontier
from model.decide.last_megalitre import last_megalitre
from model.decide.strategy import MIDDLE
from model.farm.setting import FarmSetting
from tests.decide.test_last_megalitre import plain_rivers
from tests.farm_case import farm_case, rows_of_plan

FARM_LIMIT_S = 1.0  # 10,000 three-season sequences x farm x 3 strategies, warm
FRONTIER_LIMIT_S = 5.0  # 20 x 20 ways x 2,000 sequences
LAST_MEGALITRE_LIMIT_S = 1.0  # 2,000 sequences


@pytest.fixture(scope="module")
def setting() -> FarmSetting:
    """Return the example farm on 10,000 sequences of three seasons."""
    return farm_case({"sequences.count": 10_000, "opening.month": "2025-07"})


def best_of(times: int, run: Callable[[], object]) -> float:
    """Return the shortest of so many runs, after one that warms up [s]."""
    run()
    found = []
    for _ in range(times):
        started = time.perf_counter()
        run()
        found.append(time.perf_counter() - started)
    return min(found)


def test_farm_when_ten_thousand_sequences_run_then_below_a_second(setting: FarmSetting) -> None:
    """Valley and farm under three strategies, all results of every season gathered."""
    rows = rows_of_plan(setting)
    assert rows.shape == (10_000, 36)
    seconds = best_of(3, lambda: setting.results(setting.river(rows)))
    print(f"10,000 sequences x 3 strategies: {seconds:.2f} s")
    assert seconds < FARM_LIMIT_S


def test_frontier_when_twenty_by_twenty_then_below_five_seconds(setting: FarmSetting) -> None:
    """400 ways on 2,000 sequences, dominance included."""
    river = setting.river(rows_of_plan(setting)[:2_000])
    seconds = best_of(
        1,
        lambda: frontier(
            setting,
            river,
            MIDDLE,
            hold_back_ml_per_share=np.linspace(0.0, 0.8, 20).tolist(),
            most_area_ha=np.linspace(15.0, 300.0, 20).tolist(),
        ),
    )
    print(f"frontier of 20 x 20: {seconds:.2f} s")
    assert seconds < FRONTIER_LIMIT_S


def test_last_megalitre_when_two_thousand_sequences_then_below_a_second(
    setting: FarmSetting,
) -> None:
    """Four uses at six volumes."""
    rivers = plain_rivers(setting.river(rows_of_plan(setting)[:2_000]))
    seconds = best_of(
        2, lambda: last_megalitre(setting, rivers, strategy=1, area_ha=150.0, range_ml=600.0)
    )
    print(f"last megalitre: {seconds:.2f} s")
    assert seconds < LAST_MEGALITRE_LIMIT_S
