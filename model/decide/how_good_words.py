"""How is it said, and written down, what share of the best the strategies reach?"""

from __future__ import annotations

import math
from typing import Any, Final

from model.decide.how_good import LEFT_OUT
from model.decide.optimum import Reached, Yardstick

NOT_MEASURED: Final = (
    "The run opens after planting: there is no area left to choose this season, and the yardstick "
    "begins with one."
)

NO_GAIN: Final = "How good is good: no way of planting gains on planting no cotton."

WHAT_IT_IS: Final = (
    "Worth of the run on a farm that decides once a year, when it plants, on the average of all "
    "sequences: it gives the bad ones no more weight than the good, and a lender does. The best "
    "rule found knows dam, own account and whether it has been dry. Perfect foresight knows each "
    "sequence in advance, and nobody can. Shares are of what they gain over planting no cotton."
)


def how_good_table(found: Yardstick | None) -> dict[str, Any]:
    """Lay the yardstick out for a file."""
    if found is None:
        return {"not_measured": NOT_MEASURED}
    return {
        "what_it_is": WHAT_IT_IS,
        "left_out": LEFT_OUT,
        "no_cotton_aud": found.nothing_aud,
        "best_rule": _reached(found.programme),
        "perfect_foresight": _reached(found.foresight),
        "strategies": [{"name": name, **_reached(way)} for name, way in found.ways.items()],
    }


def how_good_in_words(found: Yardstick | None) -> str:
    """Say the yardstick in a few lines."""
    if found is None:
        return NOT_MEASURED
    if math.isnan(found.programme.share_of_programme_frac):
        return NO_GAIN
    lines = [
        f"  {name}: {way.share_of_programme_frac:.1%} of the gain of the best rule found, "
        f"{way.share_of_foresight_frac:.1%} of that of perfect foresight"
        for name, way in found.ways.items()
    ]
    best = found.programme.share_of_foresight_frac
    return "\n".join(
        [
            "How good is good:",
            *lines,
            f"  the best rule found: {best:.1%} of the gain of perfect foresight",
            f"{WHAT_IT_IS} Left out: {LEFT_OUT}.",
        ]
    )


def _reached(way: Reached) -> dict[str, float | None]:
    """Lay out one way, with standard errors of the draws; None where there is no such number."""
    numbers = {
        "mean_aud": way.mean_aud,
        "error_aud": way.error_aud,
        "behind_best_rule_aud": way.behind_programme_aud,
        "behind_best_rule_error_aud": way.behind_programme_error_aud,
        "share_of_best_rule_frac": way.share_of_programme_frac,
        "share_of_foresight_frac": way.share_of_foresight_frac,
    }
    return {name: None if math.isnan(number) else number for name, number in numbers.items()}
