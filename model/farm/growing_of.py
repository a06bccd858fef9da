"""How are a crop's figures and a row layout turned into a growing, ready for a month's step?

Each month is cut where a loss stage begins or ends, at sowing and at harvest; over a piece, Kc is
the mean of the crop's at day + 0.5. Days count from sowing, day 0.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np

from model.farm.crops import DAYS_IN_MONTH, Crop, CropCalendar, day_of_water_year, kc_on_day
from model.farm.effective_rain import USUAL_PART, RainRule, effective_rain_mm
from model.farm.farm_weather import AverageWeather, RecordWeather
from model.farm.growing import (
    FALLOW_EFFICIENCY_FRAC,
    GroundMonth,
    Growing,
    Piece,
    Response,
)
from model.farm.rain_yield import rain_yield_of
from model.farm.soil import Days, RootZone
from model.units import ML_PER_MM_HA
from model.water_year import MONTHS_IN_YEAR


def growing_of(
    name: str,
    crop: Crop,
    calendar: CropCalendar,
    response: Response,
    root_zone: RootZone,
    weather: RecordWeather,
    *,
    efficiency_frac: float,
    rain_rule: RainRule = "usda_short",
    rain_part: float = USUAL_PART,
    fallow_efficiency_frac: float = FALLOW_EFFICIENCY_FRAC,
    pre_water_ml_per_ha: float = 0.0,
    use_factor: float = 1.0,
    root_factor: float = 1.0,
    need_ml_per_ha: Sequence[float] | None = None,
) -> Growing:
    """Prepare a crop in a row layout.

    Parameters
    ----------
    name
        What it is called.
    crop, calendar, response
        Its use of water, when it is grown, and what stress costs it.
    root_zone
        Of the crop in rows of the usual width.
    weather
        On record: its averages are what is still to come.
    rain_rule, rain_part
        How much of a month's rain helps.
    fallow_efficiency_frac
        Part of the fallow's rain that is stored.
    efficiency_frac
        Part of the water at the farm gate that the root zone gets.
    pre_water_ml_per_ha
        Put on at sowing, at the farm gate.
    use_factor, root_factor
        Of the layout: on the crop's use; on capacity, stress level, fallow store and pre-water.
    need_ml_per_ha
        (12,) at the farm gate, in place of Kc and rain; pre-water is part of it.
    """
    gate_ml_per_ha_per_mm = ML_PER_MM_HA / efficiency_frac
    zone = RootZone(
        root_zone.capacity_mm * root_factor,
        root_zone.stress_below_mm * root_factor,
        root_zone.full_stress_frac,
    )
    pre_ml = 0.0 if need_ml_per_ha is not None else pre_water_ml_per_ha * root_factor
    months: list[GroundMonth | None] = [None] * MONTHS_IN_YEAR
    for k, first, last in _days_in_ground(calendar, response):
        table_mm = None
        if need_ml_per_ha is not None:
            table_mm = need_ml_per_ha[k] / gate_ml_per_ha_per_mm / (last - first)
        months[k] = GroundMonth(
            pieces=pieces_between(first, last, crop, response, use_factor=use_factor),
            days=float(last - first),
            month_days=DAYS_IN_MONTH[k],
            kc=use_factor * mean_kc(crop, first, last),
            table_use_mm=table_mm,
            target_mm=_target_mm(k, calendar, zone),
        )
    return Growing(
        name=name,
        calendar=calendar,
        root_zone=zone,
        months=tuple(months),
        pre_water_mm=pre_ml / gate_ml_per_ha_per_mm,
        gate_ml_per_ha_per_mm=gate_ml_per_ha_per_mm,
        rain_rule=rain_rule,
        rain_part=rain_part,
        fallow_efficiency_frac=fallow_efficiency_frac * root_factor,
        average=_average(months, weather, rain_rule, rain_part),
        average_store_mm=min(
            zone.capacity_mm,
            fallow_efficiency_frac * root_factor * _fallow_rain_mm(calendar, weather),
        ),
    )


def rain_growing_of(
    name: str,
    calendar: CropCalendar,
    weather: RecordWeather,
    *,
    fallow_efficiency_frac: float = FALLOW_EFFICIENCY_FRAC,
) -> Growing:
    """Prepare a rain-grown crop whose use of water is not stated: it yields as its rain does."""
    months: list[GroundMonth | None] = [None] * MONTHS_IN_YEAR
    return Growing(
        name=name,
        calendar=calendar,
        root_zone=RootZone(np.inf, np.inf),
        months=tuple(months),
        pre_water_mm=0.0,
        gate_ml_per_ha_per_mm=0.0,
        rain_rule="fixed_part",
        rain_part=1.0,
        fallow_efficiency_frac=fallow_efficiency_frac,
        average=_average(months, weather, "fixed_part", 1.0),
        average_store_mm=fallow_efficiency_frac * _fallow_rain_mm(calendar, weather),
        rain_yield=rain_yield_of(calendar, weather, fallow_efficiency_frac),
    )


def _fallow_rain_mm(calendar: CropCalendar, weather: RecordWeather) -> float:
    """Return the average rain of the months of fallow."""
    rain_mm = weather.average().rain_mm
    return float(sum(rain_mm[k] for k in range(MONTHS_IN_YEAR) if calendar.is_fallow(k)))


def _average(
    months: Sequence[GroundMonth | None],
    weather: RecordWeather,
    rain_rule: RainRule,
    rain_part: float,
) -> AverageWeather:
    """Average what the record's months brought to a growing, the rain as far as it helps."""
    kc = np.array([0.0 if month is None else month.kc for month in months])
    use_mm = weather.eto_mm * kc[weather.k]
    helpful_mm = effective_rain_mm(rain_rule, weather.rain_mm, use_mm, rain_part)
    return RecordWeather(helpful_mm, weather.eto_mm, weather.k).average()


