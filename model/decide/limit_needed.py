"""Which overdraft limit would have held 90 times in 100?

The strategy is played with no limit, so that no payment is missed, through the sequences that the
desk is told of; what half a page and a lender's paper say of it is one figure.
"""

from __future__ import annotations

import numpy as np

from model.decide.decision import decision_of, way_of
from model.decide.desk import HOLDS_FRAC, needed_and_harvested, river_of_own_years
from model.farm.setting import FarmSetting


def limit_needed_aud(setting: FarmSetting, at: int) -> float:
    """Return the overdraft that is enough 90 times in 100 over the run, under one strategy."""
    decision = decision_of(setting, at)
    way = way_of(setting, decision, at)
    river = river_of_own_years(setting)
    needed_aud, _ = needed_and_harvested(setting, river, way, decision.season)
    return float(np.quantile(needed_aud, HOLDS_FRAC))
