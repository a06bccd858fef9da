"""Today: where things stand, who said so, and what it means for water."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, controls, doubts
from dashboard.doubts import show_announced_error
from dashboard.views.keeping.left import also_open, earlier
from dashboard.views.keeping.saving import show_saving
from dashboard.views.opening import farm, water

current = st.session_state.current


def _what_it_means() -> None:
    """Show at once what the figures do to the odds."""
    if current is None:
        st.info("The odds are shown here once the figures are fixed.")
        return
    doubts.river_counted_on(*current)
    show_announced_error(*current)
    doubts.chance_of_none(cached.water_ahead(*current).outlook.seasons, key="today_none")
    doubts.tried(*current)


st.title("Where things stand today", anchor=False)
also_open()
earlier()
asked, meant = st.columns(2, gap="large")
with asked:
    water.dam()
    water.account()
    farm.today()
    controls.text("title", "Title of the plan")
with meant:
    st.subheader("What it means for water", anchor=False)
    _what_it_means()
    show_saving()
