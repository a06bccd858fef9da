"""Papers: the brief for a partner or lender, and the workbook behind it."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from dashboard import cached, choices, controls, doubts, show
from dashboard.doubts import held_or_said
from model.decide.strategy import strategies_of
from model.evidence.judge import Evidence
from model.evidence.verdict import Verdict, verdict_of
from model.outlook.setting import Progress
from model.say.numbers import count

given, record = st.session_state.current
plan = choices.plan_with_ours(given)


def _verdict(found: Evidence | None) -> Verdict | None:
    """Show what the evidence says; nothing where there is none."""
    if found is None:
        return None
    return verdict_of(found, plan.sequences.method or found.recommended.method)


def _tried() -> Evidence | None:
    """Try the odds on the observed years where it is asked for; return what is kept of it."""
    found = show.result_of(
        cached.evidence(plan, record),
        _on_observed_years,
        key="evidence",
        ask="Try the odds on the observed years first (about a minute)",
        meanwhile="Standing in every observed year",
        unit="years",
    )
    if found is not None:
        st.caption("The odds have been tried on the observed years: the papers say how they held.")
    return found


def _on_observed_years(progress: Progress) -> Evidence:
    """Stand in every observed year, knowing only what was known then."""
    from model.evidence.hindcast import hindcast
    from model.evidence.judge import judge

    return judge(hindcast(plan, record, progress=progress))


def _asked_for() -> None:
    """Show what can be chosen, and make the papers when asked to."""
    names = [each.name for each in strategies_of(plan)]
    label = "The strategy the papers are about"
    usual = choices.usual(names)
    strategy = names[controls.strategy(label, names, key="paper_strategy", usual=usual)]
    verdict = _verdict(_tried())
    asked = (plan.model_dump_json(), record.sha256, strategy, verdict, _plan_file())
    if st.button("Make the papers", key="make_papers"):
        st.session_state.papers_of = None  # until they are whole: what is stopped is not begun anew
        _made(strategy, verdict)
        st.session_state.papers_of = asked
    if st.session_state.get("papers_of") == asked:
        _offer(strategy, verdict)


def _made(strategy: str, verdict: Verdict | None) -> tuple[bytes, bytes, bytes]:
    """Make the files, with how far the rules were from what was announced."""
    held = held_or_said(plan, record)
    return cached.papers(plan, record, strategy, verdict, dt.date.today(), held, _plan_file())


def _plan_file() -> str:
    """Name the plan's file, and say where it does not hold these figures yet."""
    changed = len(st.session_state.changes)
    unsaved = f", with {count(changed, 'figure')} not saved in it" if changed else ""
    return f"{st.session_state.kept.path.name}{unsaved}"


def _offer(strategy: str, verdict: Verdict | None) -> None:
    """Offer the files."""
    brief, workbook, figures = _made(strategy, verdict)
    st.markdown(_carried(verdict))
    show.take("Take the brief (PDF)", brief, "brief.pdf", "brief_pdf")
    show.take("Take the workbook (XLSX)", workbook, "workbook.xlsx", "workbook_xlsx")
    show.take("Take every figure printed (JSON)", figures, "brief.json", "brief_json")


def _carried(verdict: Verdict | None) -> str:
    """Show which verdict on the odds the papers carry."""
    if verdict is None:
        return "The odds were not tried on the observed years: the brief says so."
    from model.say.evidence import headline_of

    return f"The verdict these papers carry: {headline_of(verdict)}."


st.title("On paper, for a partner or a lender", anchor=False)
if plan.farm is None:
    st.info(
        "The papers are about a farm, and this plan has none yet: add a [farm] table to the plan "
        "file (the demonstration's explains every line)."
    )
else:
    st.markdown(
        "A credit paper to print: the decision on its first page, then the odds of water, what "
        "would be planted and held, cash against the overdraft, debt cover and what may turn, "
        "security and covenants, and how far to trust it all. The workbook holds the same figures, "
        "with one small sheet of formulas. What is asked of a lender is typed on Our farm."
    )
    doubts.river_counted_on(plan, record)
    _asked_for()
