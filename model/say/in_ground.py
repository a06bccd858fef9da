"""How is a crop in the ground told: hectares, water, odds of finishing it, and is it worth it?"""

from __future__ import annotations

import math
from typing import Final

from model.decide.in_ground import InGround
from model.say.numbers import NO_NUMBER, chance, chance_cell, ha, money_for_each, number
from model.water_year import MONTH_NAMES

TITLES: Final = (
    "In the ground",
    "ha",
    "Watered until",
    "ML a ha to finish",
    "Finished, times in 100",
    "Cost to come, a ha",
    "Pays from, a ha",
    "Worth finishing, times in 100",
)

UNITS: Final = {"bale": "bales", "t": "t"}
"""What several units of a crop are called."""


def in_ground_cells(one: InGround) -> list[str]:
    """Return a crop in the ground as a row of a table."""
    gets_water = one.last_watering_k is not None
    return [
        f"{one.crop}, {one.layout}",
        number(one.area_ha),
        "rain alone" if one.last_watering_k is None else MONTH_NAMES[one.last_watering_k],
        number(one.to_finish_ml_per_ha, 1) if gets_water else NO_NUMBER,
        NO_NUMBER if one.finishes is None else chance_cell(one.finishes),
        number(one.to_come_aud_per_ha),
        _pays_from(one),
        chance_cell(one.worth_finishing),
    ]


def _pays_from(one: InGround) -> str:
    """Return the yield from which on a crop pays what it still costs."""
    if math.isinf(one.worth_from_units_per_ha):
        return "no yield"
    return f"{number(one.worth_from_units_per_ha, 1)} {UNITS[one.unit]}"


def in_ground_in_words(one: InGround) -> str:
    """Return a crop in the ground, in a sentence."""
    cost = money_for_each(one.to_come_aud_per_ha, "ha")
    worth = f"worth finishing {chance(one.worth_finishing)}"
    if one.last_watering_k is None or one.finishes is None:
        return f"{ha(one.area_ha)} of {one.crop} in the ground; {cost} still to come, {worth}."
    until = MONTH_NAMES[one.last_watering_k]
    return (
        f"{ha(one.watered_ha)} of {one.crop}, to be watered until {until}: watered in full to the "
        f"end {chance(one.finishes)}; {cost} still to come, {worth}."
    )
