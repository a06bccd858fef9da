"""How far the rules are from what was announced, beside any odds: one line, where it is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from dashboard import cached, state
from model.errors import InputError
from model.plan.plan import Plan
from model.record.record import Record

if TYPE_CHECKING:
    from model.evidence.announced import Held


def show_announced_error(plan: Plan, record: Record) -> None:
    """Say the error that comes on top of a page's odds; nothing where nothing was announced."""
    held = held_or_said(plan, record)
    if held is not None:
        from model.evidence.announced import held_in_words

        st.caption(held_in_words(held))


def held_or_said(plan: Plan, record: Record) -> Held | None:
    """Replay against what was announced; where that cannot be done, say why on the page."""
    if plan.announced is None:
        return None
    try:
        return cached.held(plan, record, state.announcements(plan))
    except InputError as error:
        st.warning(
            "What was announced in past years could not be held against these rules: "
            f"{error.faults[0]} It is given on the page Valley and record."
        )
        return None
