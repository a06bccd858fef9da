"""Money: does one strategy's bank stay within its limit, is debt served, and what may turn?"""

from __future__ import annotations

import streamlit as st

from dashboard import cached, charts, choices, metrics, odds_page, river_note, stress_page, tables
from dashboard import money_findings as money
from dashboard.announced_error import show_announced_error
from model.brief.lender_page import (
    BELOW_0,
    COVER_BY_SEASON,
    FORMULAS,
    nothing_due,
    survives_words,
)
from model.decide.cash_months import CashMonths
from model.decide.compare import StrategyOutcome
from model.decide.compare_files import WATER_ONLY
from model.plan import Plan
from model.record import Record
from model.water_year import format_month


def _bank(cash: CashMonths, outcome: StrategyOutcome, limit_aud: float) -> None:
    """Show the bank by month against the overdraft limit."""
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


def _chances(outcome: StrategyOutcome) -> None:
    """Show what may go wrong, season by season and in the whole run."""
    finding = money.season_chances_finding(outcome)
    tables.chart(
        charts.chances_by_strategy_chart(money.season_chances(outcome), title=finding),
        key="money_chances",
        alt=finding,
        frame=lambda: money.season_chances_frame(outcome),
    )
    st.markdown(survives_words(outcome))


def _measures(outcome: StrategyOutcome) -> None:
    """Show what a lender asks for, season by season, with the formulas beside."""
    st.header("What a lender asks for", anchor=False)
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
    of_cover = "" if nothing_due(outcome) else f"{BELOW_0} {COVER_BY_SEASON}"
    st.caption(f"{money.formulas(FORMULAS, outcome)} {of_cover}")


def _page(plan: Plan, record: Record) -> None:
    """Follow one strategy's money."""
    st.header("Does the money hold out?", anchor=False)
    if plan.farm is None:
        st.info("This plan has no farm yet: add a [farm] table to the plan file.")
        return
    found, _ = cached.comparison(plan, record)
    names = [each.strategy.name for each in found.outcomes]
    at = choices.strategy("Strategy", names, key="money_strategy")
    ours, limit = found.outcomes[at], found.setting.rules.cash.overdraft_limit_aud
    by_month, stressed = cached.money(plan, record, at)
    st.caption(f"{found.count:,} possible runs. {WATER_ONLY}")
    river_note.show(plan, record)
    show_announced_error(plan, record)
    for note in money.notes(found, ours):
        st.info(note)
    metrics.row(money.run_chances(ours))
    _bank(by_month, ours, limit)
    _chances(ours)
    _measures(ours)
    stress_page.show(stressed, limit)


odds_page.show(_page)
