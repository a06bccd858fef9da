"""How is it told where what came stood in the odds of the day a decision was made?"""

from __future__ import annotations

from typing import Final

from model.evidence.decided import BandsHeld, SeasonCame
from model.say.numbers import count, in_100_range, ml_per_share, times_in_100

ONE_SEASON: Final = (
    "One season proves no odds right or wrong; many, counted together, say something."
)


def came_in_words(came: SeasonCame) -> str:
    """Return what came in a season, and where it stood in the odds of the day.

    Examples
    --------
    >>> came_in_words(SeasonCame("2025-26", 0.31, 0.4, 0.0, 0.45, 0.26))[:62]
    '2025-26 is over: 0.31 ML a share was announced. In the odds of'
    """
    if came.none_came:
        amount, odds = "no water", f"this came {times_in_100(came.chance_none)}"
    else:
        amount = ml_per_share(came.came_ml_per_share)
        odds = f"as much or more came {times_in_100(came.reached)}"
    place = "inside" if came.inside else "outside"
    return (
        f"{came.water_year} is over: {amount} was announced. In the odds of that day {odds}; it is "
        f"{place} the range that 80 in 100 of the sequences drawn for that day lie "
        f"in ({ml_per_share(came.low_ml_per_share)} to {ml_per_share(came.high_ml_per_share)})."
    )


def bands_in_words(found: BandsHeld) -> str:
    """Return how often the ranges of all decided seasons held.

    Examples
    --------
    >>> bands_in_words(BandsHeld(5, 6, 0.436, 0.97))[:58]
    'Of 6 decided seasons that are over, 5 lay in the range tha'
    """
    return (
        f"Of {count(found.seasons, 'decided season')} that are over, {found.held} lay in the range "
        f"that should hold 80 in 100 (so few leave open {in_100_range(found.low, found.high)} in "
        f"100). {ONE_SEASON}"
    )
