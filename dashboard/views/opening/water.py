"""The figures of today: dam, announcements and account, and who said so when."""

from __future__ import annotations

from typing import Final

import streamlit as st

from dashboard import controls, frame, state
from model.plan.cautions import not_set_since, undated_words

SOURCES: Final = {
    "storage_ml": "Dam",
    "announced_to_date_ml_per_share": "Announced",
    "high_security_allocation_frac": "High security",
    "account_ml_per_share": "Account",
}
"""The figures that somebody announces, and what each is called for short."""
USES: Final = {
    "carried_ml_per_share": "Carried over and not yet used, ML per share",
    "used_this_year_ml_per_share": "Used this water year, ML per share",
    "used_last_year_ml_per_share": "Used last water year, ML per share",
    "used_year_before_ml_per_share": "Used the year before, ML per share",
}


def dam() -> None:
    """Ask for the month, the dam and what is announced."""
    capacity_ml = float(state.figure("valley.capacity_ml"))
    st.subheader("The dam, and what is announced", anchor=False)
    controls.text(
        "opening.month",
        "Month, YYYY-MM",
        longest=7,
        meaning="All figures are as they stand at the start of this month, such as 2025-09.",
    )
    _not_set_since()
    controls.number(
        "opening.storage_ml",
        "Water in the dam, ML",
        highest=capacity_ml,
        step=controls.volume_step_ml(capacity_ml),
        digits=0,
        meaning="All the water in it, dead storage counted",
    )
    controls.number(
        "opening.announced_to_date_ml_per_share",
        "Announced this water year, ML per share",
        meaning="General-security allocation announced since 1 July",
        highest=100.0,
    )
    controls.number(
        "opening.high_security_allocation_frac",
        "High-security allocation, 0 to 1",
        highest=1.0,
        step=0.05,
    )
    controls.number(
        "opening.high_security_used_ml",
        "High security used this water year, ML",
        highest=float(state.figure("valley.high_security.shares_ml")),
        step=10.0,
        digits=0,
        meaning="By all high-security licences of the valley, since 1 July",
    )


def _not_set_since() -> None:
    """Remind of what still stands as for another month, and of what no date is given for."""
    if st.session_state.current is None:
        return
    now = st.session_state.current[0]
    if left := not_set_since(st.session_state.file_plan, now):
        st.warning(left)
    elif undated := undated_words(now):
        st.caption(f"{undated} Dates go under Source and date, below.")


def account() -> None:
    """Ask for the average account and its use, and where announced figures were read."""
    limit = float(state.figure("valley.accounts.account_limit_ml_per_share") or 100.0)
    st.subheader("The average account", anchor=False)
    controls.number(
        "opening.account_ml_per_share",
        "Water in the account, ML per share",
        highest=limit,
        meaning="What the average general-security holder may still order, carried water counted. "
        "Below the carried water, the carried water goes down with it",
        then=frame.keep_carried_within,
    )
    for name, label in USES.items():
        controls.number(f"opening.{name}", label, highest=100.0)
    with st.expander("Source and date of the announced figures"):
        for name, of_what in SOURCES.items():
            controls.source(name, of_what)
