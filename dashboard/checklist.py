"""A new user's way in: what is still the example's, part by part, and the answer as it stands.

It stands over the pages on which a plan is set up, for as long as anything in the plan is invented.
"""

from __future__ import annotations

import streamlit as st

from dashboard import cached, state
from dashboard.findings.checklist import steps_of
from dashboard.findings.water import chance_finding
from dashboard.literal import literal
from model.errors import InputError


def show_checklist() -> None:
    """Show what is still to be put in; nothing once nothing is the example's."""
    current = st.session_state.current
    if current is None:
        return
    plan, record = current
    steps = steps_of(plan)
    if not steps:
        return
    with st.expander("From the example to your own farm, in five steps", key="checklist"):
        for at, step in enumerate(steps):
            with st.container(horizontal=True, vertical_alignment="center"):
                if step.page == st.session_state.page:
                    st.markdown(literal(step.words))  # here already: two steps may share a page
                else:
                    st.page_link(f"views/{step.page}.py", label=step.words)
                if step.still:
                    st.button(
                        "Right for us as it is",
                        key=f"step_ours.{at}",
                        on_click=take_as_ours,
                        args=(step.still,),
                    )
        try:
            said = chance_finding(cached.water_ahead(plan, record).outlook.seasons)
        except InputError as error:
            st.caption(f"No answer yet: {error.faults[0]}")
        else:
            st.caption(f"The answer as it stands: {said}.")


def take_as_ours(keys: tuple[str, ...] | list[str]) -> None:
    """Note that figures were looked at and are right as they are."""
    state.put("ours", [*(state.figure("ours") or ()), *keys])
