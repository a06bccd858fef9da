"""The parts of the page of money, one open at a time."""

from __future__ import annotations

import streamlit as st

from dashboard import cached_farm, charts, tables
from dashboard import money_findings as money
from model.decide.compare import StrategyOutcome
from model.plan.plan import Plan
from model.record.record import Record
from model.say.bank import bills_past_limit_in_words
from model.say.comparison import survives_in_words
from model.say.lender import BELOW_0, COVER_BY_SEASON
from model.water_year import format_month


def show_bank(
    plan: Plan, record: Record, at: int, outcome: StrategyOutcome, limit_aud: float
) -> None:
    """Show the bank by month against the overdraft limit."""
    cash = cached_farm.bank_by_month(plan, record, at)
    months = [format_month(cash.first_month + t) for t in range(cash.bands_aud.shape[1])]
    if len(months) == 1:
        st.markdown(f"{money.one_month_finding(cash, outcome)}.")
        return
    finding = money.bank_finding(cash, outcome)
    tables.chart(
        charts.bank_chart(months, cash.bands_aud, limit_aud=limit_aud, title=finding),
        key="money_bank",
        alt=finding,
        frame=lambda: money.bank_frame(cash),
    )
    st.caption(
        f"The bank at each month's end in {cash.sequences:,} of the runs. A band is of one month "
        "alone: more runs pass the limit in some month than in any one month."
    )


def show_chances(outcome: StrategyOutcome) -> None:
    """Show what may go wrong, season by season and in the whole run."""
    finding = money.season_chances_finding(outcome)
    tables.chart(
        charts.chances_by_strategy_chart(money.season_chances(outcome), title=finding),
        key="money_chances",
        alt=finding,
        frame=lambda: money.season_chances_frame(outcome),
    )
    st.markdown(bills_past_limit_in_words(outcome))
    st.markdown(survives_in_words(outcome))


def show_measures(outcome: StrategyOutcome) -> None:
    """Show what a lender asks for, season by season, with the formulas beside."""
    name = st.selectbox(
        "Measure",
        list(money.measures_of(outcome)),
        format_func=lambda each: money.MEASURES[each].title,
        key="money_measure",
        persist_state="session",
    )
    measure, finding = money.MEASURES[name], money.measure_finding(outcome, name)
    lines = money.COVER_LINES if name == "cover" else ()
    tables.chart(
        charts.measure_chart(
            money.measure_by_year(outcome, name), title=finding, unit=measure.unit, lines=lines
        ),
        key="money_measure_chart",
        alt=finding,
        frame=lambda: money.measure_frame(outcome),
    )
    for said in money.cover_chances(outcome):
        st.markdown(said)
    st.caption("Bars: 8 runs in 10. In brackets: the 95 % range that the record leaves.")
    tables.show(money.measure_summary(outcome))
    of_cover = "" if outcome.nothing_due else f"{BELOW_0} {COVER_BY_SEASON}"
    st.caption(f"{money.formulas(outcome)} {of_cover}")
