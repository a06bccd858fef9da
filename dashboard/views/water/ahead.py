"""The odds of the next seasons, and why so much is set aside before them."""

from __future__ import annotations

import streamlit as st

from dashboard import beside_the_record, cached, controls, doubts, show, state
from dashboard.charts.water import band_chart, season_chart, set_aside_chart
from dashboard.findings import water as findings
from dashboard.findings.water import (
    announced_finding,
    band_finding,
    none_chances,
    points_of,
    set_aside_finding,
)
from model.outlook.ahead import BANDED, SetAside, WaterAhead
from model.plan.plan import Plan
from model.record.record import Record
from model.say import numbers
from model.say.measures import title_of
from model.say.method import blocks_in_words, drawn_from
from model.water_year import months_from

MEASURES = (
    "announced_to_date_ml_per_share",
    "usable_ml_per_share",
    "account_ml_per_share",
)


def show_reached(ahead: WaterAhead) -> None:
    """Show what is reached at planting, finish and end of each season."""
    seasons = ahead.outlook.seasons
    measure = st.segmented_control(
        "Amount",
        MEASURES,
        default=MEASURES[0],
        required=True,
        format_func=title_of,
        key="measure",
        persist_state="session",
        help="Usable: not frozen, and within the limits on use.",
    )
    finding = announced_finding(seasons, measure)
    show.chart(
        season_chart(points_of(seasons, measure), title=finding, unit="ML a share"),
        key="reached",
        alt=finding,
        frame=lambda: findings.reached_frame(seasons, measure),
    )
    st.caption(
        "Points: reached 50 times in 100; bars: from 90 times to 10. The figures behind the chart "
        "give each with the range that the record leaves."
    )


def show_months(ahead: WaterAhead, full_supply_ml: float) -> None:
    """Show the bands of an amount month by month."""
    banded = st.segmented_control(
        "Amount by month",
        BANDED,
        default=BANDED[0],
        required=True,
        format_func=title_of,
        key="banded",
        persist_state="session",
    )
    bands = ahead.bands(banded)
    months = months_from(ahead.first_month, bands.shape[1])
    finding = band_finding(ahead, banded, bands)
    in_dam = banded == "storage_end_ml"
    show.chart(
        band_chart(
            months,
            bands,
            title=finding,
            unit="ML" if in_dam else "ML a share",
            season_starts=[month for month in months[1:] if month.endswith("-07")],
            ceiling=("full supply", full_supply_ml) if in_dam else None,
        ),
        key=banded,
        alt=finding,
        frame=lambda: findings.bands_frame(months, bands),
    )


def show_set_aside(today: SetAside) -> None:
    """Show why water in the dam is not announced."""
    finding = set_aside_finding(today)
    show.chart(
        set_aside_chart(
            {
                "In the dam, above dead storage": today.in_dam_ml,
                "Inflow the record assures": today.assured_inflow_ml,
            },
            findings.commitments_ml(today),
            title=finding,
        ),
        key="set_aside",
        alt=finding,
        frame=lambda: findings.set_aside_frame(today),
    )


COUNTS = (1_000, 2_000, 5_000, 10_000, 20_000)
METHODS: dict[str | None, str] = {
    None: "the one that did best on the past years, once they were tried",
    "blocks": "blocks: runs of observed years in a new order",
    "historical": "historical: every observed start in turn",
    "present": "present: runs of observed years, moved to today's river",
    "neighbours": "neighbours: after years like the last, what followed such years",
    "regimes": "regimes: a dry or wet state that tends to last",
}


def drawing(plan: Plan) -> None:
    """Ask how sequences are drawn, and what is counted on beside the record."""
    folded = st.expander("How possible sequences are drawn", key="drawing", on_change="rerun")
    if not folded.open:
        return
    with folded:
        first, second = st.columns(2)
        with first:
            controls.choice(
                "sequences.method",
                "Method",
                tuple(METHODS),
                said=METHODS.__getitem__,
            )
            controls.choice("sequences.seasons", "Seasons ahead, this one counted", (1, 2, 3))
        with second:
            controls.choice(
                "sequences.count",
                "Possible runs drawn",
                sorted({*COUNTS, state.figure("sequences.count")}),
                said=numbers.number,
            )
            controls.slider(
                "sequences.flow_factor",
                "All flow times",
                lowest=0.5,
                highest=1.5,
                step=0.05,
                meaning="Below 1: drier than the record. Every page says so while it is not 1",
            )
        beside_the_record.ask(plan)


def show_water(plan: Plan, record: Record) -> None:
    """Show the chance of none, and one of the parts below it."""
    ahead = cached.water_ahead(plan, record)
    seasons = ahead.outlook.seasons
    st.caption(f"{drawn_from(ahead.outlook)}{blocks_in_words(ahead.outlook.method)}")
    drawing(plan)
    doubts.tried(plan, record)
    show.chances(dict(list(none_chances(seasons).items())[: len(seasons)]))
    show.parts(
        {
            "What is reached": lambda: show_reached(ahead),
            "Nothing announced": lambda: doubts.chance_of_none(seasons),
            "Over the months": lambda: show_months(ahead, plan.valley.capacity_ml),
            "What is set aside first": lambda: show_set_aside(ahead.today),
        },
        key="water_part",
    )
