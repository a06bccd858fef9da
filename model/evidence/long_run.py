"""What would the long-run record alone have said, whatever the dam held?

The replayed amounts of all other water years, each as likely as any other: what odds have to beat.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from model.evidence.calibration import TIE
from model.evidence.scores import fair_crps
from model.evidence.walk import Walk
from model.record.record import FloatArray

HALF_ML_PER_SHARE: Final = 0.5


def events(
    announced: FloatArray, more: FloatArray, low_ml_per_share: float
) -> dict[str, FloatArray]:
    """Tell what happened, by event, in the shape of the amounts.

    `none`: nothing more is announced in the season's months; `half`: at least half a megalitre per
    share is announced to date; `low`: no more than in the driest tenth of years.
    """
    return {
        "none": np.asarray(more <= TIE, dtype=np.float64),
        "half": np.asarray(announced >= HALF_ML_PER_SHARE - TIE, dtype=np.float64),
        "low": np.asarray(announced <= low_ml_per_share + TIE, dtype=np.float64),
    }


def more_announced(walked: Walk) -> FloatArray:
    """(year, season) what was announced in the season's months from the stand on."""
    more = walked.announced_ml_per_share.copy()
    more[:, 0] -= walked.announced_before_ml_per_share
    return more


def long_run_crps(walked: Walk, every: FloatArray, observed: FloatArray) -> FloatArray:
    """(year, season) the score of all other water years as a forecast of each."""
    scores = np.empty_like(observed)
    for case in np.ndindex(observed.shape):
        others = every[walked.every_water_year != walked.water_years[case]]
        scores[case] = fair_crps(others[None, :], observed[None, case[0], case[1]])[0]
    return scores


def long_run_chance(walked: Walk, low_ml_per_share: float) -> dict[str, FloatArray]:
    """(year, season) how often each event came in all other water years."""
    to_date = walked.every_announced_ml_per_share
    every = events(to_date, to_date, low_ml_per_share)
    chances = {name: np.empty(walked.water_years.shape) for name in every}
    for case in np.ndindex(walked.water_years.shape):
        others = walked.every_water_year != walked.water_years[case]
        for name, happened in every.items():
            chances[name][case] = happened[others].mean()
    first = more_announced(walked)[:, 0]
    came = np.isfinite(first)
    none = (first <= TIE) & came
    chances["none"][:, 0] = (none.sum() - none) / np.maximum(1, came.sum() - came)
    return chances
