"""Strategies side by side: ways of running the farm, on the same possible runs of seasons."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, charts, frontier_page, odds_page, river_note, tables
from dashboard import farm_findings as farm
from dashboard.announced_error import show_announced_error
from model.decide.compare import Comparison, StrategyOutcome
from model.decide.compare_files import WATER_ONLY
from model.farm.run import FarmResults
from model.plan import Plan
from model.record import Record

MOST_AT_ONCE = 5


def _page(plan: Plan, record: Record) -> None:
    """Compare the plan's strategies."""
    st.header("Which way of running the farm?", anchor=False)
    if plan.farm is None:
        st.info(
            "This plan has no farm yet. Add a [farm] table to the plan file (the demonstration's "
            "explains every line), and open it again."
        )
        return
    river_note.show(plan, record)
    show_announced_error(plan, record)
    _show(plan, record, *cached.comparison(plan, record))


def _show(plan: Plan, record: Record, found: Comparison, results: FarmResults) -> None:
    """Show the strategies chosen: how they end, what goes wrong, each season, run by run."""
    names = [outcome.strategy.name for outcome in found.outcomes]
    chosen = st.segmented_control(
        "Strategies to look at",
        names,
        selection_mode="multi",
        default=names[:MOST_AT_ONCE],
        key="strategies_chosen",
    )[:MOST_AT_ONCE]
    outcomes = [outcome for outcome in found.outcomes if outcome.strategy.name in chosen]
    if not outcomes:
        st.info("Choose at least one strategy.")
        return
    st.caption(
        f"{found.count:,} possible runs, the same for every strategy. {WATER_ONLY} What a strategy "
        "leaves at the end (water, land made ready, the crop not yet paid for) is counted, so that "
        "none looks better by draining the account."
    )
    finding = farm.standing_finding(outcomes)
    tables.chart(
        charts.standing_chart(farm.standings(outcomes), title=finding),
        key="standing",
        alt=finding,
        frame=lambda: farm.standing_frame(outcomes),
    )
    st.caption(
        "Thousand AUD at the end of the run, and in brackets the 95 % range that the record "
        "leaves. Seasons survived: seasons running with no allocation, from today, to whose end no "
        "payment is missed and the overdraft stays within its limit; what follows is not counted."
    )
    st.table(farm.standing_summary(outcomes).set_index("Strategy"))
    finding = farm.missed_finding(outcomes)
    chances = farm.chances_by_strategy(outcomes)
    tables.chart(
        charts.chances_by_strategy_chart(chances, title=finding),
        key="went_wrong",
        alt=finding,
        frame=lambda: farm.chances_frame(chances),
    )
    _season_by_season(outcomes)
    frontier_page.show(plan, record, names)
    if len(outcomes) > 1:
        _run_by_run(found, results, [outcome.strategy.name for outcome in outcomes])


def _season_by_season(outcomes: list[StrategyOutcome]) -> None:
    """Show one amount, season by season."""
    st.header("Season by season", anchor=False)
    amount = st.selectbox(
        "Amount",
        list(farm.SEASON_AMOUNTS),
        format_func=lambda name: ", ".join(farm.SEASON_AMOUNTS[name]),
        key="season_amount",
    )
    finding = farm.season_finding(outcomes, amount)
    unit = farm.SEASON_AMOUNTS[amount][1]
    tables.chart(
        charts.season_chart(farm.by_season(outcomes, amount), title=finding, unit=unit),
        key="season_amount_chart",
        alt=finding,
        frame=lambda: farm.season_frame(outcomes, amount),
    )


def _run_by_run(found: Comparison, results: FarmResults, chosen: list[str]) -> None:
    """Show how far one strategy ends ahead of another in each run."""
    st.header("Run by run", anchor=False)
    first_column, second_column = st.columns(2)
    first = first_column.selectbox("How far is", chosen, index=len(chosen) - 1, key="ahead_first")
    others = [name for name in chosen if name != first]
    second = second_column.selectbox("ahead of", others, key="ahead_second")
    ahead_aud = farm.differences_aud(found, results, first, second)
    finding = farm.difference_finding(ahead_aud, first, second)
    tables.chart(
        charts.difference_chart(ahead_aud, title=finding),
        key="ahead",
        alt=finding,
        frame=lambda: tables.ordered_frame(ahead_aud, "AUD ahead"),
    )


odds_page.show(_page)
