"""What does a crop yield when its water runs out?

The last irrigation fills the root zone. The crop draws it down day by day, is stressed once less
than a stated depth is left, and from then on loses a part of its yield each day: little before it
flowers, most while it flowers and sets bolls, little once they fill, nothing later. Losses
compound: a day takes its part of the yield still there. No later rain is counted on to save it.

References
----------
Loss per day of stress by stage: 2.7 % at peak flowering as published in extension material, the
others from memory. Good to about 0.12 of full yield.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.farm.crops import DAYS_IN_MONTH
from model.record.record import FloatArray

RUN_OUT_MARGIN_FRAC: Final = 0.12
"""How far off a run-out yield may be, as a fraction of full yield."""


class LossStage(NamedTuple):
    """Days after planting over which a stressed day costs the same."""

    first_day: int
    last_day: int  # within the stage
    lost_frac_per_day: float


COTTON_LOSS_STAGES: Final = (
    LossStage(41, 71, 0.010),  # squares
    LossStage(72, 82, 0.017),  # first flowers
    LossStage(83, 123, 0.027),  # flowers and boll set
    LossStage(124, 151, 0.007),  # bolls fill
)
"""From a mid-October planting: first flowers after Christmas, no loss from mid March on."""


@dataclass(frozen=True, slots=True)
class RootZone:
    """What the soil holds for the crop."""

    capacity_mm: float = 200.0
    stress_below_mm: float = 100.0


def stressed_from_day(
    last_watering_day: ArrayLike, crop_use_mm: ArrayLike, root_zone: RootZone
) -> FloatArray:
    """Give the day of the water year at which stress begins; the year's end where it never does.

    Parameters
    ----------
    last_watering_day
        (n,) days of the water year, 1 July = 0.
    crop_use_mm
        (12,) use by month; even within a month.
    root_zone
        What the soil holds.
    """
    ends = np.concatenate([[0.0], np.cumsum(DAYS_IN_MONTH)])
    used_mm = np.concatenate([[0.0], np.cumsum(np.asarray(crop_use_mm, dtype=np.float64))])
    last_day = np.asarray(last_watering_day, dtype=np.float64)
    free_mm = root_zone.capacity_mm - root_zone.stress_below_mm
    stressed_at_mm = np.interp(last_day, ends, used_mm) + free_mm
    day: FloatArray = np.interp(stressed_at_mm, used_mm, ends, right=float(ends[-1]))
    return day


def run_out_yield_frac(
    last_watering_day: ArrayLike,
    crop_use_mm: ArrayLike,
    planting_day: int,
    rain_grown_frac: float,
    root_zone: RootZone | None = None,
    stages: Sequence[LossStage] = COTTON_LOSS_STAGES,
) -> FloatArray:
    """Give the yield, as a fraction of the full one, of a crop last watered on a day.

    Parameters
    ----------
    last_watering_day
        (n,) days of the water year, 1 July = 0.
    crop_use_mm
        (12,) use by month.
    planting_day
        Day of the water year.
    rain_grown_frac
        The least: what the land yields on rain alone.
    root_zone, stages
        What the soil holds, and what a stressed day costs.
    """
    stressed = stressed_from_day(last_watering_day, crop_use_mm, root_zone or RootZone())
    log_left = np.zeros_like(stressed)
    for stage in stages:
        over = planting_day + stage.last_day + 1
        days = np.clip(over - stressed, 0.0, stage.last_day + 1 - stage.first_day)
        log_left += days * np.log1p(-stage.lost_frac_per_day)
    return np.maximum(rain_grown_frac, np.exp(log_left))


def run_out_by_month(
    crop_use_mm: ArrayLike,
    planting_day: int,
    rain_grown_frac: float,
    root_zone: RootZone | None = None,
    stages: Sequence[LossStage] = COTTON_LOSS_STAGES,
) -> FloatArray:
    """Give the yield (12,), as a fraction of the full one, if watering stops at a month's end."""
    last_days = np.cumsum(DAYS_IN_MONTH) - 1
    return run_out_yield_frac(
        last_days, crop_use_mm, planting_day, rain_grown_frac, root_zone, stages
    )
