"""Strategies side by side: ways of running the farm, on the same possible runs of seasons."""

from __future__ import annotations

import streamlit as st

from dashboard import (
    cached_farm,
    frontier_page,
    odds_page,
    parts,
    river_note,
    strategies_page,
    wording,
)
from dashboard.announced_error import show_announced_error
from model.decide.compare import Comparison
from model.farm.run import FarmResults
from model.plan.plan import Plan
from model.record.record import Record
from model.say.cautions import WATER_ONLY
from model.say.price import price_lines

MOST_AT_ONCE = 5


def _page(plan: Plan, record: Record) -> None:
    """Compare the plan's strategies."""
    st.header("Which way of running the farm?", anchor=False)
    if plan.farm is None:
        st.info(wording.NO_FARM)
        return
    river_note.show(plan, record)
    show_announced_error(plan, record)
    _show(plan, record, *cached_farm.comparison(plan, record))


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
    if prices := price_lines(found.setting.prices_met()):
        st.caption(" ".join(prices))
    ours = [outcome.strategy.name for outcome in outcomes]
    shown = {
        "How they end": lambda: strategies_page.show_ends(outcomes),
        "What may go wrong": lambda: strategies_page.show_goes_wrong(outcomes),
        "Season by season": lambda: strategies_page.show_season_by_season(outcomes),
        "Hold back or plant less": lambda: frontier_page.show(plan, record, names),
    }
    if len(ours) > 1:
        shown["Run by run"] = lambda: strategies_page.show_run_by_run(found, results, ours)
    parts.show(shown, key="strategies_part")


odds_page.show(_page)
