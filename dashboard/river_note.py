"""Beside odds: does the plan count on a drier river than the record, or does it not?"""

from __future__ import annotations

import streamlit as st

from model.plan.plan import Plan
from model.record.record import Record
from model.sequences.drying import is_changed, river_in_words


def show(plan: Plan, record: Record) -> None:
    """Warn where flow is scaled, or the state the run opens in is stated; else say it is not."""
    said = river_in_words(record, plan.sequences)
    (st.warning if is_changed(plan.sequences) else st.caption)(said)
