"""What every page says: the plan that is open, what is not saved, where things stand, the cautions.

Beside odds it says what they rest on: the river counted on, how far the rules were from what was
announced, whether such odds held. Pages of odds stand under two figures that move, and run apart
from the frame: what moves on them is answered without drawing the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import streamlit as st

from dashboard import cached, controls, show, state
from dashboard.charts.water_ahead import chance_chart
from dashboard.findings import water_ahead as water_ahead_findings
from dashboard.findings.water_ahead import chance_finding, none_chances
from model.errors import InputError
from model.keeping.compare import differences
from model.outlook.outlook import SeasonOutlook
from model.plan.cautions import opening_cautions
from model.plan.plan import Plan
from model.plan.text import parse_plan
from model.record.record import Record
from model.say.cautions import invented_in_words
from model.say.method import river_in_words
from model.say.numbers import count
from model.say.outlook import standing_in_words
from model.sequences.drying import is_changed

if TYPE_CHECKING:
    from model.evidence.announced import Held


def sidebar() -> None:
    """Name the plan that is open, and its file: two plans may have one title."""
    st.sidebar.markdown(f"**{state.figure('title')}**")
    st.sidebar.caption(f"File: {st.session_state.kept.path.name}")


def happened() -> None:
    """Show what has just happened; offer both plans where the file changed under the page."""
    place = st.empty()  # always there: what follows keeps its place on the page
    if notice := st.session_state.get("notice"):
        place.success(notice)
    conflict()


def told() -> None:
    """Forget what has just happened, once a page that says it is whole."""
    st.session_state.pop("notice", None)


def unsaved() -> None:
    """Show whether figures are changed and not saved, and offer to save them."""
    if fault := st.session_state.get("keeping_fault"):
        show.faults(fault, "Diary and unsaved figures cannot be kept.", key="keeping_faults")
    changed = len(st.session_state.changes)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.caption(f"{count(changed, 'figure')} not saved" if changed else "As saved")
        pressed = state.may_save() and st.button(
            "Save",
            key="quick_save",
            disabled=not changed,
            on_click=controls.do,
            args=("quick_save", state.save),
        )
    if pressed and not controls.refused("quick_save", controls.NOT_WRITTEN):
        st.rerun()  # the whole page says what was saved, not only this part of it


def said(plan: Plan) -> None:
    """Show where things stand, and what every page must say of a plan."""
    if invented := invented_in_words(plan):
        st.warning(invented)
    st.markdown(standing_in_words(plan))
    for caution in opening_cautions(plan):
        st.warning(caution)


def plan_and_record() -> tuple[Plan, Record] | None:
    """Return the plan as it stands, with its record; say what is to mend where there is none."""
    unsaved()
    try:
        plan = state.current_plan()
        said(plan)
        return plan, state.current_record(plan)
    except InputError as error:
        show.faults(error, "Nothing was run: fix these figures first.", key="plan_faults")
        return None


def conflict() -> None:
    """Offer both plans where the file changed under the page."""
    current = st.session_state.conflict
    if current is None:
        return
    st.warning(
        "Nothing was written: another window or program changed this plan's file since it was "
        "opened here. What it changed:"
    )
    try:
        theirs = parse_plan(current.text.encode(), current.path.name)
    except InputError as error:
        show.faults(error, "The file is not a plan now: save yours as a new plan.", key="theirs")
        return
    told = differences(st.session_state.file_plan, theirs)
    show.plain_table(show.differences_frame(told, "As opened here", "In the file now"))
    st.button(
        "Keep both: apply my changes to the file",
        key="keep_both",
        on_click=state.stand_on,
        args=(current, dict(st.session_state.changes)),
        help="Nothing is written yet: look at what changed, then save.",
    )
    st.button(
        "Take the file's, drop mine", key="take_theirs", on_click=state.stand_on, args=(current, {})
    )
    st.caption("Or save mine as a new plan, at the end of the page Today.")


UNLIMITED_SHOWN = 3.0
"""ML per share: the end of the account's scale where the valley sets no limit."""


@st.fragment
def odds_page(page: Callable[[Plan, Record], None]) -> None:
    """Show a page under the dam and the account; what was changed on it is kept at once."""
    _dam_and_account()
    current = plan_and_record()
    if current is not None:
        try:
            page(*current)
        except InputError as error:
            show.faults(error, "This could not be done: fix this first.", key="faults")
    state.keep_sitting()


def _dam_and_account() -> None:
    """Ask for what is in the dam and in the account."""
    capacity_ml = float(state.figure("valley.capacity_ml"))
    limit = state.figure("valley.accounts.account_limit_ml_per_share") or UNLIMITED_SHOWN
    dam, account = st.columns(2)
    with dam:
        controls.slider(
            "opening.storage_ml",
            "Water in the dam, ML",
            highest=capacity_ml,
            step=controls.volume_step_ml(capacity_ml),
            shown="%,.0f",
        )
    with account:
        controls.slider(
            "opening.account_ml_per_share",
            "Water in the account, ML per share",
            highest=limit,
            step=0.01,
            then=keep_carried_within,
        )


def keep_carried_within(account: float) -> None:
    """Lower the carried part with the account that holds it, where the person lowers that."""
    carried = "opening.carried_ml_per_share"
    state.put(carried, min(state.figure(carried), account))


def river_counted_on(plan: Plan, record: Record) -> None:
    """Warn where flow is scaled, or the state the run opens in is stated; else say it is not."""
    said = river_in_words(record, plan.sequences)
    (st.warning if is_changed(plan.sequences) else st.caption)(said)


def tried(plan: Plan, record: Record) -> None:
    """Show whether the chance of none held in the observed years, once that was tried."""
    found = cached.evidence(plan, record).found
    if found is None:
        st.caption(
            "Not tried yet: whether such odds would have held in the observed years. The page How "
            "far to trust this does it, in about a minute."
        )
        return
    # Imported here: the first page does not need the evidence.
    from model.evidence.verdict import verdict_of
    from model.say.evidence import none_in_words

    verdict = verdict_of(found, plan.sequences.method or found.recommended.method)
    if verdict is None:
        st.caption("Another method stood in for this one on the observed years: it was not tried.")
        return
    none = [season.none for season in verdict.seasons]
    wrong = any(each.found != "about_right" for each in none)
    (st.warning if wrong else st.caption)(f"Tried on the observed years. {none_in_words(none)}")


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
            f"{error.faults[0]} It is given on the page Valley and record."
        )
        return None


def chance_of_none(seasons: Sequence[SeasonOutlook], *, key: str = "none") -> None:
    """Show the chance of no allocation, of each season and of seasons in a row."""
    chances, finding = none_chances(seasons), chance_finding(seasons)
    show.chart(
        chance_chart(chances, title=finding),
        key=key,
        alt=finding,
        frame=lambda: water_ahead_findings.chances_frame(chances),
    )
