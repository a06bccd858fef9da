"""What is our choice? Asked for on the page of this season; every page and paper can follow it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import streamlit as st

from dashboard import controls, state
from dashboard.cached import Followed
from model.decide.choice import OUR_CHOICE, Choice, with_choice
from model.decide.strategy import strategies_of
from model.plan.plan import Plan
from model.say import numbers

if TYPE_CHECKING:
    from model.plan.strategy import Strategy

STEP_HA = 5.0
"""Areas are chosen in steps of this: nobody measures a paddock nearer."""

MIDDLE = 1
"""The strategy that is followed unless another is chosen, from 0."""


def strategy_followed(strategies: Sequence[Strategy]) -> int:
    """Ask for the strategy that the rest of the farm is run by; return its place."""
    own = {each.name: each for each in strategies}

    def keep_as_it_does(name: str) -> None:
        st.session_state.plant_hold_back = own[name].hold_back_ml_per_share
        st.session_state.plant_hold_above = own[name].hold_above_ml_per_share

    return controls.strategy(
        "Rest of the farm run as",
        list(own),
        key="plant_strategy",
        usual=MIDDLE,
        meaning="All later decisions follow this strategy's rules.",
        then=keep_as_it_does,
    )


def kept(strategy: Strategy) -> tuple[float, float]:
    """Ask for what is kept for a lean season, and above what; it begins as the strategy does.

    Returns
    -------
    tuple
        Held back at later plantings, and above what in sight, ML per share.
    """
    back, above = st.columns(2)
    with back:
        held = _kept(
            "plant_hold_back",
            "Keep for a lean season, ML per share",
            strategy.hold_back_ml_per_share,
            "At later plantings: left out of the sum when an area is chosen.",
        )
    with above:
        over = _kept(
            "plant_hold_above",
            "only of what is in sight above",
            strategy.hold_above_ml_per_share,
            "In a lean season, with less than this in sight, nothing is held: it is planted.",
        )
    return held, over


def _kept(key: str, label: str, usual: float, meaning: str) -> float:
    return st.slider(
        label,
        min_value=0.0,
        max_value=1.0,
        value=controls.begins_at(key, usual, 1.0),
        step=0.05,
        key=key,
        persist_state="session",
        on_change=state.note_choice,
        args=(key,),
        help=meaning,
    )


def area(usual_ha: float, most_ha: float) -> float:
    """Ask for the area; it begins at the usual one."""
    if st.session_state.get("plant_area", 0.0) > most_ha:
        st.session_state.plant_area = most_ha  # less land is ready than when it was chosen
    return st.slider(
        "Our choice, ha",
        min_value=0.0,
        max_value=most_ha,
        value=controls.begins_at("plant_area", usual_ha, most_ha),
        step=STEP_HA,
        format="%,.0f",
        key="plant_area",
        persist_state="session",
        on_change=state.note_choice,
        args=("plant_area",),
        help=f"0 to {numbers.ha(most_ha)}: no more than the prepared land is planted.",
    )


def ours(plan: Plan) -> Choice | None:
    """Return what was chosen for a plan; None until something was."""
    made = state.choices_made()
    area_ha = _amount(made.get("plant_area"))
    if not state.chosen() or area_ha is None:
        return None
    base = _followed(strategies_of(plan), made.get("plant_strategy"))
    held, above = (_amount(made.get(f"plant_hold_{name}")) for name in ("back", "above"))
    return Choice(
        strategy=base.name,
        area_ha=area_ha,
        hold_back_ml_per_share=base.hold_back_ml_per_share if held is None else held,
        hold_above_ml_per_share=base.hold_above_ml_per_share if above is None else above,
    )


def _amount(kept: object) -> float | None:
    """Return an amount that was kept, not below 0; None where it is no amount."""
    if not isinstance(kept, int | float) or not math.isfinite(kept):
        return None
    return max(0.0, float(kept))


def _followed(strategies: tuple[Strategy, ...], name: object) -> Strategy:
    """Return the strategy of a name, or the middle one where it is gone."""
    named = [each for each in strategies if each.name == name]
    return named[0] if named else strategies[:2][-1]


def as_followed(plan: Plan, strategy: Strategy) -> tuple[Followed, float | None]:
    """Return how a strategy is followed, and the area chosen by hand; None where none is.

    Parameters
    ----------
    plan
        Without our choice.
    strategy
        One of its own, or our choice.
    """
    made = ours(plan) if strategy.name == OUR_CHOICE else None
    names = [each.name for each in strategies_of(plan)]
    at = names.index(strategy.name if made is None else made.strategy)
    hold = strategy.hold_back_ml_per_share, strategy.hold_above_ml_per_share
    return Followed(at, *hold), None if made is None else made.area_ha


def usual(names: list[str]) -> int:
    """Return the strategy that a page follows unless another is chosen: ours, else the first."""
    return names.index(OUR_CHOICE) if OUR_CHOICE in names else 0


def plan_with_ours(plan: Plan) -> Plan:
    """Return a plan with our choice as one strategy more, once something was chosen."""
    return plan if plan.farm is None else with_choice(plan, ours(plan))
