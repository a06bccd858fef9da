"""What came since a decision, placed in the odds of its day."""

from __future__ import annotations

from collections.abc import Iterable

import streamlit as st

from dashboard import cached, show
from dashboard.state import announced_rows
from model.errors import InputError
from model.evidence.decided import SeasonCame, bands_held
from model.keeping.diary import Decision
from model.plan.announced import IN_THE_PLAN
from model.plan.text import parse_plan
from model.say.decided import bands_in_words, came_in_words


def came_since(taken: Decision) -> tuple[SeasonCame, ...]:
    """Place what was announced since; nothing where no season is over and typed in.

    Raises
    ------
    InputError
        That day's plan cannot be read any more, or asks for what the record does not hold.
    """
    told = announced_rows()
    if told is None or st.session_state.current is None:
        return ()
    _, record = st.session_state.current
    then = parse_plan(taken.plan_text.encode(), taken.plan_title)
    return cached.came_after(then, record, told.announcements(IN_THE_PLAN))


def show_came(taken: Decision) -> None:
    """Show what came in each season of a decision that is over."""
    try:
        for came in came_since(taken):
            st.markdown(came_in_words(came))
    except InputError as error:
        show.faults(
            error, "What came cannot be placed in these odds", key=f"came_{taken.decided_on}"
        )


def show_counted(decisions: Iterable[Decision]) -> None:
    """Show how often the ranges of all decided seasons held."""
    came: list[SeasonCame] = []
    for taken in decisions:
        try:
            came += came_since(taken)
        except InputError:
            continue  # said beside the decision itself
    counted = bands_held(came)
    if counted is not None:
        st.markdown(bands_in_words(counted))
