"""A decision taken, as the diary keeps it: with the plan as it stands on the page."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import streamlit as st

from dashboard import state
from model.keeping.diary import Decision
from model.keeping.folder import data_folder, database_path
from model.plan.plan import Plan
from model.record.record import Record


def diary_path() -> Path:
    """Find the diary's file, in the person's data folder."""
    return database_path(data_folder())


def decision(plan: Plan, record: Record, day: dt.date, words: str, at_odds: str) -> Decision:
    """Join a decision with a copy of its plan."""
    return Decision(
        decided_on=day,
        decision=words,
        odds=at_odds,
        plan_path=str(st.session_state.kept.path),
        plan_title=plan.title,
        plan_text=state.current_text(),
        record_sha256=record.sha256,
    )
