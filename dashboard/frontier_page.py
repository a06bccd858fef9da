"""The part of a page that tries a grid of hold-back by area, where it is asked for."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, tables
from dashboard.frontier_chart import frontier_chart, frontier_finding, frontier_frame
from model.plan import Plan
from model.record import Record


def show(plan: Plan, record: Record, names: list[str]) -> None:
    """Try a grid of hold-back by area, where it is asked for."""
    st.header("Hold back more, or plant less?", anchor=False)
    strategy = st.selectbox("Round the strategy", names, key="frontier_strategy")
    if not st.toggle("Try 100 ways (a few seconds)", key="try_frontier"):
        return
    bar = st.progress(0.0, "Trying ways of holding back and planting ...")

    def progress(done: int, total: int) -> None:
        bar.progress(done / total)

    found = cached.frontier(plan, record, names.index(strategy), progress)
    bar.empty()
    finding = frontier_finding(found)
    tables.chart(
        frontier_chart(found, title=finding),
        key="frontier",
        alt=finding,
        frame=lambda: frontier_frame(found),
    )
