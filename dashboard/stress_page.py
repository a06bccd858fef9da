"""The part of a page that shows the stress set of a strategy, and how far one thing may turn."""

from __future__ import annotations

import streamlit as st

from dashboard import charts, stress_findings, tables
from model.decide.stress import StressSet
from model.say.lender import easier_on_bank
from model.say.measures import RUN_COVER


def show(stress: StressSet, limit_aud: float) -> None:
    """Show what each case changes and brings, and the break-evens."""
    cover = f"**Cover over the run** = {RUN_COVER}. " if stress.has_cover else ""
    st.caption(
        f"Each case changes the middle case as named. {cover}The "
        f"cases are taken from {stress.sequences:,} of the runs. With water at 1 in 10 every "
        "season is that dry, which is harsher than one run in ten."
    )
    finding = stress_findings.finding(stress, limit_aud)
    tables.chart(
        charts.case_chart(**stress_findings.bars(stress, limit_aud), title=finding),
        key="money_stress",
        alt=finding,
        frame=lambda: stress_findings.frame(stress, limit_aud),
    )
    tables.show(stress_findings.summary(stress, limit_aud))
    for why in easier_on_bank(stress).values():
        st.markdown(why)
    if not stress.has_cover:
        return
    st.subheader("How far may one thing turn before cover is 1.00?", anchor=False)
    tables.show(stress_findings.break_even_frame(stress))
