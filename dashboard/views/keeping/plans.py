"""Plans: what is in the data folder; open, duplicate, rename, compare, bring in and take out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import streamlit as st

from dashboard import controls, show, state
from model.errors import InputError
from model.keeping import diary
from model.keeping.compare import differences
from model.keeping.folder import data_folder, database_path, plans_folder
from model.keeping.plans import (
    ChangedElsewhere,
    Kept,
    alone,
    bring_in,
    list_plans,
    rename,
    save_new,
)
from model.plan.text import read_plan

NOT_CHANGED = "Nothing was changed."
NOW: Path | str = "the figures on the page"
FOLDER = plans_folder(data_folder())


def _open(path: Path) -> None:
    """Open another plan; figures not saved yet stay kept, and are offered again."""
    state.open_another(path)
    st.session_state.notice = f"{path.stem} is open."


def _duplicate(name: str) -> None:
    kept = st.session_state.kept
    record = state.record_path(st.session_state.file_plan).read_bytes()
    made = save_new(FOLDER, name, alone(kept.text, kept.path.parent), record, anew=True)
    st.session_state.notice = f"A copy as saved is in {made.path}."


def _rename(name: str) -> None:
    before = st.session_state.kept.path
    try:
        renamed = rename(st.session_state.kept, name)
    except ChangedElsewhere as changed:
        st.session_state.conflict = changed.current
        return
    st.session_state.kept = renamed
    diary.plan_moved(database_path(data_folder()), before, renamed.path)
    st.session_state.notice = f"The plan's file is now {renamed.path}; the diary points to it."


def _bring_in(name: str, plan: bytes, record: bytes | None) -> None:
    _open(bring_in(FOLDER, name, plan, record).path)
    if record is None:
        here = f"on {st.session_state.file_plan.record}, kept here already"
        st.session_state.notice = f"{name} is open, {here}."


def _named(what: str, label: str, key: str, act: Callable[[str], None]) -> None:
    """Ask for a name and act on it."""
    with st.form(key, border=False):
        name_key = f"{key}_name"
        st.text_input(label, key=name_key, max_chars=80)
        controls.submit(what, key, lambda: act(st.session_state[name_key]), refusal=NOT_CHANGED)


def show_plans() -> None:
    """Show what is in the data folder, and what may be done with it."""
    kept = st.session_state.kept
    paths = dict.fromkeys([*list_plans(FOLDER), kept.path])
    st.caption(f"Plans are TOML files of your own, in {FOLDER}. Open now: {kept.path}")
    chosen = st.selectbox("Plan", list(paths), format_func=_stem, key="plan_chosen")
    if st.session_state.changes:
        st.caption("Figures not saved yet are kept: the page This season offers them again.")
    here = chosen == kept.path
    controls.button(
        "Open this plan", "open_plan", _open, chosen, refusal=NOT_CHANGED, disabled=here
    )
    _compare(chosen, list(paths))
    st.subheader("Duplicate or rename the open plan", anchor=False)
    _named("Duplicate", "Name of the copy", "duplicate", _duplicate)
    if state.may_save() and kept.path.parent == FOLDER:
        _named("Rename", "New name of the open plan", "rename", _rename)
    _take_away(kept)
    _import()


def _stem(path: Path | str) -> str:
    """Name a plan by its file."""
    return path if isinstance(path, str) else path.stem


def _compare(chosen: Path, paths: list[Path]) -> None:
    """Show in which figures two plans differ."""
    st.subheader("Compare two plans", anchor=False)
    other = st.selectbox(
        "Against the plan above, compare",
        [NOW, *paths],
        format_func=_stem,
        key="plan_other",
    )
    try:
        after = state.current_plan() if isinstance(other, str) else read_plan(other)
        told = differences(read_plan(chosen), after)
        if told:
            frame = show.differences_frame(told, chosen.stem, "The other")
            show.table(frame, key="plan_differences")
        else:
            st.caption("They do not differ in any figure.")
    except InputError as error:
        show.faults(error, "They cannot be compared.", key="compare_faults")


def _take_away(kept: Kept) -> None:
    """Offer the plan and its record as files."""
    st.subheader("Take out", anchor=False)
    saved, now = (alone(text, kept.path.parent) for text in (kept.text, state.current_text()))
    show.take("Plan as saved, TOML", saved, kept.path.name, "take_plan")
    show.take("Plan with the figures on the page, TOML", now, "plan.toml", "take_now")
    if st.session_state.current is not None:
        path = state.record_path(st.session_state.current[0])
        show.take("Its record, CSV", path.read_bytes(), path.name, "take_record")


def _import() -> None:
    """Take a plan and its record from files."""
    st.subheader("Bring in", anchor=False)
    plan_file = st.file_uploader("A plan, TOML", type="toml", key="plan_file")
    record_file = st.file_uploader(
        "Its record (not needed when it is here already)",
        type=controls.TABLE_FILES,
        key="plan_record_file",
    )
    if plan_file is not None:
        record_bytes = None if record_file is None else record_file.getvalue()
        brought = (Path(plan_file.name).stem, plan_file.getvalue(), record_bytes)
        controls.button("Bring it in", "bring_in", _bring_in, *brought, refusal=NOT_CHANGED)
