"""How far to trust this: would these odds have held in the observed years?"""

from __future__ import annotations

import functools

import streamlit as st

from dashboard import cached, charts, tables
from dashboard.announced_error import show_announced_error
from model.evidence.judge import Evidence
from model.evidence.verdict import verdict

plan, record = st.session_state.current

st.header("Would these odds have held?", anchor=False)
st.markdown(
    "For every year of the record after the first thirty the tool stands at the month that opens "
    "the run, knowing only the years before, gives its odds, and looks at what the rules then gave."
)
show_announced_error(plan, record)


def _tried() -> Evidence:
    """Try the odds on every observed year, and show how far it is."""
    with st.status("Standing in every observed year ...", expanded=True) as status:
        bar = st.progress(0.0)

        def progress(done: int, total: int) -> None:
            bar.progress(done / total)

        found = cached.evidence(plan, record, progress)
        status.update(label="Every year was tried.", state="complete", expanded=False)
    return found


def _show(found: Evidence) -> None:
    """Show the verdict, and what was said against what happened."""
    for paragraph in verdict(found, plan.sequences.method):
        st.markdown(paragraph)
    st.header("Chance of none: said, and happened", anchor=False)
    for number, season in enumerate(found.of(plan.sequences.method).seasons, start=1):
        rows = [row for row in season.events["none"].table if row.cases]
        expected = sum(row.mean_chance * row.cases for row in rows)
        finding = (
            f"Season {number}: nothing announced in {season.events['none'].happened} of "
            f"{season.cases} years, against {expected:.0f} expected"
        )
        tables.chart(
            charts.reliability_chart(
                [row.mean_chance for row in rows],
                [(row.share, row.share_low, row.share_high) for row in rows],
                title=finding,
            ),
            key=f"reliability_{number}",
            alt=finding,
            frame=functools.partial(tables.reliability_frame, rows),
        )


if st.toggle("Try the odds on the observed years (about a minute)", key="try_odds"):
    _show(_tried())
