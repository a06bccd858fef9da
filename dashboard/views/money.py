"""Money: does one strategy's bank stay within its limit, is debt served, and what may turn?"""

from __future__ import annotations

import streamlit as st

from dashboard import (
    cached_farm,
    choices,
    metrics,
    money_page,
    odds_page,
    parts,
    river_note,
    stress_page,
    wording,
)
from dashboard import money_findings as money
from dashboard.announced_error import show_announced_error
from model.plan.plan import Plan
from model.record.record import Record
from model.say.cautions import WATER_ONLY


def _page(plan: Plan, record: Record) -> None:
    """Follow one strategy's money."""
    st.header("Does the money hold out?", anchor=False)
    if plan.farm is None:
        st.info(wording.NO_FARM)
        return
    names = [each.name for each in cached_farm.farm_setting(plan, record).strategies]
    at = choices.strategy("Strategy", names, key="money_strategy")
    found = cached_farm.one_strategy(plan, record, at)
    (ours,), limit = found.outcomes, found.setting.rules.cash.overdraft_limit_aud
    st.caption(f"{found.count:,} possible runs. {WATER_ONLY}")
    river_note.show(plan, record)
    show_announced_error(plan, record)
    for note in money.notes(found, ours):
        st.info(note)
    metrics.row(money.run_chances(ours))
    parts.show(
        {
            "The bank by month": lambda: money_page.show_bank(plan, record, at, ours, limit),
            "What may go wrong": lambda: money_page.show_chances(ours),
            "What a lender asks for": lambda: money_page.show_measures(ours),
            "If it turns against you": lambda: stress_page.show(
                cached_farm.stress(plan, record, at), limit
            ),
        },
        key="money_part",
    )


odds_page.show(_page)
