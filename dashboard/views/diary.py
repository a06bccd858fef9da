"""Diary: what we decided, at what odds, on which plan, and how it turned out."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import streamlit as st

from dashboard import cached, faults, state, tables, wording
from dashboard.findings import none_chances
from model.errors import InputError
from model.keeping import diary
from model.keeping.diary import Decision, Entry
from model.keeping.folder import data_folder, database_path

DIARY = database_path(data_folder())
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
    with st.form("decision", border=False, clear_on_submit=False):
        decided_on = st.date_input("Decided on", key="decided_on", format="YYYY-MM-DD")
        words = st.text_area(
            "What we decided",
            key="decided",
            placeholder="Prepare 120 ha now; hold 0.10 ML per share; look again in October.",
        )
        at_odds = st.text_area(
            "At what odds",
            OFFERED,
            key=f"odds_{offer}",
            height=160,
            help="As the page has them now; change or add as you like.",
        )
        if st.form_submit_button("Write it down"):
            _try(diary.append, DIARY, _decision(decided_on, words, at_odds))


def _decision(decided_on: date, words: str, at_odds: str) -> Decision:
    return Decision(
        decided_on=decided_on,
        decision=words,
        odds=at_odds,
        plan_path=str(st.session_state.kept.path),
        plan_title=plan.title,
        plan_text=state.current_text(),
        record_sha256=record.sha256,
    )


def _try(act: object, *words: object) -> None:
    """Write to the diary; say what is to mend where it cannot be done."""
    try:
        act(*words)  # type: ignore[operator]
    except InputError as error:
        faults.show(error, "Nothing was written.", key="diary_faults")
    else:
        st.session_state.notice = "It stands in the diary."
        st.rerun()


def _entry(entry: Entry) -> None:
    """Show a decision, and ask how it turned out."""
    decision = entry.decision
    head = decision.decision.splitlines()[0][:80]
    with st.expander(f"{decision.decided_on}: {head}", key=f"entry_{entry.number}"):
        st.markdown("**What we decided**")
        st.text(decision.decision)
        st.markdown("**At what odds**")
        st.text(decision.odds)
        gone = "" if Path(decision.plan_path).is_file() else " (this file is gone)"
        st.caption(f"Plan: {decision.plan_title}, {decision.plan_path}{gone}")
        name = f"plan_{decision.decided_on}.toml"
        tables.take("The plan as it was, TOML", decision.plan_text, name, f"snap_{entry.number}")
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
