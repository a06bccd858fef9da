"""The dashboard's frame: page settings, shared controls, the pages, and the cautions."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

HERE = Path(__file__).resolve().parent

st.set_page_config(page_title="Seasons in Hand", page_icon=str(HERE / "icon.png"), layout="wide")
st.title("Seasons in Hand", anchor=False)

from dashboard import standing, state, wording  # noqa: E402 - the heading is painted first
from model.errors import InputError  # noqa: E402

page = st.navigation(
    [
        st.Page(HERE / "views" / "water_ahead.py", title="Water ahead", default=True),
        st.Page(HERE / "views" / "month_by_month.py", title="Month by month"),
        st.Page(HERE / "views" / "plant_or_hold.py", title="Plant or hold"),
        st.Page(HERE / "views" / "strategies.py", title="Strategies side by side"),
        st.Page(HERE / "views" / "trust.py", title="How far to trust this"),
        st.Page(HERE / "views" / "record.py", title="The record"),
    ]
)

try:
    file_plan = state.begin(state.files().plan)
    standing.controls(file_plan)
    plan = state.current_plan()
    record = state.current_record(plan)
    if plan.invented:
        st.warning(wording.INVENTED)
    st.markdown(f"**{plan.title}**  \n{wording.standing(plan)}")
    st.session_state.current = (plan, record)
    page.run()
    standing.plan_download(file_plan, plan)
except InputError as error:
    st.error("Nothing was run: some figures need mending.")
    st.table(
        [
            {"Where": f.where, "Found": f.value, "What is wrong": f.problem, "Allowed": f.allowed}
            for f in error.faults[:40]
        ]
    )
st.caption(wording.CAUTION)
