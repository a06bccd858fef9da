"""Beside the odds: would they have held? What is known of that, and where to ask."""

from __future__ import annotations

import streamlit as st

from dashboard import cached
from model.plan.plan import Plan
from model.record.record import Record


def show(plan: Plan, record: Record) -> None:
    """Say whether the chance of none held in the observed years, once that was tried."""
    found = cached.evidence(plan, record).found
    if found is None:
        st.caption(
            "Not tried yet: whether such odds would have held in the observed years. The page How "
            "far to trust this does it, in about a minute."
        )
        return
    # Imported here: the first page does not need the evidence.
    from model.evidence.verdict import NONE_SAID, none_words

    said = f"Tried on the observed years. {none_words(found.of(plan.sequences.method))}"
    (st.warning if f"{NONE_SAID} too" in said else st.caption)(said)
