"""How much water can a season use by its finish month, all kinds counted?

What the crops took since July, or since today, up to the end of the finish month, and what is then
still within reach: own account (usable), high security, farm storage, bore.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from model.farm.rules import FarmRules
from model.farm.run import FarmMonth
from model.farm.setting import FarmSetting
from model.farm.water import (
    bore_left_ml,
    high_security_left_ml,
    out_of_reach_ml_per_share,
    usable_ml_per_share,
)
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.sequences.unique import laid_out


@dataclass(slots=True)
class WaterMet:
    """Water as the months of one way go by, each (sequence so far,)."""

    taken_ml: list[FloatArray] = field(default_factory=list)
    reach_ml: list[FloatArray] = field(default_factory=list)  # 0 but in a finish month
    parents: list[IntArray | None] = field(default_factory=list)
    finishes_in: dict[int, int] = field(default_factory=dict)  # season by month of the run

    def see(self, month: FarmMonth, rules: FarmRules) -> None:
        """Note a month of a way."""
        taken_ml = month.fluxes.watering.taken.total_ml[0]
        finish = month.river.k == rules.crop.finish_k
        self.taken_ml.append(taken_ml)
        self.reach_ml.append(_reach_ml(month, rules)[0] if finish else np.zeros_like(taken_ml))
        self.parents.append(month.river.parents)
        if finish:
            self.finishes_in[month.river.season] = len(self.taken_ml) - 1

    def by_season(self, seasons: Sequence[int], chosen: IntArray) -> tuple[FloatArray | None, ...]:
        """Return (sequence,) the water of each season; None where its finish month is past.

        Parameters
        ----------
        seasons
            The season of each month of the run.
        chosen
            Which of the last month's sequences are wanted.
        """
        taken = laid_out(self.taken_ml, self.parents, chosen)
        reach = laid_out(self.reach_ml, self.parents, chosen)
        found: list[FloatArray | None] = []
        for season in range(seasons[-1] + 1):
            until = self.finishes_in.get(season)
            if until is None:
                found.append(None)
                continue
            since = seasons.index(season)
            found.append(np.sum(taken[since : until + 1], axis=0) + reach[until])
        return tuple(found)


def _reach_ml(month: FarmMonth, rules: FarmRules) -> FloatArray:
    """Return what is still within reach at a month's end."""
    end, water = month.end, rules.water
    frozen = out_of_reach_ml_per_share(end, end.frozen_ml_per_share, month.river)
    usable = usable_ml_per_share(end, end.account_ml_per_share, frozen, water)
    return (
        usable * water.shares_ml
        + high_security_left_ml(end, month.river, water)
        + end.storage_ml
        + bore_left_ml(end, 1.0, water)
    )


def planned_ml(setting: FarmSetting, strategy: int, area_ha: float) -> float:
    """Return the water that a strategy plans for an area of the main crop."""
    planned = setting.settings.one(strategy).planned_water_ml_per_ha(setting.rules)
    return float(planned[0, 0]) * area_ha
