"""What do odds rest on? The river counted on, the rules, whether they held: said beside them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import streamlit as st

from dashboard import cached, show, state
from dashboard.charts.water import chance_chart
from dashboard.findings import water as water_findings
from dashboard.findings.water import chance_finding, none_chances
from model.errors import InputError
from model.outlook.outlook import SeasonOutlook
from model.plan.plan import Plan
from model.record.record import Record
from model.say.method import river_in_words
from model.sequences.drying import is_changed

if TYPE_CHECKING:
    from model.evidence.announced import Held


def river_counted_on(plan: Plan, record: Record) -> None:
    """Warn where flow is scaled, or the state the run opens in is stated; else say it is not."""
    river_moved(plan, record)
    river_as_observed(plan, record)


def river_moved(plan: Plan, record: Record) -> None:
    """Warn where flow is scaled or the opening state stated: over all else that a page says."""
    if is_changed(plan.sequences):
        st.warning(river_in_words(record, plan.sequences))


def river_as_observed(plan: Plan, record: Record) -> None:
    """Say that flow is as observed, where it is: under what a page says."""
    if not is_changed(plan.sequences):
        st.caption(river_in_words(record, plan.sequences))


def tried(plan: Plan, record: Record) -> None:
    """Show whether the chance of none held in the observed years, once that was tried."""
    words, wrong = _tried(plan, record)
    (st.warning if wrong else st.caption)(words)


def failed_before(plan: Plan, record: Record) -> None:
    """Show where such odds failed before, as plainly as the answer; nothing where they held."""
    words, wrong = _tried(plan, record)
    if wrong:
        st.warning(words)
    elif cached.evidence(plan, record).found is None:
        st.caption(words)


def _tried(plan: Plan, record: Record) -> tuple[str, bool]:
    """Return what the trial on the observed years found, and whether the odds failed."""
    found = cached.evidence(plan, record).found
    if found is None:
        return (
            "Not tried yet: whether such odds would have held in the observed years. The page "
            "How it has done does it, in about a minute.",
            False,
        )
    # Imported here: the first page does not need the evidence.
    from model.evidence.verdict import verdict_of
    from model.say.evidence import none_in_words

    verdict = verdict_of(found, plan.sequences.method or found.recommended.method)
    if verdict is None:
        return "Another method stood in for this one on the observed years: not tried.", False
    none = [season.none for season in verdict.seasons]
    wrong = any(each.found != "about_right" for each in none)
    return f"Tried on the observed years. {none_in_words(none)}", wrong


def show_announced_error(plan: Plan, record: Record) -> None:
    """Show the error that comes on top of a page's odds; nothing where nothing was announced."""
    held = held_or_said(plan, record)
    if held is not None:
        from model.say.announced import held_in_words

        st.caption(held_in_words(held))


def held_or_said(plan: Plan, record: Record) -> Held | None:
    """Replay against what was announced; where that cannot be done, say why on the page."""
    if plan.announced is None:
        return None
    try:
        return cached.held(plan, record, state.announcements(plan))
    except InputError as error:
        st.warning(
            "What was announced in past years could not be held against these rules: "
            f"{error.faults[0]} It is given on the page Our valley."
        )
        return None


def chance_of_none(seasons: Sequence[SeasonOutlook], *, key: str = "none") -> None:
    """Show the chance of no allocation, of each season and of seasons in a row."""
    chances, finding = none_chances(seasons), chance_finding(seasons)
    show.chart(
        chance_chart(chances, title=finding),
        key=key,
        alt=finding,
        frame=lambda: water_findings.chances_frame(chances),
    )
