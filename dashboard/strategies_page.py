"""The parts of the page that puts strategies side by side, one open at a time."""

from __future__ import annotations

import streamlit as st

from dashboard import charts, tables
from dashboard import farm_findings as farm
from model.decide.compare import Comparison, StrategyOutcome
from model.farm.run import FarmResults


def show_ends(outcomes: list[StrategyOutcome]) -> None:
    """Show how each strategy ends."""
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


def show_goes_wrong(outcomes: list[StrategyOutcome]) -> None:
    """Show what goes wrong some time in the run."""
    finding = farm.missed_finding(outcomes)
    chances = farm.chances_by_strategy(outcomes)
    tables.chart(
        charts.chances_by_strategy_chart(chances, title=finding),
        key="went_wrong",
        alt=finding,
        frame=lambda: farm.chances_frame(chances),
    )


def show_season_by_season(outcomes: list[StrategyOutcome]) -> None:
    """Show one amount, season by season."""
    amount = st.selectbox(
        "Amount",
        list(farm.SEASON_AMOUNTS),
        format_func=lambda name: ", ".join(farm.SEASON_AMOUNTS[name]),
        key="season_amount",
        persist_state="session",
    )
    finding = farm.season_finding(outcomes, amount)
    unit = farm.SEASON_AMOUNTS[amount][1]
    tables.chart(
        charts.season_chart(farm.by_season(outcomes, amount), title=finding, unit=unit),
        key="season_amount_chart",
        alt=finding,
        frame=lambda: farm.season_frame(outcomes, amount),
    )


def show_run_by_run(found: Comparison, results: FarmResults, chosen: list[str]) -> None:
    """Show how far one strategy ends ahead of another in each run."""
    first_column, second_column = st.columns(2)
    first = first_column.selectbox(
        "How far is",
        chosen,
        index=len(chosen) - 1,
        key="ahead_first",
        persist_state="session",
    )
    others = [name for name in chosen if name != first]
    second = second_column.selectbox(
        "ahead of", others, key="ahead_second", persist_state="session"
    )
    ahead_aud = farm.differences_aud(found, results, first, second)
    finding = farm.difference_finding(ahead_aud, first, second)
    tables.chart(
        charts.difference_chart(ahead_aud, title=finding),
        key="ahead",
        alt=finding,
        frame=lambda: tables.ordered_frame(ahead_aud, "AUD ahead"),
    )
