"""What is chosen on a page for the plan that is open, and does it outlive the window?

A strategy followed, an area, water held back: no figures of the plan, but controls of a page, whose
values the session holds. They go with the plan they were made for: another plan drops them, and a
sitting keeps them beside its unsaved figures. What was kept is where a control begins when it is
drawn again, as far as it still fits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import streamlit as st

OF_ONE_PLAN = (
    "plant_strategy",
    "plant_area",
    "plant_hold_back",
    "money_strategy",
    "paper_strategy",
)
"""Controls whose choice is of the plan that is open, and goes with it."""


def begin(kept: Mapping[str, str | float]) -> None:
    """Drop the choices made for the plan before; controls begin at those kept with this one."""
    for key in OF_ONE_PLAN:
        st.session_state.pop(key, None)
    st.session_state.kept_choices = {key: kept[key] for key in OF_ONE_PLAN if key in kept}
    st.session_state.choice_to_keep = False


def note() -> None:
    """Note that a choice was made, and is to be kept: called by the control that is moved."""
    st.session_state.choice_to_keep = True


def unkept() -> bool:
    """Tell whether a choice was made and is not kept; a control that is only drawn is no choice."""
    return bool(st.session_state.choice_to_keep)


def settled() -> None:
    """Note that the choices are kept as they stand."""
    st.session_state.choice_to_keep = False


def made() -> dict[str, str | float]:
    """Give the choices as they stand, also those whose control is not drawn yet."""
    drawn = {key: st.session_state[key] for key in OF_ONE_PLAN if key in st.session_state}
    return {**st.session_state.kept_choices, **drawn}


def strategy(
    label: str, names: Sequence[str], *, key: str, usual: int = 0, meaning: str | None = None
) -> int:
    """Ask for one of the strategies, and give its place; it begins at the one kept, if still there.

    `usual` is the place at which it begins otherwise.
    """
    kept = st.session_state.kept_choices.get(key)
    chosen = st.selectbox(
        label,
        names,
        index=names.index(kept) if kept in names else usual,
        key=key,
        persist_state="session",
        on_change=note,
        help=meaning,
    )
    return names.index(chosen)


def amount(key: str, usual: float, most: float) -> float:
    """Give the amount at which a control begins: the one kept, within 0 and what is allowed."""
    kept = st.session_state.kept_choices.get(key)
    fits = isinstance(kept, int | float) and math.isfinite(kept)
    return min(most, max(0.0, float(kept))) if fits else usual
