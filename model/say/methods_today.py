"""How is it told how far apart the methods are on today's odds?"""

from __future__ import annotations

from collections.abc import Sequence

from model.evidence.today import OddsToday
from model.say.method import because_in_words
from model.say.numbers import number, of_100


def today_in_words(odds: Sequence[OddsToday]) -> str:
    """Return how far apart the methods that can be used are."""
    chances = {each.method: each.chance_none[0] for each in odds if each.chance_none}
    said = ", ".join(f"{method} {of_100(chance)}" for method, chance in chances.items())
    apart = number(100.0 * (max(chances.values()) - min(chances.values())))
    return (
        "Today's chance that no more water is announced this season, times in 100 by method: "
        f"{said}. They are {apart} apart: that much depends on the method."
        + "".join(f" Method {method} is left out: {why}." for method, why in left_out(odds).items())
    )


def left_out(odds: Sequence[OddsToday]) -> dict[str, str]:
    """Return why methods cannot be used here, by method."""
    reasons = {each.method: each.refused.problem for each in odds if each.refused}
    for each in odds:
        if each.replaced is not None:
            reasons[each.method] = because_in_words(each.replaced.found, each.replaced.figures)
    return reasons
