"""How is a frontier drawn on its usual grid, and written down?"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from model.decide.frontier import Frontier, Point, frontier
from model.errors import Fault, InputError
from model.farm.setting import FarmSetting
from model.files import defused
from model.outlook.setting import Progress
from model.plan.strategy import Strategy

SEQUENCES: Final = 2_000
AREAS: Final = 16
HOLDS: Final = 6
HOLD_ABOVE_ML_PER_SHARE: Final = (0.0, 0.2, 0.4, 0.6)
"""With no hold at all, 400 ways."""

MOST_HELD_ML_PER_SHARE: Final = 1.0
"""As far as holding back is tried where the account has no limit below it."""

COLUMNS: Final[dict[str, Callable[[Point], object]]] = {
    "hold_back_ml_per_share": lambda p: p.hold_back_ml_per_share,
    "hold_above_ml_per_share": lambda p: p.hold_above_ml_per_share,
    "most_area_ha": lambda p: p.most_area_ha,
    "expected_chance_frac": lambda p: p.expected_chance_frac,
    "mean_aud": lambda p: p.mean_aud,
    "mean_error_aud": lambda p: p.mean_error_aud,
    "worst_tenth_aud": lambda p: p.worst_tenth_aud,
    "worst_tenth_error_aud": lambda p: p.worst_tenth_error_aud,
    "payment_missed_frac": lambda p: p.payment_missed.value,
    "payment_missed_low_frac": lambda p: p.payment_missed.draws_low,
    "payment_missed_high_frac": lambda p: p.payment_missed.draws_high,
    "dominated": lambda p: int(p.dominated),
}


def usual_frontier(setting: FarmSetting, name: str, progress: Progress | None = None) -> Frontier:
    """Draw the frontier of a strategy, named, over hold-back, hold-above and area.

    Raises
    ------
    InputError
        There is no strategy of that name.
    """
    base = named_strategy(setting.strategies, name)
    limit = setting.rules.water.account_limit_ml_per_share
    most_held = MOST_HELD_ML_PER_SHARE if math.isinf(limit) else min(limit, MOST_HELD_ML_PER_SHARE)
    land_ha = setting.rules.crop.land_limit_ha
    return frontier(
        setting,
        setting.river(setting.valley.first_sequences(SEQUENCES)),
        base,
        hold_back_ml_per_share=np.linspace(0.0, most_held, 1 + HOLDS).tolist(),
        hold_above_ml_per_share=HOLD_ABOVE_ML_PER_SHARE,
        most_area_ha=np.linspace(land_ha / AREAS, land_ha, AREAS).tolist(),
        progress=progress,
    )


def named_strategy(strategies: Sequence[Strategy], name: str) -> Strategy:
    """Find a strategy by its name.

    Raises
    ------
    InputError
        There is no strategy of that name.
    """
    by_name = {strategy.name: strategy for strategy in strategies}
    if name not in by_name:
        fault = Fault("--frontier", name, "there is no such strategy", ", ".join(by_name))
        raise InputError("command line", [fault])
    return by_name[name]


def frontier_csv(found: Frontier) -> str:
    """Return one row a point as CSV text."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["strategy", *COLUMNS])
    for point in found.points:
        writer.writerow(
            [defused(found.strategy), *(value_of(point) for value_of in COLUMNS.values())]
        )
    return text.getvalue()
