"""Plant or hold: an area and a hold-back chosen by hand, and what they bring at once."""

from __future__ import annotations

import streamlit as st

from dashboard import cached_farm, odds_page, plant_page, river_note, wording
from dashboard.announced_error import show_announced_error
from model.plan.plan import Plan
from model.record.record import Record


def _page(plan: Plan, record: Record) -> None:
    """Ask for a choice, and show what it brings."""
    st.header("Plant, or hold?", anchor=False)
    if plan.farm is None:
        st.info(wording.NO_FARM)
        return
    ready = cached_farm.farm_ready(plan, record)
    show_announced_error(plan, record)
    river_note.show(plan, record)
    plant_page.choose_and_see(plan, record, *ready)


odds_page.show(_page)
