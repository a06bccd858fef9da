"""The controls that all pages share: where things stand today, and how sequences are drawn."""

from __future__ import annotations

import streamlit as st

from model.plan import Plan
from model.plan_file import edit_plan, plan_changes

COUNTS = (1_000, 2_000, 5_000, 10_000, 20_000)

UNLIMITED_SHOWN = 3.0
"""ML per share: the end of the account's scale where the valley sets no limit."""


def controls(file_plan: Plan) -> None:
    """Show the controls in the sidebar."""
    with st.sidebar:
        st.header("Where things stand")
        _today(file_plan)
        with st.expander("Use so far and high security"):
            _use_so_far(file_plan)
        with st.expander("How possible runs are drawn"):
            _drawing(file_plan)


def plan_download(file_plan: Plan, plan: Plan) -> None:
    """Offer the plan file with the figures of the page; comments stay."""
    text = edit_plan(st.session_state.plan_text, plan_changes(file_plan, plan))
    st.sidebar.download_button(
        "Plan file with these figures",
        text,
        file_name="plan.toml",
        mime="application/toml",
        key="plan_download",
        on_click="ignore",
        help="A copy of the plan file, with its comments, that opens where this page stands.",
    )


def _today(plan: Plan) -> None:
    """Ask for the month, the dam and the account."""
    capacity_ml = plan.valley.capacity_ml
    account = plan.opening.account_ml_per_share
    limit = plan.valley.accounts.account_limit_ml_per_share or max(UNLIMITED_SHOWN, account)
    st.text_input(
        "Month that opens the run (YYYY-MM)",
        key="opening.month",
        help="Everything below is as it stands at the start of this month.",
    )
    st.slider(
        "Water in the dam, ML",
        min_value=0.0,
        max_value=float(capacity_ml),
        step=max(1.0, capacity_ml / 600),
        format="%,.0f",
        key="opening.storage_ml",
        help=f"All the water in it, dead storage counted. Full supply is {capacity_ml:,.0f} ML.",
    )
    st.slider(
        "Water in the account, ML per share",
        min_value=0.0,
        max_value=float(limit),
        step=0.01,
        key="opening.account_ml_per_share",
        help="What the average general-security holder may still order, carried water counted. "
        "Below the carried water, the carried water goes down with it.",
        on_change=_keep_carried_within_account,
    )


def _keep_carried_within_account() -> None:
    """Lower the carried part with the account that holds it, where the person lowers that."""
    carried, account = "opening.carried_ml_per_share", "opening.account_ml_per_share"
    st.session_state[carried] = min(st.session_state[carried], st.session_state[account])


def _use_so_far(plan: Plan) -> None:
    """Ask for the figures that change seldom."""
    for name, label in (
        ("carried_ml_per_share", "Carried over and not yet used, ML per share"),
        ("announced_to_date_ml_per_share", "Announced this water year, ML per share"),
        ("used_this_year_ml_per_share", "Used this water year, ML per share"),
        ("used_last_year_ml_per_share", "Used last water year, ML per share"),
        ("used_year_before_ml_per_share", "Used the year before, ML per share"),
    ):
        st.number_input(
            label, min_value=0.0, max_value=100.0, step=0.01, format="%.3f", key=f"opening.{name}"
        )
    st.number_input(
        "High security used this water year, ML",
        min_value=0.0,
        max_value=float(plan.valley.high_security.shares_ml),
        step=10.0,
        key="opening.high_security_used_ml",
    )
    st.number_input(
        "High-security allocation, 0 to 1",
        min_value=0.0,
        max_value=1.0,
        step=0.05,
        key="opening.high_security_allocation_frac",
    )


def _drawing(plan: Plan) -> None:
    """Ask how sequences are drawn."""
    st.selectbox(
        "Method",
        ("blocks", "historical", "neighbours", "regimes"),
        key="sequences.method",
        help="blocks: runs of observed years in a new order, so that dry runs stay together. "
        "historical: every observed start in turn. neighbours: what followed years like the last. "
        "regimes: a dry and a wet state; blocks where the record does not support them.",
    )
    st.selectbox("Seasons ahead, this one counted", (1, 2, 3), key="sequences.seasons")
    st.selectbox(
        "Possible runs drawn",
        sorted({*COUNTS, plan.sequences.count}),
        key="sequences.count",
        format_func=lambda count: f"{count:,}",
    )
    st.slider(
        "All flow times",
        min_value=min(0.5, plan.sequences.flow_factor),
        max_value=max(1.5, plan.sequences.flow_factor),
        step=0.05,
        key="sequences.flow_factor",
        help="Below 1: drier than the record. It is said on every page while it is not 1.",
    )
