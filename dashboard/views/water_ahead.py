"""Water ahead: the odds of the next seasons, and why so much is set aside before them."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, charts, metrics, standing, tables, trust_note, wording
from dashboard.announced_error import show_announced_error
from dashboard.findings import (
    announced_finding,
    band_finding,
    chance_finding,
    none_chances,
    points_of,
    set_aside_finding,
)
from model.water_ahead import BANDED
from model.water_year import format_month

plan, record = st.session_state.current
ahead = cached.water_ahead(plan, record)
odds = ahead.outlook
seasons = odds.seasons
last_month = seasons[-1].last_month
months = [format_month(month) for month in range(ahead.first_month, last_month + 1)]
starts = [month for month in months[1:] if month.endswith("-07")]

st.header("How likely is it that nothing is announced?", anchor=False)
st.caption(wording.drawn_from(odds))
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

st.header("What is reached?", anchor=False)
measure = st.segmented_control(
    "Amount",
    ("announced_to_date_ml_per_share", "usable_ml_per_share", "account_ml_per_share"),
    default="announced_to_date_ml_per_share",
    required=True,
    format_func=wording.AMOUNT_TITLES.__getitem__,
    key="measure",
    persist_state="session",
    help="Usable: not frozen, and within the limits on use.",
)
tables.chart(
    charts.season_chart(
        points_of(seasons, measure), title=announced_finding(seasons, measure), unit="ML/share"
    ),
    key="reached",
    alt=announced_finding(seasons, measure),
    frame=lambda: tables.reached_frame(seasons, measure),
)
st.caption("ML per share, and in brackets the 95 % range that the record leaves.")
st.table(tables.reached_frame(seasons, measure).set_index("Water year"))

st.header("Month by month", anchor=False)
banded = st.segmented_control(
    "Amount by month",
    BANDED,
    default=BANDED[0],
    required=True,
    format_func=wording.AMOUNT_TITLES.__getitem__,
    key="banded",
    persist_state="session",
)
bands = ahead.bands(banded)
finding = band_finding(ahead, banded, bands)
in_dam = banded == "storage_end_ml"
tables.chart(
    charts.band_chart(
        months,
        bands,
        title=finding,
        unit="ML" if in_dam else "ML/share",
        season_starts=starts,
        ceiling=("full supply", plan.valley.capacity_ml) if in_dam else None,
    ),
    key=banded,
    alt=finding,
    frame=lambda: tables.bands_frame(months, bands),
)

st.header("Why is water in the dam not announced?", anchor=False)
finding = set_aside_finding(ahead.today)
tables.chart(
    charts.set_aside_chart(
        {
            "In the dam, above dead storage": ahead.today.in_dam_ml,
            "Inflow the record assures": ahead.today.assured_inflow_ml,
        },
        {
            title: ahead.today.commitments_ml[name]
            for name, title in wording.COMMITMENT_TITLES.items()
        },
        title=finding,
    ),
    key="set_aside",
    alt=finding,
    frame=lambda: tables.set_aside_frame(ahead.today),
)
