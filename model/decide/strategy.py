"""Which ways of running the farm are compared?

The plan's own, or where it names none the three shipped here: cautious, middle and bold. They
differ in what they count on at planting, what they hold back, the land they make ready, and trade.
"""

from __future__ import annotations

from typing import Final

from model.plan.plan import Plan
from model.plan.strategy import Strategy

CAUTIOUS: Final = Strategy(
    name="A season in hand",
    prepare_least_frac=0.40,
    prepare_all_at_ml_per_share=1.0,
    count_on_frac=0.5,
    expected_chance_frac=0.9,
    hold_back_ml_per_share=0.10,
    hold_above_ml_per_share=0.30,
    smallest_area_ha=30.0,
)
"""Counts on half of what comes in 9 years of 10; keeps some water back; never trades."""

MIDDLE: Final = Strategy(
    name="Some on trust",
    prepare_least_frac=0.60,
    prepare_all_at_ml_per_share=0.8,
    count_on_frac=1.0,
    expected_chance_frac=0.75,
    hold_back_ml_per_share=0.10,
    hold_above_ml_per_share=0.40,
    smallest_area_ha=40.0,
    when_short="spread",
    sell_above_aud_per_ml=300.0,
    sell_keep_ml_per_share=0.3,
    buy_up_to_ml=300.0,
    buy_below_aud_per_ml=250.0,
)
"""Counts on what comes in 3 years of 4."""

BOLD: Final = Strategy(
    name="Plant on the odds",
    count_on_frac=1.0,
    expected_chance_frac=0.5,
    smallest_area_ha=20.0,
    when_short="spread",
    sell_above_aud_per_ml=200.0,
    buy_up_to_ml=300.0,
    buy_below_aud_per_ml=250.0,
)
"""Makes all its land ready and counts on what comes every other year."""

SHIPPED: Final = (CAUTIOUS, MIDDLE, BOLD)


def strategies_of(plan: Plan) -> tuple[Strategy, ...]:
    """Return the plan's strategies, or the three shipped where it has none.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> [strategy.name for strategy in strategies_of(read_plan(demonstration_plan()))]
    ['A season in hand', 'Some on trust', 'Plant on the odds', 'Some on trust with drought steps']
    """
    return plan.strategies or SHIPPED
