"""Month by month: the ledger of one possible run of seasons, or of any observed stretch."""

from __future__ import annotations

import numpy as np
import streamlit as st

from dashboard import cached, show, standing
from dashboard.charts.month_by_month import set_aside_by_month_chart, walk_chart
from dashboard.findings import month_by_month as findings
from dashboard.findings import wording
from model.outlook.replay import Ledger
from model.plan.plan import Plan
from model.record.record import Record
from model.water_year import month_name, parse_month


def show_dam(ledger: Ledger) -> None:
    """Show dam and account at the end of each month."""
    storage_ml = ledger.columns["storage_end_ml"]
    lowest = int(storage_ml.argmin())
    announced = ledger.columns["announced_ml_per_share"].sum()
    finding = (
        f"{wording.ml_per_share(announced)} is announced in these {len(ledger.months)} months; the "
        f"dam is lowest at the end of {month_name(ledger.first_month + lowest)}, at "
        f"{wording.ml(storage_ml[lowest])}"
    )
    show.chart(
        walk_chart(
            ledger.months, storage_ml, ledger.columns["account_ml_per_share"], title=finding
        ),
        key="walk",
        alt=finding,
        frame=lambda: findings.ledger_frame(ledger),
    )


def show_set_aside(ledger: Ledger, dead_storage_ml: float) -> None:
    """Show what each month's assessment counted on, and what it set aside."""
    in_dam_ml = np.maximum(0.0, ledger.columns["storage_start_ml"] - dead_storage_ml)
    resource_ml = in_dam_ml + ledger.columns["assured_inflow_ml"]
    short = int((ledger.columns["committed_ml"] >= resource_ml).sum())
    finding = (
        f"In {short} of {len(ledger.months)} months all that is counted on is set aside: nothing "
        "is announced"
    )
    commitments_ml = {
        title: ledger.columns[name] for name, title in wording.COMMITMENT_TITLES.items()
    }
    show.chart(
        set_aside_by_month_chart(ledger.months, resource_ml, commitments_ml, title=finding),
        key="walk_set_aside",
        alt=finding,
        frame=lambda: findings.months_frame(
            ledger.months, {"Counted on": resource_ml, **commitments_ml}, unit="ML"
        ),
    )


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
    standing.river_counted_on(plan, record)
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
    show.parts(
        {
            "Dam and account": lambda: show_dam(ledger),
            "What is set aside": lambda: show_set_aside(ledger, dead_storage_ml),
        },
        key="walk_part",
    )


standing.odds_page(_page)
