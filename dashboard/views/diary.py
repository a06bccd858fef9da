"""Diary: what we decided, at what odds, on which plan, and how it turned out."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import streamlit as st

from dashboard import cached, faults, tables, wording
from dashboard.decided import decision, diary_path
from dashboard.findings import none_chances
from model.errors import InputError
from model.keeping import diary
from model.keeping.diary import Entry

DIARY = diary_path()
plan, record = st.session_state.current
odds = cached.water_ahead(plan, record).outlook
chances = none_chances(odds.seasons)
OFFERED = "\n".join(
    [
        wording.standing(plan),
        *(f"{name}: {wording.chance_words(estimate)}." for name, estimate in chances.items()),
        wording.drawn_from(odds),
    ]
)


def _write_down() -> None:
    """Ask for a decision, beside the odds of this page."""
    offer = hashlib.sha256(OFFERED.encode()).hexdigest()[:8]
    decided_on = st.date_input(
        "Decided on", key="decided_on", format="YYYY-MM-DD", persist_state="session"
    )
    words = st.text_area(
        "What we decided",
        key="decided",
        placeholder="Prepare 120 ha now; hold 0.10 ML per share; look again in October.",
        persist_state="session",
    )
    at_odds = st.text_area(
        "At what odds",
        OFFERED,
        key=f"odds_{offer}",
        height=160,
        persist_state="session",
        help="As the page has them now; change or add as you like.",
    )
    if st.button("Write it down", key="write_down"):
        _try(diary.append, DIARY, decision(plan, record, decided_on, words, at_odds))


def _try(act: Callable[..., object], *words: object) -> None:
    """Write to the diary; say what is to mend where it cannot be done."""
    try:
        act(*words)
    except InputError as error:
        faults.show(error, "Nothing was written.", key="diary_faults")
    else:
        st.session_state.notice = "It stands in the diary."
        st.rerun()


def _entry(entry: Entry) -> None:
    """Show a decision, and ask how it turned out."""
    taken = entry.decision
    head = taken.decision.splitlines()[0][:80]
    with st.expander(f"{taken.decided_on}: {head}", key=f"entry_{entry.number}"):
        st.markdown("**What we decided**")
        st.text(taken.decision)
        st.markdown("**At what odds**")
        st.text(taken.odds)
        gone = "" if Path(taken.plan_path).is_file() else " (this file is gone)"
        st.caption(f"Plan: {taken.plan_title}, {taken.plan_path}{gone}")
        name = f"plan_{taken.decided_on}.toml"
        tables.take("The plan as it was, TOML", taken.plan_text, name, f"snap_{entry.number}")
        with st.form(f"outcome_{entry.number}", border=False):
            turned_out = st.text_area(
                "How it turned out", entry.outcome, key=f"turned_out_{entry.number}"
            )
            if st.form_submit_button("Note it"):
                _try(diary.amend_outcome, DIARY, entry.number, turned_out)


st.header("Diary of decisions", anchor=False)
st.caption(
    "A decision is judged by the odds it was taken at, not by how it turned out. Each keeps a copy "
    f"of its plan. The diary is one file: {DIARY}"
)
st.subheader("Write a decision down", anchor=False)
_write_down()
st.subheader("What was decided", anchor=False)
listed: tuple[Entry, ...] = ()
try:
    listed = diary.entries(DIARY)
    if not listed:
        st.info("Nothing yet. The first decision you write down is listed here.")
except InputError as error:
    faults.show(error, "The diary cannot be read; its file is left as it is.", key="diary_read")
for one in listed:
    _entry(one)
if listed:
    tables.take("The whole diary, CSV", diary.diary_csv(listed), "diary.csv", "diary_csv")
