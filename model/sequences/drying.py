"""How much less water is there, if the years to come are drier than the record?

A stated factor on all flow, or one that bites low flows harder. With an elasticity e, a month's
flow is multiplied by

    factor ** (e + (1 - e) F),    F = (rank - 1/2) / years,

where the rank is that of its inflow among the same calendar month of all years, the driest first.
The wettest months lose as the factor says; the driest lose as its e-th power: with a factor of
0.90 and an elasticity of 2.5, 0.90 and 0.77. The tributary gets the factor of the dam's inflow.
It applies on top of any method, never to what assessments count on, and every output prints it.
Stated factors by calendar month may move flow too, and rain, ETo and evaporation of what is drawn:
a projection that differs by season is typed in as it stands.

That flow changes 2 to 3.5 times as much as rain is common for inland rivers (common practice, no
source); that wet months change least and dry ones most is the project's own choice of form.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.plan.plan import Drawing
from model.plan.valley import Valley
from model.record.record import FloatArray, Record
from model.water_year import MONTHS_IN_YEAR


def flow_factors(record: Record, drawing: Drawing) -> float | FloatArray:
    """Return the factor on flow: one number, or (record months,) where months differ."""
    factors: float | FloatArray = drawing.flow_factor
    if drawing.flow_elasticity is not None:
        not_exceeded = not_exceeded_frac(record.inflow_ml)
        power = drawing.flow_elasticity + (1.0 - drawing.flow_elasticity) * not_exceeded
        factors = np.asarray(drawing.flow_factor**power)
    by_month = None if drawing.drying is None else drawing.drying.flow
    if by_month is None:
        return factors
    return np.asarray(factors * np.array(by_month)[record.months_of_water_year()])


WEATHER: Final = {
    "rain": ("lake_rain_mm", "farm_rain_mm"),
    "eto": ("farm_eto_mm",),
    "lake_evaporation": ("lake_evaporation_mm",),
}
"""The columns that each factor of a drying moves."""


def dried_weather(record: Record, valley: Valley, drawing: Drawing) -> Record:
    """Return a record whose rain, ETo and evaporation are moved as stated; flow stays.

    Parameters
    ----------
    record, valley
        A column that the record lacks is taken from the plan's calendar months, if it has them.
    drawing
        The plan's.
    """
    if drawing.drying is None:
        return record
    columns, months = dict(record.columns), record.months_of_water_year()
    for moved, names in WEATHER.items():
        by_month = getattr(drawing.drying, moved)
        for name in names if by_month is not None else ():
            usual = getattr(valley, name)
            observed = columns.get(name, None if usual is None else np.array(usual)[months])
            if observed is not None:
                columns[name] = observed * np.array(by_month)[months]
    return replace(record, columns=columns)


def not_exceeded_frac(inflow_ml: FloatArray) -> FloatArray:
    """(months,) the place of each month among the same calendar month of all years, 0 to 1."""
    places = np.empty(inflow_ml.size)
    for phase in range(MONTHS_IN_YEAR):
        same_month = inflow_ml[phase::MONTHS_IN_YEAR]
        ordered = np.sort(same_month)
        below = np.searchsorted(ordered, same_month, side="left")
        not_above = np.searchsorted(ordered, same_month, side="right")
        places[phase::MONTHS_IN_YEAR] = (below + not_above) / (2.0 * max(1, same_month.size))
    return places


@dataclass(frozen=True, slots=True)
class Drying:
    """What a plan does to the record's flow; all are factors on it."""

    factor: float
    elasticity: float | None  # None: the factor is the same for all flow
    driest: float  # on the driest months
    wettest: float
    mean_flow_left: float  # part of the mean flow
    by_month: bool = False  # whether calendar months are moved apart


def drying_of(record: Record, drawing: Drawing) -> Drying | None:
    """Return what a plan does to the record's flow; None where it does nothing."""
    factor = drawing.flow_factor
    by_month = drawing.drying is not None and drawing.drying.flow is not None
    if drawing.flow_elasticity is None and not by_month:
        return None if factor == 1.0 else Drying(factor, None, factor, factor, factor)
    factors = flow_factors(record, drawing)
    total_ml = float(record.inflow_ml.sum())
    left = float(np.sum(record.inflow_ml * factors)) / total_ml if total_ml > 0.0 else 1.0
    driest, wettest = float(np.min(factors)), float(np.max(factors))
    return Drying(factor, drawing.flow_elasticity, driest, wettest, left, by_month)


def is_changed(drawing: Drawing) -> bool:
    """Return whether the plan counts on other sequences than the record gives."""
    return (
        drawing.flow_factor != 1.0
        or drawing.flow_elasticity is not None
        or drawing.drying is not None
        or drawing.view is not None
        or bool(drawing.climate_index_today)
        or (drawing.method == "regimes" and drawing.opening_dry_chance is not None)
    )
