"""Water ahead: the odds of the next seasons, and why so much is set aside before them."""

from __future__ import annotations

import streamlit as st

from dashboard import (
    cached,
    charts,
    metrics,
    parts,
    standing,
    tables,
    trust_note,
    water_page,
    wording,
)
from dashboard.announced_error import show_announced_error
from dashboard.findings import chance_finding, none_chances

plan, record = st.session_state.current
ahead = cached.water_ahead(plan, record)
seasons = ahead.outlook.seasons

st.header("How likely is it that nothing is announced?", anchor=False)
st.caption(wording.drawn_from(ahead.outlook))
standing.drawing()
show_announced_error(plan, record)
chances = none_chances(seasons)
trust_note.show(plan, record)
metrics.row(dict(list(chances.items())[: len(seasons)]))
tables.chart(
    charts.chance_chart(chances, title=chance_finding(seasons)),
    key="none",
    alt=chance_finding(seasons),
    frame=lambda: tables.chances_frame(chances),
)

parts.show(
    {
        "What is reached": lambda: water_page.show_reached(ahead),
        "Over the months": lambda: water_page.show_months(ahead, plan.valley.capacity_ml),
        "What is set aside first": lambda: water_page.show_set_aside(ahead.today),
    },
    key="water_part",
)
