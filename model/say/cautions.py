"""What must stand beside all odds, and beside odds of a farm?"""

from __future__ import annotations

from typing import Final

from model.plan.farm import Farm

CAUTION: Final = (
    "General information, not financial, legal or agronomic advice. The valley's water sharing "
    "plan, the licence and current announcements prevail. A chance is not a promise, and past "
    "inflow may not bound the future."
)

FARM_CAUTION: Final = (
    CAUTION + " Yields, prices and costs are the user's own. See an agronomist, an accountant and "
    "the lender before acting on it."
)

INVENTED: Final = "Invented valley, river and record: for demonstration only."

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
    names = " and ".join(varies.crop for varies in farm.risk)
    return (
        f"Water, weather, and the full yield and price of {names}: years are drawn as the plan "
        "states them, the same for every strategy, and met at harvest. Costs and all other prices "
        "are the plan's; the price of yearly water follows scarcity."
    )


def invented_in_words(valley: str) -> str:
    """Return the mark of what is invented, with the valley's name."""
    return f"{valley}: INVENTED valley and record, for demonstration only."
