"""What is the same on every page of odds: two figures that move, and the page that follows them.

Both run alone, apart from the frame: what moves on the page is answered without drawing the rest.
"""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from dashboard import faults, fields, opening_page, standing, state
from model.errors import InputError
from model.plan.plan import Plan
from model.record.record import Record

UNLIMITED_SHOWN = 3.0
"""ML per share: the end of the account's scale where the valley sets no limit."""


@st.fragment
def show(page: Callable[[Plan, Record], None]) -> None:
    """Show a page under the dam and the account; what was changed on it is kept at once."""
    _dam_and_account()
    current = standing.plan_and_record()
    if current is not None:
        try:
            page(*current)
        except InputError as error:
            faults.show(error, "This could not be done: something needs mending.", key="faults")
    state.keep_sitting()


def _dam_and_account() -> None:
    """Ask for what is in the dam and in the account."""
    capacity_ml = float(state.figure("valley.capacity_ml"))
    limit = state.figure("valley.accounts.account_limit_ml_per_share") or UNLIMITED_SHOWN
    dam, account = st.columns(2)
    with dam:
        fields.slider(
            "opening.storage_ml",
            "Water in the dam, ML",
            highest=capacity_ml,
            step=max(1.0, round(capacity_ml / 600)),
            shown="%,.0f",
        )
    with account:
        fields.slider(
            "opening.account_ml_per_share",
            "Water in the account, ML per share",
            highest=limit,
            step=0.01,
            then=opening_page.keep_carried_within,
        )
