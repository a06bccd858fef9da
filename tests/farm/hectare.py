"""One hectare of cotton on the invented inland climate, watered on stated days: for the anchors.

Sown 15 October. Kc, stages and losses are the defaults; ETo and rain by month are invented inside
published district averages; effective rain is the short USDA form on the month's total.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from model.farm.crops import DAYS_IN_MONTH, Crop, CropCalendar, day_of_water_year
from model.farm.effective_rain import usda_short_mm
from model.farm.farm_weather import RecordWeather
from model.farm.growing import Growing, LossStage, Response
from model.farm.growing_of import growing_of, pieces_between
from model.farm.season import hectare_season
from model.farm.soil import RootZone, Soil, fresh_soil, through

COTTON_RESPONSE = Response(
    stages=(
        LossStage(0, 0.010),  # establishment
        LossStage(41, 0.010),  # squares
        LossStage(72, 0.017),  # first flowers
        LossStage(83, 0.027),  # flowers and boll set
        LossStage(124, 0.007),  # bolls fill
    ),
    end_day=152,
    lost_before_day=72,
)
"""Sown in mid October. 2.7 % at peak flowering as published in extension material, the others from
memory."""

RAIN_MM = np.array([43, 38, 39, 50, 58, 62, 78, 65, 55, 38, 43, 45], dtype=np.float64)
ETO_MM_A_DAY = np.array([1.9, 2.8, 4.1, 5.4, 6.5, 7.1, 7.1, 6.3, 5.1, 3.6, 2.3, 1.7])
ETO_MM = ETO_MM_A_DAY * DAYS_IN_MONTH

COTTON = Crop(30, 50, 55, 45, 0.35, 1.18, 0.60)
ROOT_ZONE = RootZone(200.0, 100.0)
EFFICIENCY_FRAC = 0.93 * 0.77
PRE_WATER_MM = 1.5 / 0.01 * EFFICIENCY_FRAC  # 1.5 ML/ha: 107.4 mm in the root zone
WATERING_MM = 77.0
BALES = 12.0
SOWN_DAY = day_of_water_year(3, 15)

OCT, NOV, DEC, JAN, FEB, MAR = 3, 4, 5, 6, 7, 8


def growing(last_watering_k: int = MAR) -> Growing:
    """Return cotton in rows of the usual width."""
    calendar = CropCalendar(OCT, 15, last_watering_k, harvest_k=9, fallow_k=DEC)
    return growing_of(
        "cotton",
        COTTON,
        calendar,
        COTTON_RESPONSE,
        ROOT_ZONE,
        RecordWeather(RAIN_MM, ETO_MM, np.arange(12)),
        efficiency_frac=EFFICIENCY_FRAC,
        pre_water_ml_per_ha=1.5,
    )


def day(k: int, of_month: int) -> int:
    """Return days after sowing."""
    return day_of_water_year(k, of_month) - SOWN_DAY


class Stretch(NamedTuple):
    """Some days of a hectare, for the sums of a season."""

    days: float
    use_mm: float  # a day, with all the water the crop asks for
    used_mm: float  # in all


def season(
    start_mm: float,
    *,
    rain_part: float = 1.0,
    waterings: Mapping[int, float] | None = None,
    share: float | None = None,
    first_day: int = 0,
    rain_until: int = 1000,
    last_day: int = 152,
) -> tuple[float, list[Stretch]]:
    """Take a hectare from a day after sowing through its season; return the part of yield kept.

    Parameters
    ----------
    start_mm
        In the root zone on the first day.
    rain_part
        Of average rain.
    waterings
        Depth put on at once by day after sowing [mm].
    share
        Of what the crop lacks over rain, given day by day; None: none.
    first_day, last_day
        The days taken.
    rain_until
        No rain from this day on.
    """
    waterings = waterings or {}
    soil, stretches = fresh_soil(np.array([start_mm])), []
    for k in [*range(OCT, 12)]:
        first = day(k, 1)
        last = min(first + DAYS_IN_MONTH[k], last_day)
        first = max(first, first_day)
        if first >= last:
            continue
        rain_mm = usda_short_mm(RAIN_MM[k : k + 1] * rain_part) / DAYS_IN_MONTH[k]
        start = first
        for piece in pieces_between(
            first, last, COTTON, COTTON_RESPONSE, cuts=[*waterings, rain_until]
        ):
            soil = _watered(soil, waterings.get(start, 0.0))
            use_mm = ETO_MM_A_DAY[k : k + 1] * piece.kc
            supply_mm = rain_mm if start < rain_until else np.zeros(1)
            if share is not None and start < 152:
                supply_mm = supply_mm + share * np.maximum(0.0, use_mm - supply_mm)
            after = through(soil, supply_mm, use_mm, piece.over, ROOT_ZONE)
            used = soil.water_mm + supply_mm * piece.over.days - after.water_mm
            stretches.append(Stretch(piece.over.days, float(use_mm[0]), float(used[0])))
            soil, start = after, start + round(piece.over.days)
    return float(soil.kept_frac[0]), stretches


def _watered(soil: Soil, depth_mm: float) -> Soil:
    """Put water on at once, as much as the profile takes."""
    return soil.wetter(np.minimum(depth_mm, ROOT_ZONE.capacity_mm - soil.water_mm))


def watered_until_gone(ml_per_ha: float, start_mm: float) -> tuple[float, float]:
    """Return the part of yield kept, and ML used, of land watered in full until water is gone.

    By the farm's own rule: pre-water, then the need of each month.
    """
    crop = growing()
    found = hectare_season(crop, np.array([start_mm]), crop.average.month, np.array([ml_per_ha]))
    return float(found.kept_frac[0]), float(found.used_ml_per_ha[0])
