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

from dataclasses import replace
from typing import Final

import numpy as np

from model.plan.plan import Drawing, Valley
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


def drying_in_words(record: Record, drawing: Drawing) -> str:
    """Say what is done to the flow; empty where nothing is."""
    if drawing.drying is not None and drawing.drying.flow is not None:
        return _by_month_in_words(record, drawing)
    if drawing.flow_elasticity is None:
        return "" if drawing.flow_factor == 1.0 else f"all flow times {drawing.flow_factor:g}"
    factors = flow_factors(record, drawing)
    total_ml = float(record.inflow_ml.sum())
    left = float(np.sum(record.inflow_ml * factors)) / total_ml if total_ml > 0.0 else 1.0
    return (
        f"flow times {np.max(factors):.2f} in the wettest months down to {np.min(factors):.2f} in "
        f"the driest (factor {drawing.flow_factor:g}, elasticity {drawing.flow_elasticity:g}), "
        f"{left:.2f} of the mean flow"
    )


def _by_month_in_words(record: Record, drawing: Drawing) -> str:
    """Say how flow is moved month by month."""
    factors = np.broadcast_to(flow_factors(record, drawing), record.inflow_ml.shape)
    total_ml = float(record.inflow_ml.sum())
    left = float(np.sum(record.inflow_ml * factors)) / total_ml if total_ml > 0.0 else 1.0
    return (
        f"flow moved month by month (times {factors.min():.2f} to {factors.max():.2f}), "
        f"{left:.2f} of the mean flow"
    )


def weather_in_words(drawing: Drawing) -> str:
    """Say how rain, ETo and evaporation are moved; empty where they are not."""
    if drawing.drying is None:
        return ""
    said = [
        f"{moved.replace('_', ' ')} times {min(by_month):g} to {max(by_month):g} by month"
        for moved in WEATHER
        if (by_month := getattr(drawing.drying, moved)) is not None
    ]
    return ", ".join(said)


def view_in_words(drawing: Drawing) -> str:
    """Say what the user's own view is; empty where there is none."""
    view = drawing.view
    if view is None:
        return ""
    whose = f" ({view.source})" if view.source else ""
    if view.thirds is None:
        said = f"{round(100 * view.chances[1])} times in 100 above the middle of the record"
    else:
        dry, middle, wet = (round(100 * chance) for chance in view.thirds)
        said = f"dry, middle and wet third {dry}, {middle} and {wet} times in 100"
    return (
        f"These odds follow a view of {view.of} from {view.first_month} to {view.last_month}"
        f"{whose}: {said}, believed {view.belief:.0%}. It is a view, not a finding from the record."
    )


def is_changed(drawing: Drawing) -> bool:
    """Tell whether the plan counts on other sequences than the record gives."""
    return (
        drawing.flow_factor != 1.0
        or drawing.flow_elasticity is not None
        or drawing.drying is not None
        or drawing.view is not None
        or bool(drawing.climate_index_today)
        or (drawing.method == "regimes" and drawing.opening_dry_chance is not None)
    )


def river_in_words(record: Record, drawing: Drawing) -> str:
    """Say whether the plan counts on a drier river than the record, or does not.

    Examples
    --------
    >>> river_in_words(None, Drawing())
    'Flow is as observed: this does not count on a drier river than the record.'
    """
    said = []
    if flow := drying_in_words(record, drawing):
        mean = float(np.mean(flow_factors(record, drawing)))
        than = "wetter" if mean > 1.0 else "drier"
        said.append(f"This counts on a river {than} than the record: {flow}.")
    if weather := weather_in_words(drawing):
        said.append(f"Of the weather that is drawn: {weather}.")
    if view := view_in_words(drawing):
        said.append(view)
    if drawing.climate_index_today:
        said.append(
            "The climate index is the plan's, not the record's: "
            + ", ".join(
                f"{name} {value:g}"
                for name, value in zip(
                    drawing.climate_indices, drawing.climate_index_today, strict=True
                )
            )
            + "."
        )
    if drawing.method == "regimes" and drawing.opening_dry_chance is not None:
        said.append(
            "The chance that the season before was a dry one is the plan's, "
            f"{drawing.opening_dry_chance:.0%}, not the record's."
        )
    if not flow:
        said.append("Flow is as observed: this does not count on a drier river than the record.")
    return " ".join(said)
