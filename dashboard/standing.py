"""What every page says: the plan that is open, what is not saved, and where things stand."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import streamlit as st

from dashboard import acts, faults, fields, state, tables, wording
from model.errors import InputError
from model.keeping.compare import differences
from model.keeping.sittings import Sitting
from model.plan.cautions import opening_cautions
from model.plan.plan import Plan
from model.plan.text import parse_plan
from model.record.record import Record

COUNTS = (1_000, 2_000, 5_000, 10_000, 20_000)

METHODS = {
    "blocks": "blocks: runs of observed years in a new order",
    "historical": "historical: every observed start in turn",
    "neighbours": "neighbours: after years like the last, what followed such years",
    "regimes": "regimes: a dry or wet state that tends to last",
}


def sidebar() -> None:
    """Name the plan that is open, and its file: two plans may have one title."""
    st.sidebar.markdown(f"**{state.figure('title')}**")
    st.sidebar.caption(f"File: {st.session_state.kept.path.name}")


def happened() -> None:
    """Say what has just happened; offer both plans where the file changed under the page."""
    place = st.empty()  # always there: what follows keeps its place on the page
    if notice := st.session_state.get("notice"):
        place.success(notice)
    conflict()


def told() -> None:
    """Forget what has just happened, once a page that says it is whole."""
    st.session_state.pop("notice", None)


def unsaved() -> None:
    """Say whether figures are changed and not saved, and offer to save them."""
    if fault := st.session_state.get("keeping_fault"):
        faults.show(fault, "Diary and unsaved figures cannot be kept.", key="keeping_faults")
    changed = len(st.session_state.changes)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.caption(f"{wording.figures(changed)} not saved" if changed else "As saved")
        pressed = state.may_save() and st.button(
            "Save",
            key="quick_save",
            disabled=not changed,
            on_click=acts.do,
            args=("quick_save", state.save),
        )
    if pressed and not acts.refused("quick_save", acts.NOT_WRITTEN):
        st.rerun()  # the whole page says what was saved, not only this part of it


def said(plan: Plan) -> None:
    """Say where things stand, and what every page must say of a plan."""
    if plan.invented:
        st.warning(wording.INVENTED)
    st.markdown(wording.standing(plan))
    for caution in opening_cautions(plan):
        st.warning(caution)


def plan_and_record() -> tuple[Plan, Record] | None:
    """Give the plan as it stands, with its record; say what is to mend where there is none."""
    unsaved()
    try:
        plan = state.current_plan()
        said(plan)
        return plan, state.current_record(plan)
    except InputError as error:
        faults.show(error, "Nothing was run: some figures need mending.", key="plan_faults")
        return None


def drawing() -> None:
    """Ask how sequences are drawn."""
    folded = st.expander("How possible runs are drawn", key="drawing", on_change="rerun")
    if not folded.open:
        return
    with folded:
        first, second = st.columns(2)
        with first:
            fields.choice(
                "sequences.method",
                "Method",
                tuple(METHODS),
                said=METHODS.__getitem__,
            )
            fields.choice("sequences.seasons", "Seasons ahead, this one counted", (1, 2, 3))
        with second:
            fields.choice(
                "sequences.count",
                "Possible runs drawn",
                sorted({*COUNTS, state.figure("sequences.count")}),
                said="{:,}".format,
            )
            fields.slider(
                "sequences.flow_factor",
                "All flow times",
                lowest=0.5,
                highest=1.5,
                step=0.05,
                meaning="Below 1: drier than the record. Every page says so while it is not 1",
            )


def earlier() -> None:
    """Offer to take up what earlier windows left."""
    left = [] if st.session_state.get("went_on") else state.earlier_sittings()
    found = {each.token: each for each in left}
    if not found:
        return
    st.info("Left by a window that is closed now. Going on with it keeps what is not saved here.")
    chosen = st.selectbox(
        "Left", found, format_func=lambda token: _left_words(found[token]), key="left"
    )
    if chosen is not None and st.button("Go on with it", key="take_up"):
        state.take_up(found[chosen])
        st.session_state.went_on = True
        st.rerun()


def also_open() -> None:
    """Say that other windows have this plan open now, where that matters."""
    others = state.also_open()
    mine = st.session_state.changes.items()
    unsaved = {
        key for each in others for key, value in each.changes.items() if (key, value) not in mine
    }
    if not others or not (unsaved or state.may_save()):
        return
    where = "another window" if len(others) == 1 else f"{len(others)} other windows"
    words = [f"This plan is open in {where} too."]
    if unsaved:
        words.append(
            f"What is not saved there ({wording.figures(len(unsaved))}) does not count here."
        )
    if state.may_save():
        words.append("Who saves second is shown first what the other changed.")
    st.info(" ".join(words))


def _left_words(found: Sitting) -> str:
    """Name a sitting by its plan, its unsaved figures and when it was kept."""
    when = datetime.fromisoformat(found.written_at).astimezone()
    unsaved = f"{wording.figures(len(found.changes))} not saved, " if found.changes else ""
    return f"{Path(found.plan_path).stem}: {unsaved}last on {when:%Y-%m-%d at %H:%M}"


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
        faults.show(error, "The file is no plan now: save yours as a new plan.", key="theirs")
        return
    told = differences(st.session_state.file_plan, theirs)
    tables.show(tables.differences_frame(told, "As opened here", "In the file now"))
    st.button(
        "Keep both: lay my figures on the file's",
        key="keep_both",
        on_click=state.stand_on,
        args=(current, dict(st.session_state.changes)),
        help="Nothing is written yet: look at what changed, then save.",
    )
    st.button(
        "Take the file's, drop mine", key="take_theirs", on_click=state.stand_on, args=(current, {})
    )
    st.caption("Or save mine as a new plan, at the end of the page Today.")
