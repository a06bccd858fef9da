"""Month by month: the ledger of one possible run of seasons, or of any observed stretch."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, odds_page, parts, river_note, walk_page
from model.outlook.replay import Ledger
from model.plan.plan import Plan
from model.record.record import Record
from model.water_year import parse_month

JULY = parse_month("2000-07")


def _year_name(month: int) -> str:
    """Name a water year by its months."""
    return f"July {month // 12} to June {month // 12 + 1}"


def _observed(plan: Plan, record: Record) -> Ledger:
    """Ask for a stretch of the record, and replay it from where things stand."""
    first_column, length_column = st.columns(2)
    first = first_column.selectbox(
        "From the observed year",
        [record.first_month + int(row) for row in record.slice_starts(JULY)],
        format_func=_year_name,
        key="stretch_from",
        persist_state="session",
    )
    most = min(10, (record.last_month + 1 - first) // 12)
    years = length_column.number_input(
        "Years",
        min_value=1,
        max_value=most,
        value=min(3, most),
        key="stretch_years",
        persist_state="session",
    )
    st.caption(
        "Dam and account begin as they stand today. The inflow that assessments count on is taken "
        "from the whole record: in a replay that is hindsight."
    )
    return cached.observed_stretch(plan, record, first, first + 12 * int(years) - 1)


def _drawn(plan: Plan, record: Record) -> Ledger:
    """Ask for one of the drawn runs."""
    count = len(cached.drawn_ahead(plan, record).drawn)
    number = st.number_input(
        f"Which possible run, 1 to {count:,}",
        min_value=1,
        max_value=count,
        value=1,
        key="run_number",
        persist_state="session",
    )
    return cached.one_sequence(plan, record, int(number) - 1)


def _page(plan: Plan, record: Record) -> None:
    """Walk through one run of seasons."""
    st.header("One run of seasons, month by month", anchor=False)
    river_note.show(plan, record)
    kind = st.segmented_control(
        "Which months",
        ("a possible run", "an observed stretch"),
        default="a possible run",
        required=True,
        key="walk_kind",
        persist_state="session",
    )
    ledger = (_observed if kind == "an observed stretch" else _drawn)(plan, record)
    dead_storage_ml = plan.valley.dead_storage_ml
    parts.show(
        {
            "Dam and account": lambda: walk_page.show_dam(ledger),
            "What is set aside": lambda: walk_page.show_set_aside(ledger, dead_storage_ml),
        },
        key="walk_part",
    )


odds_page.show(_page)
