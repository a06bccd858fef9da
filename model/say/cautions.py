"""What must stand beside all odds, and beside odds of a farm?"""

from __future__ import annotations

from typing import Final

from model.plan.example import Part, parts_of
from model.plan.farm import Farm
from model.plan.plan import Plan
from model.say.numbers import listed, number

PART_WORDS: Final = {
    "record": "the record",
    "valley": "the valley",
    "farm": "the farm",
    "strategies": "the strategies",
    "today": "where things stand today",
}
"""What a new user puts in, in words."""

CAUTION: Final = (
    "General information, not financial, legal or agronomic advice. The valley's water sharing "
    "plan, the licence and current announcements prevail. A chance is not a promise, and past "
    "inflow may not bound the future."
)

FARM_CAUTION: Final = (
    CAUTION + " Yields, prices and costs are the user's own. See an agronomist, an accountant and "
    "the lender before acting on it."
)

INVENTED: Final = "Invented, for demonstration only"

NO_FARM: Final = (
    "This plan has no farm yet. Add a [farm] table to the plan file (the demonstration's explains "
    "every line), and open it again."
)

WATER_ONLY: Final = (
    "Water only: yield follows the water and weather of each sequence; prices, costs and full "
    "yield are the plan's, the same in every sequence. Only the price of yearly water follows "
    "scarcity."
)


def what_varies(farm: Farm) -> str:
    """Return what differs from run to run, and what is the same in all of them."""
    if not farm.risk:
        return WATER_ONLY
    names = listed([varies.crop for varies in farm.risk])
    return (
        f"Water, weather, and the full yield and price of {names}: years are drawn as the plan "
        "states them, the same for every strategy, and met at harvest. Costs and all other prices "
        "are the plan's; the price of yearly water follows scarcity."
    )


def invented_in_words(plan: Plan) -> str:
    """Return what of a plan is invented, by name; empty where nothing is."""
    if not plan.invented:
        return ""
    named = [_part_in_words(plan, part) for part in parts_of(plan) if not part.ours]
    return f"{INVENTED}: {listed(named or [plan.valley.name, 'its record'])}."


def _part_in_words(plan: Plan, part: Part) -> str:
    """Return what of a part of a plan is still the example's: its name, or how many figures."""
    own_names = {"record": f"the record {plan.record}", "valley": plan.valley.name}
    if plan.farm is not None:
        own_names["farm"] = plan.farm.name
    name = own_names.get(part.name, PART_WORDS[part.name])
    whole = len(part.still) == part.figures
    return name if whole else f"{number(len(part.still))} of {part.figures} figures of {name}"
