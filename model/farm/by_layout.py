"""What did each crop in each row layout bring, season by season?

Kept beside what a season brought the whole farm, under the column's name and the place of the crop
and layout. A crop sown in one water year and harvested in the next has its area in the season it
was sown, and yield and margin in the season of its harvest; costs and water stand in the season
they fell in. What it drank before 1 July is kept apart too: its margin is held against all its
water.
"""

from __future__ import annotations

from typing import Final

from model.farm.gathered import GatheredSeason
from model.farm.rules import FarmRules
from model.farm.state import FarmState
from model.farm.step import FarmFluxes

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


AHEAD: Final = "water_ahead_ml"
"""Water used in a season on a crop that is harvested in the next."""


def name_of(column: str, at: int) -> str:
    """Return the name under which a column of a crop in a row layout is kept."""
    return f"{column} of {at}"


def names(layouts: int) -> list[str]:
    """Return the names of all columns of so many crops and row layouts."""
    return [name_of(column, at) for at in range(layouts) for column in (*COLUMNS, AHEAD)]


def begin(season: GatheredSeason, opening: FarmState) -> None:
    """Note in the first season the crops that are in the ground before the first month."""
    for at, field in enumerate(opening.fields):
        if field is not None:
            season.note(name_of("area_sown_ha", at), field.sown_ha)


def gather(
    k: int, fluxes: FarmFluxes, end: FarmState, season: GatheredSeason, rules: FarmRules
) -> None:
    """Add a month to the season's columns: what moved in it, and the farm after it."""
    crops, used_ml = fluxes.crops, fluxes.watering.used_ml
    for at, layout in enumerate(rules.layouts):
        found, field = crops.harvested[at], end.fields[at]
        for column, value in (
            ("area_sown_ha", None if field is None or layout.sow_k != k else field.sown_ha),
            ("water_used_ml", used_ml[at]),
            (AHEAD, used_ml[at] if layout.crosses_july and k >= layout.sow_k else None),
            ("costs_aud", crops.cost_aud[at]),
            ("area_harvested_ha", None if found is None else found.area_ha),
            ("production_units", None if found is None else found.units),
            ("income_aud", None if found is None else found.worth_aud),
            ("margin_aud", None if found is None else found.margin_aud),
        ):
            if value is not None:
                season.add(name_of(column, at), value)
