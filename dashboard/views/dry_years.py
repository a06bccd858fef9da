"""Dry years again: the ledger of one possible run of seasons, or of any observed stretch."""

from __future__ import annotations

from functools import partial

import streamlit as st

from dashboard import cached, choices, controls, doubts, frame, show
from dashboard.charts.drawing import NARROW_PX
from dashboard.charts.dry_cases import cases_picture
from dashboard.charts.dry_years import set_aside_by_month_chart, walk_chart
from dashboard.findings import dry_years as findings
from model.outlook.replay import Ledger
from model.plan.plan import Plan
from model.record.record import Record
from model.say import numbers


def _show_dam(ledger: Ledger) -> None:
    """Show dam and account at the end of each month."""
    finding = findings.dam_finding(ledger)
    storage_ml, account = (
        ledger.columns[name] for name in ("storage_end_ml", "account_ml_per_share")
    )
    show.chart(
        walk_chart(ledger.months, storage_ml, account, title=finding),
        key="walk",
        alt=finding,
        frame=lambda: findings.ledger_frame(ledger),
    )


def _show_set_aside(ledger: Ledger, dead_storage_ml: float) -> None:
    """Show what each month's assessment counted on, and what it set aside."""
    resource_ml = findings.counted_on_ml(ledger, dead_storage_ml)
    commitments_ml = findings.commitments_ml(ledger)
    finding = findings.set_aside_finding(ledger, resource_ml)
    show.chart(
        set_aside_by_month_chart(ledger.months, resource_ml, commitments_ml, title=finding),
        key="walk_set_aside",
        alt=finding,
        frame=lambda: findings.months_frame(
            ledger.months, {"Counted on": resource_ml, **commitments_ml}, unit="ML"
        ),
    )


def _observed(plan: Plan, record: Record) -> Ledger:
    """Ask for a stretch of the record, and replay it from where things stand."""
    first_column, length_column = st.columns(2)
    first = first_column.selectbox(
        "From the observed year",
        findings.first_months(record),
        format_func=findings.year_name,
        key="stretch_from",
        persist_state="session",
    )
    most = findings.most_years(record, first)
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
    return cached.observed_stretch(plan, record, first, findings.last_month(first, int(years)))


def _drawn(plan: Plan, record: Record) -> Ledger:
    """Ask for one of the drawn runs."""
    count = len(cached.drawn_ahead(plan, record).drawn)
    number = st.number_input(
        f"Which possible sequence, 1 to {numbers.number(count)}",
        min_value=1,
        max_value=count,
        value=1,
        key="run_number",
        persist_state="session",
    )
    return cached.one_sequence(plan, record, int(number))


def _cases(given: Plan, record: Record) -> None:
    """Answer with the driest seasons on record and two of nothing, side by side."""
    head = st.container()
    plan = choices.plan_with_ours(given)
    names = [each.name for each in cached.farm_setting(plan, record).strategies]
    at = controls.strategy("Strategy", names, key="money_strategy", usual=choices.usual(names))
    setting, cases = cached.dry_cases(plan, record, at)
    with head:
        frame.answer(findings.cases_answer(cases), plan)
        doubts.river_moved(plan, record)
    draw = partial(
        cases_picture,
        [findings.case_name(case) for case in cases],
        [season.water_year for season in cases[0].seasons],
        findings.cases_columns(cases, setting.rules.cash.overdraft_limit_aud),
        alt=findings.cases_answer(cases),
    )
    show.picture(
        draw(), narrow=draw(width=NARROW_PX), key="cases", frame=lambda: findings.cases_frame(cases)
    )
    st.caption(
        "Met from today's dam, account and bank, month by month as observed; what followed the dry "
        "seasons is in the run too. After seasons of nothing comes the middle of what may come. "
        "None of them is a forecast: how likely dry seasons are, the odds say."
    )


def _page(plan: Plan, record: Record) -> None:
    """Show the driest seasons side by side; walk through one run of seasons."""
    if plan.farm is None:
        frame.answer("What if the worst came from here?", plan)
        doubts.river_moved(plan, record)
    else:
        _cases(plan, record)
    st.header("One run of seasons, month by month", anchor=False)
    doubts.river_as_observed(plan, record)
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
            "Dam and account": lambda: _show_dam(ledger),
            "What is set aside": lambda: _show_set_aside(ledger, dead_storage_ml),
        },
        key="walk_part",
    )


frame.odds_page(_page)
