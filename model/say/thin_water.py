"""How is a plan told that it waters a crop thinly?"""

from __future__ import annotations

from collections.abc import Sequence

from model.farm.thin_water import THIN_FRAC, ThinWater
from model.say.numbers import number, percent


def thin_water_in_words(found: Sequence[ThinWater]) -> list[str]:
    """Return a sentence for each crop that is planned with far less water than it asks for."""
    return [
        f"{thin.label}: {number(thin.planned_ml_per_ha, 1)} ML a hectare is planned, "
        f"{percent(thin.planned_ml_per_ha / thin.need_ml_per_ha)} of the "
        f"{number(thin.need_ml_per_ha, 1)} ML it asks for in average weather. Below "
        f"{percent(THIN_FRAC)} a shortage costs yield fast."
        for thin in found
    ]
