"""How is it told what strategies would have decided in past years, and how that ended?"""

from __future__ import annotations

from typing import Final

from model.evidence.decisions import Decisions
from model.say.numbers import count, listed, money

HINDSIGHT: Final = (
    "The best in hindsight planted the area that ended best in the months that came, which nobody "
    "could have known. The farm stands in every year as the plan has it today."
)


def decisions_in_words(found: Decisions) -> str:
    """Return how each strategy ended beside the best in hindsight, over the past years.

    Examples
    --------
    >>> decisions_in_words(Decisions(("bold",), ()))
    ''
    """
    if not found.years:
        return ""
    ended = [
        f"{name} ended best of them in {best}, and on average {money(short)} behind the best in "
        "hindsight"
        for name, best, short in zip(
            found.strategies, found.ended_best(), found.short_of_best_aud(), strict=True
        )
    ]
    first, last = found.years[0].water_year, found.years[-1].water_year
    return (
        f"Decided again in {count(len(found.years), 'past year')} ({first} to {last}), each with "
        f"what was known then: {listed(ended)}. {HINDSIGHT}"
    )
