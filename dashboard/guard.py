"""What must be settled before the page of this season answers: asked for in the answer's place."""

from __future__ import annotations

import streamlit as st

from dashboard import frame, show, state
from dashboard.checklist import take_as_ours
from dashboard.findings import guards
from dashboard.findings.guards import Needed
from model.plan.plan import Plan


def waits_for_balances(plan: Plan) -> bool:
    """Ask whether old balances are still right; return whether the page waits for that.

    The example's are nobody's balances: of it nothing is asked.
    """
    today = state.today()
    old = guards.days_old(plan, today, state.right_on()) > guards.MOST_DAYS
    if not old or guards.still_needed(plan):
        return False
    frame.answer(guards.still_right(plan), plan)
    st.markdown(guards.why_asked(plan, today))
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button("Still right", key="still_right", on_click=state.note_right, args=(today,))
        st.page_link("views/today.py", label="Put in today's")
    return True


def example_answer(words: str, needed: tuple[Needed, ...], plan: Plan) -> None:
    """Head the page of the example's farm: its answer, and what is still to put in."""
    frame.answer(guards.EXAMPLE_FARM, plan)
    st.markdown(f"**With the example's figures:** {show.text(words)}")
    with st.expander("Put in your own figures for your own hectares", expanded=False):
        for at, one in enumerate(needed):
            with st.container(horizontal=True, vertical_alignment="center"):
                st.page_link(f"views/{one.page}.py", label=one.words)
                st.button(
                    "Right for us",
                    key=f"needed_ours.{at}",
                    on_click=take_as_ours,
                    args=(one.still,),
                )
