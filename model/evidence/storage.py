"""How far is the replay from the water that was measured in the dam?

A record may have the column `observed_storage_ml`: the dam at each month's end. The observed months
are replayed through the plan's rules from the first of them, the dam as it was then and the account
as the plan knows it; error is what the replay holds less what was measured. A dam that drifts away
says that rules, use or inflow are not those of the valley, whatever was announced.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.evidence.announced import opened_for_replay
from model.outlook.replay import replay_months
from model.plan.plan import Plan
from model.record.record import Record
from model.water_year import MONTHS_IN_YEAR, month_name

STORAGE: Final = "observed_storage_ml"

FEWEST_MONTHS: Final = 2 * MONTHS_IN_YEAR
"""Fewer say little: the replay begins where the dam was measured (the project's own rule)."""

NEAR_FRAC: Final = 0.05
"""Of full supply: a month so near is as good as met (the project's own rule)."""


@dataclass(frozen=True, slots=True)
class StorageHeld:
    """The replayed dam against the measured one, month by month."""

    first_month: str  # in words
    last_month: str
    months: int
    bias_ml: float  # mean error, above 0 where the replay holds too much
    mean_error_ml: float  # mean size of the error
    near: int  # months within NEAR_FRAC of full supply
    capacity_ml: float


def storage_held(plan: Plan, record: Record) -> StorageHeld | None:
    """Replay against the measured dam; None where the record has too few measured months."""
    observed = record.indices.get(STORAGE)
    if observed is None or record.months <= FEWEST_MONTHS:
        return None
    opened = opened_for_replay(plan)
    opening = opened.opening.model_copy(update={"storage_ml": float(observed[0])})
    opened = opened.model_copy(update={"opening": opening})
    first = record.first_month + 1  # the first measured month end is where the replay begins
    ledger = replay_months(opened, record, first, record.last_month)
    error_ml = ledger.columns["storage_end_ml"] - observed[1:]
    capacity_ml = plan.valley.capacity_ml
    return StorageHeld(
        first_month=month_name(first),
        last_month=month_name(record.last_month),
        months=error_ml.size,
        bias_ml=float(error_ml.mean()),
        mean_error_ml=float(np.abs(error_ml).mean()),
        near=int(np.count_nonzero(np.abs(error_ml) <= NEAR_FRAC * capacity_ml)),
        capacity_ml=capacity_ml,
    )
