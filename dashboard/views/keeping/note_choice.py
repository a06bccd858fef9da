"""A choice of area and water held, written into the diary with its odds."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from dashboard import controls
from dashboard.state import decision, diary_path
from model.decide.one_area import AreaOutcome
from model.keeping import diary
from model.plan.plan import Plan
from model.record.record import Record
from model.say.numbers import chance
from model.say.outlook import standing_in_words


def note_choice(
    plan: Plan, record: Record, choice: str, outcome: AreaOutcome, finding: str
) -> None:
    """Offer to write the choice in the diary, at the odds that the page gives it."""
    st.caption(
        "This choice stays with this plan in this window, also when the page is loaded again; the "
        "diary holds it for good. Money, Ways compared and Papers follow it as Our choice."
    )
    missed = chance(outcome.missed_in_run)
    at_odds = f"{standing_in_words(plan)}\n{finding}\nA loan payment missed: {missed}."

    def write() -> None:
        taken = decision(plan, record, dt.date.today(), choice, at_odds)
        diary.append(diary_path(), taken)
        st.session_state.choice_written = True

    controls.button("Write this choice in the diary", "note_choice", write)
    if st.session_state.pop("choice_written", False):
        st.success("Saved to the diary, with these odds and a copy of the plan.")
