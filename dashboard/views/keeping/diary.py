"""The diary: what we decided, at what odds, on which plan, and how it turned out."""

from __future__ import annotations

import hashlib
from pathlib import Path

import streamlit as st

from dashboard import cached, controls, show
from dashboard.decided import show_came, show_counted
from dashboard.findings.water import none_chances
from dashboard.state import decision, diary_path
from model.errors import InputError
from model.keeping import diary
from model.keeping.diary import Entry
from model.plan.plan import Plan
from model.record.record import Record
from model.say.method import drawn_from
from model.say.numbers import chance
from model.say.outlook import standing_in_words

STANDS = "Saved to the diary."


def show_diary(plan: Plan, record: Record) -> None:
    """Ask for a decision at the odds of now, and list those written down."""
    st.caption(
        "A decision is judged by the odds it was taken at, not by how it turned out. Each keeps a "
        f"copy of its plan. The diary is one file: {diary_path()}"
    )
    st.subheader("Write a decision down", anchor=False)
    _write_down(plan, record)
    st.subheader("What was decided", anchor=False)
    _listed()


def _odds_now(plan: Plan, record: Record) -> str:
    """Return the odds of now, as the diary keeps them."""
    odds = cached.water_ahead(plan, record).outlook
    chances = none_chances(odds.seasons)
    return "\n".join(
        [
            standing_in_words(plan),
            *(f"{name}: {chance(estimate)}." for name, estimate in chances.items()),
            drawn_from(odds),
        ]
    )


def _write_down(plan: Plan, record: Record) -> None:
    """Ask for a decision, beside the odds of this page."""
    offered = _odds_now(plan, record)
    offer = hashlib.sha256(offered.encode()).hexdigest()[:8]
    st.date_input("Decided on", key="decided_on", format="YYYY-MM-DD", persist_state="session")
    st.text_area(
        "What we decided",
        key="decided",
        placeholder="Prepare 120 ha now; hold 0.10 ML per share; look again in October.",
        persist_state="session",
    )
    st.text_area(
        "At what odds",
        offered,
        key=f"odds_{offer}",
        height=160,
        persist_state="session",
        help="As the page has them now; change or add as you like.",
    )
    controls.button("Write it down", "write_down", _append, plan, record, f"odds_{offer}")


def _append(plan: Plan, record: Record, odds_key: str) -> None:
    """Write down what stands in the fields, with the plan that the page shows."""
    typed = st.session_state
    taken = decision(plan, record, typed.decided_on, typed.decided, typed[odds_key])
    diary.append(diary_path(), taken)
    typed.notice = STANDS


def _amend(number: int, outcome_key: str) -> None:
    """Note how a decision turned out, as typed."""
    diary.amend_outcome(diary_path(), number, st.session_state[outcome_key])
    st.session_state.notice = STANDS


def _entry(entry: Entry) -> None:
    """Show a decision, and ask how it turned out."""
    taken = entry.decision
    head = taken.decision.splitlines()[0][:80]
    with st.expander(f"{taken.decided_on}: {head}", key=f"entry_{entry.number}"):
        st.markdown("**What we decided**")
        st.text(taken.decision)
        st.markdown("**At what odds**")
        st.text(taken.odds)
        show_came(taken)
        gone = "" if Path(taken.plan_path).is_file() else " (this file is gone)"
        st.caption(f"Plan: {taken.plan_title}, {taken.plan_path}{gone}")
        name = f"plan_{taken.decided_on}.toml"
        show.take("The plan as it was, TOML", taken.plan_text, name, f"snap_{entry.number}")
        with st.form(f"outcome_{entry.number}", border=False):
            outcome_key = f"turned_out_{entry.number}"
            st.text_area("How it turned out", entry.outcome, key=outcome_key)
            controls.submit("Note it", outcome_key, _amend, entry.number, outcome_key)


def _listed() -> None:
    """Show what was decided, newest first."""
    listed: tuple[Entry, ...] = ()
    try:
        read = diary.read_diary(diary_path())
        listed = read.entries
        for damaged in read.damaged:
            st.warning(f"Set aside, the file keeps it: {damaged}.")
        if not (listed or read.damaged):
            st.info("Nothing yet. The first decision you write down is listed here.")
    except InputError as error:
        show.faults(error, "The diary cannot be read; its file is left as it is.", key="diary_read")
    show_counted(one.decision for one in listed)
    for one in listed:
        _entry(one)
    if listed:
        show.take("The whole diary, CSV", diary.diary_csv(listed), "diary.csv", "diary_csv")
