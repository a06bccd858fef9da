"""Papers: the brief for a partner or lender, and the workbook behind it."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from dashboard import cached, tables
from dashboard.announced_error import held_or_said
from model.decide.compare_files import FARM_CAUTION
from model.decide.strategy import strategies_of
from model.evidence.judge import Evidence

plan, record = st.session_state.current


def _verdict(found: Evidence | None) -> tuple[str, ...]:
    """Say what the evidence says; nothing where there is none."""
    if found is None:
        return ()
    from model.evidence.verdict import verdict

    return tuple(verdict(found, plan.sequences.method))


def _tried() -> Evidence:
    """Try the odds on every observed year, and show how far it is."""
    from model.evidence.hindcast import hindcast
    from model.evidence.judge import judge

    bar = st.progress(0.0, "Standing in every observed year ...")

    def progress(done: int, total: int) -> None:
        bar.progress(
            done / total,
            f"Standing in every observed year: {done} of {total}. Turn it off above to stop.",
        )

    found = judge(hindcast(plan, record, progress=progress))
    cached.evidence(plan, record).found = found
    bar.empty()
    return found


def _asked_for() -> None:
    """Show what can be chosen, and make the papers when asked to."""
    strategy = st.selectbox(
        "The strategy the papers are about",
        [each.name for each in strategies_of(plan)],
        key="paper_strategy",
        persist_state="session",
    )
    kept = cached.evidence(plan, record).found
    try_first = False
    if kept is None:
        try_first = st.toggle(
            "Try the odds on the observed years first (about a minute)",
            key="paper_evidence",
            persist_state="session",
            help="The papers then say in how many observed years such odds would have held.",
        )
    else:
        st.caption("The odds have been tried on the observed years: the papers say how they held.")
    asked = (plan.model_dump_json(), record.sha256, strategy)
    if st.button("Make the papers", key="make_papers"):
        st.session_state.papers_of = None  # until they are whole: what is stopped is not begun anew
        found = _tried() if try_first else kept
        _made(strategy, _verdict(found))
        st.session_state.papers_of = asked
        if try_first:
            st.rerun()
    if st.session_state.get("papers_of") == asked:
        _offer(strategy, _verdict(kept))


def _made(strategy: str, verdict: tuple[str, ...]) -> tuple[bytes, bytes]:
    """Make both files, with how far the rules were from what was announced."""
    held = held_or_said(plan, record)
    return cached.papers(plan, record, strategy, verdict, dt.date.today(), held)


def _offer(strategy: str, verdict: tuple[str, ...]) -> None:
    """Offer both files."""
    brief, workbook = _made(strategy, verdict)
    if not verdict:
        st.caption("The odds were not tried on the observed years: the brief says so.")
    tables.take("Take the brief (PDF)", brief, "brief.pdf", "brief_pdf")
    tables.take("Take the workbook (XLSX)", workbook, "workbook.xlsx", "workbook_xlsx")


st.header("On paper, for a partner or a lender", anchor=False)
if plan.farm is None:
    st.info(
        "The papers are about a farm, and this plan has none yet: add a [farm] table to the plan "
        "file (the demonstration's explains every line)."
    )
else:
    st.markdown(
        "Four pages to print: the odds of water, what would be planted and held, cash against the "
        "overdraft, what a lender asks for, and how far to trust it all. The workbook holds the "
        "same figures, season by season and month by month."
    )
    _asked_for()
    st.caption(FARM_CAUTION)
