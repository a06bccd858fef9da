"""Water ahead: the odds of the next seasons, and why so much is set aside before them."""

from __future__ import annotations

import streamlit as st

from dashboard import (
    cached,
    metrics,
    odds_page,
    parts,
    standing,
    trust_note,
    water_page,
    wording,
)
from dashboard.announced_error import show_announced_error
from dashboard.findings import none_chances
from model.plan.plan import Plan
from model.record.record import Record


def _page(plan: Plan, record: Record) -> None:
    """Show the chance of none, and one of the parts below it."""
    ahead = cached.water_ahead(plan, record)
    seasons = ahead.outlook.seasons
    st.header("How likely is it that nothing is announced?", anchor=False)
    drawn = wording.drawn_from(ahead.outlook)
    st.caption(f"{drawn}{wording.blocks_in_plain_words(ahead.outlook)}")
    standing.drawing()
    show_announced_error(plan, record)
    trust_note.show(plan, record)
    metrics.row(dict(list(none_chances(seasons).items())[: len(seasons)]))
    parts.show(
        {
            "What is reached": lambda: water_page.show_reached(ahead),
            "Nothing announced": lambda: water_page.show_none(seasons),
            "Over the months": lambda: water_page.show_months(ahead, plan.valley.capacity_ml),
            "What is set aside first": lambda: water_page.show_set_aside(ahead.today),
        },
        key="water_part",
    )


odds_page.show(_page)
