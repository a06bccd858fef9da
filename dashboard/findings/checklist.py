"""What does a new user still have to put in, part by part, and on which page?"""

from __future__ import annotations

from dataclasses import dataclass

from model.plan.example import parts_of
from model.plan.plan import Plan
from model.say.cautions import PART_WORDS
from model.say.numbers import capital, count

PAGES = {
    "record": "record",
    "valley": "our_valley",
    "farm": "our_farm",
    "strategies": "our_farm",
    "today": "today",
}
"""The page on which each part is put in."""


@dataclass(frozen=True, slots=True)
class Step:
    """One part of what a new user puts in."""

    page: str
    words: str
    still: tuple[str, ...]  # keys that are still the example's


def steps_of(plan: Plan) -> tuple[Step, ...]:
    """Return the steps of a plan that is still partly the example's; none once nothing is."""
    parts = [part for part in parts_of(plan) if part.figures or part.name == "record"]
    if not any(part.still for part in parts):
        return ()
    steps = []
    for number, part in enumerate(parts, start=1):
        left = f"{count(len(part.still), 'figure')} of {part.figures} still the example's"
        steps.append(
            Step(
                PAGES[part.name],
                f"{number}. {capital(PART_WORDS[part.name])}: {left if part.still else 'ours'}",
                part.still,
            )
        )
    return tuple(steps)
