"""What stands round every page: where things stand, in one line; what happened; what is to fix.

The line over a page has one button: it opens the figures that change most, in place. Pages of odds
run apart from the rest of the frame, under that line: what is changed there is answered without
drawing the frame again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from html import escape

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from dashboard import controls, show, state
from model.errors import InputError
from model.keeping.compare import differences
from model.plan.cautions import opening_cautions
from model.plan.plan import Plan
from model.plan.text import parse_plan
from model.record.record import Record
from model.say.cautions import invented_in_words
from model.say.numbers import count
from model.say.strip import Strip, strip_of

UNLIMITED_SHOWN = 3.0
"""ML per share: the end of an account's scale where the valley sets no limit."""

IN_LINE = "line"
"""The kind of a control under Change: its figure may stand on the page too."""

OWN_ACCOUNT = "farm.opening.account_ml_per_share"


def menu(groups: Mapping[str, Sequence[StreamlitPage]]) -> None:
    """Offer the pages by their groups, beside each of them."""
    with st.sidebar.container(key="pages", gap=None):
        for group, pages in groups.items():
            st.html(f"<p>{escape(group)}</p>")
            for page in pages:
                st.page_link(page)


def plan_named() -> None:
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


@st.fragment
def odds_page(page: Callable[[Plan, Record], None]) -> None:
    """Show a page of odds under the line of where things stand; what is changed is kept at once."""
    current = plan_and_record()
    if current is not None:
        try:
            page(*current)
        except InputError as error:
            show.faults(error, "This could not be done: fix this first.", key="faults")
        invented(current[0])
    state.keep_sitting()


def invented(plan: Plan) -> None:
    """Name what of a plan is invented, where anything is."""
    if words := invented_in_words(plan):
        st.caption(words)


def answer(words: str, plan: Plan) -> None:
    """Head a page with its answer; under it, what of the opening figures is to be looked at."""
    st.title(show.text(words), anchor=False)
    for caution in opening_cautions(plan):
        st.warning(caution)


def plan_and_record() -> tuple[Plan, Record] | None:
    """Return the plan as it stands, with its record; say what is to fix where there is none."""
    try:
        plan = state.current_plan()
    except InputError as error:
        _line(None)
        show.faults(error, "Nothing was run: fix these figures first.", key="plan_faults")
        return None
    _line(plan)
    try:
        return plan, state.current_record(plan)
    except InputError as error:
        show.faults(error, "Nothing was run: fix the record first.", key="plan_faults")
        return None


def _line(plan: Plan | None) -> None:
    """Show where things stand, in one line, and the button that changes it."""
    with st.container(horizontal=True, vertical_alignment="center", key="strip", wrap=False):
        words = "" if plan is None else strip_html(strip_of(plan), len(st.session_state.changes))
        st.html(words or "<p>These figures make no plan.</p>")
        with st.popover("Change", key="change"):
            _changed_most()
            _unsaved()


def strip_html(strip: Strip, unsaved: int) -> str:
    """Return the line as HTML; whatever the plan says is escaped."""
    marks = [strip.invented, f"{unsaved} not saved" if unsaved else ""]
    return (
        f"<p><b>{escape(strip.place)}</b>"
        f'<span class="level" aria-hidden="true"><i style="width:{strip.dam_frac:.0%}"></i></span>'
        f"<span>{escape(strip.dam)}</span><span>{escape(strip.account)}</span>"
        f"<span>{escape(strip.announced)}</span>"
        + "".join(f'<span class="mark">{escape(mark)}</span>' for mark in marks if mark)
        + "</p>"
    )


def _changed_most() -> None:
    """Ask for the figures that change most: dam, account, announced, bank."""
    capacity_ml = float(state.figure("valley.capacity_ml"))
    limit = state.figure("valley.accounts.account_limit_ml_per_share") or UNLIMITED_SHOWN
    controls.slider(
        "opening.storage_ml",
        "Water in the dam, ML",
        highest=capacity_ml,
        step=controls.volume_step_ml(capacity_ml),
        shown="%,.0f",
    )
    controls.slider(
        "opening.account_ml_per_share",
        "Water in the average account, ML per share",
        highest=limit,
        step=0.01,
        then=keep_carried_within,
    )
    controls.number(
        "opening.announced_to_date_ml_per_share",
        "Announced this water year, ML per share",
        meaning="General-security allocation announced since 1 July",
        highest=100.0,
        kind=IN_LINE,
    )
    if state.figure("farm.name") is not None:
        controls.number_or_blank(
            OWN_ACCOUNT,
            "Our own account, ML per share",
            blank="as the average holder's",
            highest=limit,
            meaning="What the farm itself may still order, carried water counted",
            kind=IN_LINE,
        )
        controls.number(
            "farm.money.bank_aud",
            "Bank balance, $",
            lowest=-controls.MOST,
            step=1_000.0,
            digits=0,
            meaning="Below 0: overdrawn",
            kind=IN_LINE,
        )


def keep_carried_within(account: float) -> None:
    """Lower the carried part with the account that holds it, where the person lowers that."""
    carried = "opening.carried_ml_per_share"
    state.put(carried, min(state.figure(carried), account))


def _unsaved() -> None:
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
    st.caption("Or save mine as a new plan, on the page Plans and diary.")
