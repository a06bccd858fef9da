"""Papers: the brief for a partner or lender, and the workbook behind it."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from dashboard import cached
from dashboard.announced_error import held_or_said
from model.decide.compare_files import FARM_CAUTION
from model.decide.strategy import strategies_of

plan, record = st.session_state.current

st.header("On paper, for a partner or a lender", anchor=False)
if plan.farm is None:
    st.info(
        "The papers are about a farm, and this plan has none yet: add a [farm] table to the plan "
        "file (the demonstration's explains every line)."
    )
else:
    st.markdown(
        "Four pages to print: the odds of water, what would be planted and held, cash against the "
        "overdraft, what a lender asks for, and how far to trust it all. The workbook holds the "
        "same figures, season by season and month by month."
    )
    strategy = st.selectbox(
        "The strategy the papers are about",
        [each.name for each in strategies_of(plan)],
        key="paper_strategy",
        persist_state="session",
    )
    if st.button("Make the papers", key="make_papers"):
        st.session_state.papers_of = (plan.model_dump_json(), record.sha256, strategy)
    if st.session_state.get("papers_of") == (plan.model_dump_json(), record.sha256, strategy):
        held = held_or_said(plan, record)
        brief, workbook = cached.papers(plan, record, strategy, dt.date.today(), held)
        st.download_button(
            "Take the brief (PDF)",
            brief,
            file_name="brief.pdf",
            mime="application/pdf",
            key="brief_pdf",
            on_click="ignore",
        )
        st.download_button(
            "Take the workbook (XLSX)",
            workbook,
            file_name="workbook.xlsx",
            mime="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            key="workbook_xlsx",
            on_click="ignore",
        )
    st.caption(FARM_CAUTION)