def pieces_between(
    first_day: int,
    last_day: int,
    crop: Crop,
    response: Response,
    *,
    cuts: Sequence[int] = (),
    use_factor: float = 1.0,
) -> tuple[Piece, ...]:
    """Cut days after sowing, `first_day` to before `last_day`, where the crop's answer changes.

    Examples
    --------
    >>> from model.farm.growing import LossStage, Response
    >>> response = Response((LossStage(0, 0.01), LossStage(41, 0.01)), 152, 72)
    >>> crop = Crop(30, 50, 55, 45, 0.35, 1.18, 0.60)
    >>> [piece.over.days for piece in pieces_between(17, 47, crop, response)]
    [24.0, 6.0]
    """
    starts = [stage.first_day for stage in response.stages]
    edges = {first_day, last_day, response.lost_before_day, response.end_day, *starts, *cuts}
    days = sorted(day for day in edges if first_day <= day <= last_day)
    return tuple(
        Piece(
            Days(float(end - start), _loss_on(start, response), start < response.lost_before_day),
            use_factor * mean_kc(crop, start, end),
        )
        for start, end in itertools.pairwise(days)
    )


def mean_kc(crop: Crop, first_day: int, last_day: int) -> float:
    """Return the mean crop coefficient of days after sowing, at day + 0.5."""
    return float(kc_on_day(np.arange(first_day, last_day) + 0.5, crop).mean())


def _loss_on(day: int, response: Response) -> float:
    """Return what a day of full stress costs, so many days after sowing."""
    if day >= response.end_day:
        return 0.0
    return [stage for stage in response.stages if stage.first_day <= day][-1].loss_frac_per_day


def _days_in_ground(calendar: CropCalendar, response: Response) -> Iterator[tuple[int, int, int]]:
    """Yield each month in which water matters: `k`, first day after sowing and the day after it."""
    sown = day_of_water_year(calendar.sow_k, calendar.sow_day)
    start = day_of_water_year(calendar.sow_k, 1) - sown
    for after in range(MONTHS_IN_YEAR):
        k = (calendar.sow_k + after) % MONTHS_IN_YEAR
        if k == calendar.harvest_k and after > 0:
            return
        end = start + DAYS_IN_MONTH[k]
        first, last = max(0, start), min(end, response.end_day)
        if first < last:
            yield k, first, last
        start = end


def _target_mm(k: int, calendar: CropCalendar, zone: RootZone) -> float | None:
    """Return what watering aims for at a month's end: the stress level, or midway to full.

    The stress level in the month of sowing, the one after it and that of the last watering.
    """
    if calendar.last_watering_k is None:
        return None
    after = (k - calendar.sow_k) % MONTHS_IN_YEAR
    last = (calendar.last_watering_k - calendar.sow_k) % MONTHS_IN_YEAR
    if after > last:
        return None
    if after in {0, 1, last}:
        return zone.stress_below_mm
    return (zone.stress_below_mm + zone.capacity_mm) / 2.0
