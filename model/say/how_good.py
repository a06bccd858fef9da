"""How is it told what share of the best the strategies reach?"""

from __future__ import annotations

import math
from typing import Final

from model.decide.optimum import Yardstick
from model.say.numbers import ha, percent

NOT_MEASURED: Final = (
    "The run opens after planting: there is no area left to choose this season, and the yardstick "
    "begins with one."
)

NO_GAIN: Final = "How good is good: no way of planting gains on planting no cotton."

LEFT_OUT: Final = (
    "months within a year; land prepared a year ahead; trade in water; limits on use over three "
    "years; frozen accounts; farm storage"
)
"""What the yearly farm does not have."""

WHAT_IT_IS: Final = (
    "Worth of the run on a farm that decides once a year, when it plants, on the average of all "
    "sequences: it gives the bad ones no more weight than the good, and a lender does. The best "
    "rule found knows dam, own account and whether it has been dry. Perfect foresight knows each "
    "sequence in advance, and nobody can. Shares are of what they gain over planting no cotton."
)


def how_good_in_words(found: Yardstick | None) -> str:
    """Return the yardstick in a few lines."""
    if found is None:
        return NOT_MEASURED
    if math.isnan(found.programme.share_of_programme_frac):
        return NO_GAIN
    lines = [
        f"  {name}: {percent(way.share_of_programme_frac)} of the gain of the best rule found, "
        f"{percent(way.share_of_foresight_frac)} of that of perfect foresight"
        for name, way in found.ways.items()
    ]
    best = percent(found.programme.share_of_foresight_frac)
    constant = percent(found.constant.reached.share_of_programme_frac)
    return "\n".join(
        [
            "How good is good:",
            *lines,
            f"  the best rule found: {best} of the gain of perfect foresight",
            f"  the same area in every season, at best {ha(found.constant.area_ha)}: {constant} of "
            "the gain of the best rule found",
            f"{WHAT_IT_IS} Left out: {LEFT_OUT}.",
        ]
    )
