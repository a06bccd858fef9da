"""What did each crop in each row layout bring, season by season?

Kept beside what a season brought the whole farm, under the column's name and the place of the crop
and layout. A crop sown in one water year and harvested in the next has its area in the season it
was sown, and yield, costs and margin in the season of its harvest.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from model.farm.rules import FarmRules
from model.farm.state import FarmState
from model.farm.step import FarmFluxes
from model.record.record import FloatArray

COLUMNS: Final = (
    "area_sown_ha",
    "area_harvested_ha",
    "production_units",
    "water_used_ml",
    "income_aud",
    "costs_aud",
    "margin_aud",
)
"""Income is the worth of the season's harvest, whenever paid; costs are those of the season."""


def name_of(column: str, at: int) -> str:
    """Return the name under which a column of a crop in a row layout is kept."""
    return f"{column} of {at}"


def begin(shape: tuple[int, ...], opening: FarmState) -> dict[str, FloatArray]:
    """Return empty columns, (season, strategy, sequence); the first has the crops in the ground.

    Parameters
    ----------
    shape
        Of a column.
    opening
        The farm before the first month.
    """
    values = {
        name_of(column, at): np.zeros(shape)
        for at in range(len(opening.fields))
        for column in COLUMNS
    }
    for at, field in enumerate(opening.fields):
        if field is not None:
            values[name_of("area_sown_ha", at)][0] = field.sown_ha
    return values


def gather(
    k: int,
    fluxes: FarmFluxes,
    end: FarmState,
    values: Mapping[str, FloatArray],
    season: int,
    rules: FarmRules,
) -> None:
    """Add a month to the season's columns: what moved in it, and the farm after it."""
    crops, used_ml = fluxes.crops, fluxes.watering.used_ml
    for at, layout in enumerate(rules.layouts):
        found, field = crops.harvested[at], end.fields[at]
        if layout.sow_k == k and field is not None:
            values[name_of("area_sown_ha", at)][season] += field.sown_ha
        for column, value in (
            ("water_used_ml", used_ml[at]),
            ("costs_aud", crops.cost_aud[at]),
            ("area_harvested_ha", None if found is None else found.area_ha),
            ("production_units", None if found is None else found.units),
            ("income_aud", None if found is None else found.worth_aud),
            ("margin_aud", None if found is None else found.margin_aud),
        ):
            if value is not None:
                values[name_of(column, at)][season] += value
