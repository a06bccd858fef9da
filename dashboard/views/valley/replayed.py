"""What was announced, held against the rules; other settings are only offered.

Settings that come nearer to history change nothing by themselves: a button puts them in the plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from dashboard import cached, show, state
from dashboard.charts.our_valley import announced_chart
from dashboard.findings import our_valley as findings
from model.evidence.announced import opened_for_replay
from model.evidence.offer import FEWEST_YEARS, fit_settings, with_changes
from model.keeping.compare import differences
from model.say.announced import (
    HINDSIGHT,
    beyond_the_rules,
    gain_in_words,
    held_in_words,
    none_in_words,
    offer_in_words,
)

if TYPE_CHECKING:
    from model.evidence.announced import Held
    from model.evidence.offer import Offer
    from model.plan.plan import Plan
    from model.record.record import Record


def held_against(plan: Plan, record: Record) -> None:
    """Show how far the replay is from what was announced, and settings to try."""
    told = state.announcements(plan)
    held = cached.held(plan, record, told)
    names, years = findings.every_year(held)
    title = findings.held_finding(held)
    if beyond := beyond_the_rules(plan, held):
        st.warning(beyond)
    show.chart(
        announced_chart(
            names,
            findings.amounts_of(years, "announced_ml_per_share"),
            findings.amounts_of(years, "replayed_ml_per_share"),
            title=title,
        ),
        key="announced_fit",
        alt=title,
        frame=lambda: findings.held_frame(held),
    )
    st.markdown(held_in_words(held))
    st.markdown(none_in_words(held))
    st.caption(HINDSIGHT)
    st.subheader("Would other settings come nearer?", anchor=False)
    _offer(plan, record, held)


def _offer(plan: Plan, record: Record, held: Held) -> None:
    """Try other settings on asking, and offer the best; nothing is changed in silence."""
    if len(held.years) < FEWEST_YEARS:
        st.info(
            f"With {FEWEST_YEARS} years or more, other settings can be tried: three settings "
            "chosen on fewer would only be fitted to their accidents."
        )
        return
    st.markdown(
        "Three settings are hard to look up: how much the river loses, what inflow an assessment "
        "counts on, and what others keep in their accounts. A hundred or so of their values can be "
        "tried; the best is judged on years it was not chosen on."
    )
    told = state.announcements(plan)
    found = show.result_of(
        cached.offer(plan, record, told),
        lambda progress: fit_settings(opened_for_replay(plan), record, told, held, progress),
        key="settings",
        ask="Try other settings (about half a minute)",
        meanwhile="Replaying the years under each setting",
        unit="settings",
    )
    if found is not None:
        _show_offer(plan, found)


def _show_offer(plan: Plan, offer: Offer) -> None:
    """Show what is offered, what it would change, and a button that puts it in the plan."""
    if not offer.worth_offering:
        st.markdown(offer_in_words(offer))
        return
    st.markdown(f"Other settings are offered, not made. {gain_in_words(offer)}")
    show.plain_table(findings.offer_frame(offer))
    st.markdown("They would change:")
    told = differences(plan, with_changes(plan, offer.changes))
    show.plain_table(show.differences_frame(told, "In the plan", "Offered"))
    st.caption(
        "A better fit may have another reason, such as rules that were others then. Where the "
        "valley's water sharing plan gives these figures, they prevail."
    )
    st.button("Put these settings in the plan", key="use_offer", on_click=_use_offer, args=(offer,))


def _use_offer(offer: Offer) -> None:
    for key, value in offer.changes.items():
        state.put(key, list(value) if isinstance(value, tuple) else value)
    st.session_state.notice = (
        "The offered settings stand in the plan now: see The dam and The rules. Save it "
        "under Change."
    )
