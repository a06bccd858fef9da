"""What is a run worth to the farm, for choosing between ways of running it?

Cash at the end less arrears, and what is left valued: water after the rules of 1 July, land
prepared and crops in the ground at cost, the unpaid crop at its price. The end is inside every
objective, so that no way of running the farm wins by draining the account in the last season.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.farm.river import RiverMonth
from model.farm.run import run_farm
from model.farm.setting import FarmSetting
from model.farm.standing import standing_aud
from model.farm.state import BoolArray, FarmState, Settings
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Worth:
    """What runs are worth, each (strategy, sequence)."""

    standing_aud: FloatArray
    payment_missed: BoolArray  # at some time in the run


def worth_of(
    setting: FarmSetting,
    river: list[RiverMonth],
    settings: Settings,
    opening: FarmState | None = None,
) -> Worth:
    """Run ways of running the farm through the same months, and value each run.

    Parameters
    ----------
    setting, river
        The farm, and the valley's months as it meets them; sequences may be one until they part.
    settings
        The ways.
    opening
        Where the farm stands, (strategy, sequence); by default as the plan says.
    """
    state = opening or setting.opening(river, settings.count)
    missed = np.zeros(state.bank_aud.shape, dtype=np.bool_)
    for month in run_farm(state, settings, river, setting.expectation, setting.rules):
        if month.river.parents is not None:
            missed = missed[:, month.river.parents]
        state = month.end
        missed = missed | month.fluxes.cash.missed
    return Worth(standing_aud(state, river[-1], setting.rules), missed)
