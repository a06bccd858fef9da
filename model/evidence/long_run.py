"""What would the long-run record alone have said, whatever the dam held?

The replayed amounts of all other water years, each as likely as any other: what odds have to beat.
What was announced before the stand is known to it too, so that no odds are praised for knowing it.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from model.evidence.calibration import TIE
from model.evidence.scores import crps
from model.evidence.walk import Walk
from model.record.record import FloatArray

HALF_ML_PER_SHARE: Final = 0.5


def events(
    announced: FloatArray, more: FloatArray, low_ml_per_share: float
) -> dict[str, FloatArray]:
    """Return what happened, by event, in the shape of the amounts.

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


def references(walked: Walk, cap_ml_per_share: float) -> dict[str, list[list[FloatArray]]]:
    """Return the amounts that the long-run record gives each stand for each season, by amount.

    Those of all other water years, each as likely as any other. In the first season a forecast
    knows what was announced before its stand, and so does the reference: that, and what the other
    years announced from the same calendar month on, up to what the rules allow in a year.
    """
    to_date, more = walked.every_announced_ml_per_share, walked.every_more_ml_per_share
    found: dict[str, list[list[FloatArray]]] = {"announced": [], "more": [], "storage": []}
    for stand, before in enumerate(walked.announced_before_ml_per_share.tolist()):
        others = [walked.every_water_year != year for year in walked.water_years[stand]]
        first, later = others[0], others[1:]
        known = np.minimum(before + more[first], max(before, cap_ml_per_share))
        found["announced"].append([known, *(to_date[of] for of in later)])
        found["more"].append([known - before, *(to_date[of] for of in later)])
        found["storage"].append([walked.every_storage_ml[of] for of in others])
    return found


def long_run_crps(reference: list[list[FloatArray]], observed: FloatArray) -> FloatArray:
    """(year, season) the score of the long-run record as a forecast."""
    scores = np.empty_like(observed)
    for stand, season in np.ndindex(observed.shape):
        members = reference[stand][season][None, :]
        scores[stand, season] = crps(members, observed[None, stand, season])[0]
    return scores


def long_run_chance(
    reference: dict[str, list[list[FloatArray]]], low_ml_per_share: float
) -> dict[str, FloatArray]:
    """(year, season) how often each event came in the long-run record."""
    by_stand = [
        [events(announced, more, low_ml_per_share) for announced, more in zip(*each, strict=True)]
        for each in zip(reference["announced"], reference["more"], strict=True)
    ]
    return {
        name: np.array([[float(season[name].mean()) for season in of] for of in by_stand])
        for name in by_stand[0][0]
    }
