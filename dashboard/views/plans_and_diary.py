"""Plans and diary: saving this plan, the other plans, and what was decided."""

from __future__ import annotations

import streamlit as st

from dashboard import show
from dashboard.views.keeping.diary import show_diary
from dashboard.views.keeping.left import also_open, earlier
from dashboard.views.keeping.plans import show_plans
from dashboard.views.keeping.saving import show_saving


def _diary() -> None:
    """Show the diary, at the odds of the open plan."""
    if st.session_state.current is None:
        st.info("The diary is shown here once the figures are fixed: each entry keeps its odds.")
        return
    show_diary(*st.session_state.current)


st.title("Plans and diary", anchor=False)
also_open()
earlier()
show.parts({"This plan": show_saving, "Plans": show_plans, "Diary": _diary}, key="keeping_part")
