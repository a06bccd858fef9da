"""What was chosen by hand, as a strategy among the plan's: every page and paper then follows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from model.decide.strategy import strategies_of
from model.plan.plan import Plan

OUR_CHOICE: Final = "Our choice"


@dataclass(frozen=True, slots=True)
class Choice:
    """An area and a hold chosen by hand; all else follows a strategy of the plan."""

    strategy: str
    area_ha: float  # planted at the planting ahead
    hold_back_ml_per_share: float
    hold_above_ml_per_share: float


def with_choice(plan: Plan, choice: Choice | None) -> Plan:
    """Return a plan with one strategy more: our choice. None: the plan as it is.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> plan = read_plan(demonstration_plan())
    >>> chosen = with_choice(plan, Choice("Some on trust", 75.0, 0.10, 0.40))
    >>> chosen.strategies[-1].name, chosen.strategies[-1].first_area_ha
    ('Our choice', 75.0)
    """
    if choice is None:
        return plan
    others = tuple(each for each in strategies_of(plan) if each.name != OUR_CHOICE)
    base = next(each for each in others if each.name == choice.strategy)
    ours = base.model_copy(
        update={
            "name": OUR_CHOICE,
            "first_area_ha": choice.area_ha,
            "hold_back_ml_per_share": choice.hold_back_ml_per_share,
            "hold_above_ml_per_share": choice.hold_above_ml_per_share,
        }
    )
    return plan.model_copy(update={"strategies": (*others, ours)})
