"""How does a plan's yield of wide rows stand beside what was published?

Root zone and use of a layout of rows go through the one response to water; its full yield is the
plan's own. What a trial found is shown beside it and fits nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from model.plan.crops import Crop
from model.plan.farm import Farm
from model.say.numbers import number

TRIAL_WIDE_BALES, TRIAL_SOLID_BALES = 8.65, 12.5
"""Cotton in wide rows and solid. From memory of one published trial, of one year."""

LAYOUT_UNIT: Final = "bale"


def row_layouts_in_words(farm: Farm) -> list[str]:
    """Return a sentence for each watered layout of cotton's rows beside the first one.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> print(*row_layouts_in_words(read_plan(demonstration_plan()).farm))
    Cotton, wide-row: the plan's full yield is 7.6 bales a hectare, 0.69 of solid. In a trial of \
one year that began wet, wide rows had 8.65 bales against 12.5, 0.69 (published; from memory).
    """
    return [said for crop in farm.crops if crop.unit == LAYOUT_UNIT for said in _of_crop(crop)]


def _of_crop(crop: Crop) -> Iterator[str]:
    """Yield the sentence of each layout beside the first."""
    solid, *others = crop.layouts
    for layout in others:
        if layout.planned_water_ml_per_ha == 0.0:
            continue  # on rain alone: the trial says nothing of it
        part = layout.full_yield_units_per_ha / solid.full_yield_units_per_ha
        yield (
            f"{crop.name.capitalize()}, {layout.name}: the plan's full yield is "
            f"{number(layout.full_yield_units_per_ha, 1)} bales a hectare, {number(part, 2)} of "
            f"{solid.name}. In a trial of one year that began wet, wide rows had "
            f"{number(TRIAL_WIDE_BALES, 2)} bales against {number(TRIAL_SOLID_BALES, 1)}, "
            f"{number(TRIAL_WIDE_BALES / TRIAL_SOLID_BALES, 2)} (published; from memory)."
        )
