"""Plans: what is in the data folder; open, duplicate, rename, compare, bring in and take out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import streamlit as st

from dashboard import cached, controls, show, state
from dashboard.findings.our_farm import place_in
from dashboard.findings.plans_compared import farm_rows, outcomes_frame, water_rows
from model.decide.strategy import strategies_of
from model.errors import InputError
from model.keeping import diary, parcel
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
from model.plan.plan import Plan
from model.plan.text import read_plan

NOT_CHANGED = "Nothing was changed."
OTHER = "The other"
NOW: Path | str = "the figures on the page"


def _folder() -> Path:
    """Return the folder of the plans that are kept."""
    return plans_folder(data_folder())


def _open(path: Path) -> None:
    """Open another plan; figures not saved yet stay kept, and are offered again."""
    state.open_another(path)
    st.session_state.notice = f"{path.stem} is open."


def _open_chosen() -> None:
    """Open the plan that is chosen now, which the page may not have been drawn with yet."""
    _open(st.session_state.plan_chosen)


def _duplicate(name: str) -> None:
    kept = st.session_state.kept
    record = state.record_path(st.session_state.file_plan).read_bytes()
    made = save_new(_folder(), name, alone(kept.text, kept.path.parent), record, anew=True)
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
    _open(bring_in(_folder(), name, plan, record).path)
    if record is None:
        here = f"on {st.session_state.file_plan.record}, kept here already"
        st.session_state.notice = f"{name} is open, {here}."


def _import_both(data: bytes, name: str) -> None:
    """Open a plan and its record that a partner gave in one file."""
    both = parcel.unpack(data, name)
    _open(bring_in(_folder(), both.plan_name, both.plan, both.record).path)


def _named(what: str, label: str, key: str, act: Callable[[str], None]) -> None:
    """Ask for a name and act on it."""
    with st.form(key, border=False):
        name_key = f"{key}_name"
        st.text_input(label, key=name_key, max_chars=80)
        controls.submit(what, key, lambda: act(st.session_state[name_key]), refusal=NOT_CHANGED)


def show_plans() -> None:
    """Show what is in the data folder, and what may be done with it."""
    kept = st.session_state.kept
    paths = dict.fromkeys([*list_plans(_folder()), kept.path])
    st.caption(f"Plans are TOML files of your own, in {_folder()}. Open now: {kept.path}")
    chosen = st.selectbox("Plan", list(paths), format_func=_stem, key="plan_chosen")
    if st.session_state.changes:
        st.caption("Figures not saved yet are kept: the page This season offers them again.")
    here = chosen == kept.path
    controls.button("Open this plan", "open_plan", _open_chosen, refusal=NOT_CHANGED, disabled=here)
    _compare(chosen, list(paths))
    st.subheader("Duplicate or rename the open plan", anchor=False)
    _named("Duplicate", "Name of the copy", "duplicate", _duplicate)
    if state.may_save() and kept.path.parent == _folder():
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
            frame = show.differences_frame(told, chosen.stem, OTHER)
            show.table(frame, key="plan_differences")
        else:
            st.caption("They do not differ in any figure.")
        _by_outcome((chosen, read_plan(chosen)), (other, after))
    except InputError as error:
        show.faults(error, "They cannot be compared.", key="compare_faults")


def _by_outcome(first: tuple[Path | str, Plan], second: tuple[Path | str, Plan]) -> None:
    """Show what two plans bring side by side, once that is asked for."""
    if not st.toggle("Show what each of them brings", key="by_outcome"):
        return
    at = 0
    names = [each.name for each in strategies_of(second[1])] if second[1].farm else []
    if names:
        at = names.index(st.selectbox("Under the strategy", names, key="outcome_strategy"))
    show.table(
        outcomes_frame(_brings(*first, at), _brings(*second, at), (_stem(first[0]), OTHER)),
        key="outcomes_compared",
    )
    st.caption(
        "Means over the sequences drawn; chances with the range that the record supports. Two "
        "plans on one record, opening month and seed are played on the same sequences."
    )


def _brings(path: Path | str, plan: Plan, at: int) -> dict[str, str]:
    """Return what a plan brings, in words; the strategy at a place, or its last."""
    folder = st.session_state.kept.path.parent if isinstance(path, str) else path.parent
    record = cached.record_of(state.record_in(folder, plan), plan)
    rows = water_rows(cached.water_ahead(plan, record).outlook.seasons)
    if plan.farm is None:
        return rows
    place = place_in(strategies_of(plan), at)
    return rows | farm_rows(cached.one_strategy(plan, record, place).outcomes[0])


def _take_away(kept: Kept) -> None:
    """Offer the plan and its record as files."""
    st.subheader("Take out", anchor=False)
    saved, now = (alone(text, kept.path.parent) for text in (kept.text, state.current_text()))
    show.take("Plan as saved, TOML", saved, kept.path.name, "take_plan")
    show.take("Plan with the figures on the page, TOML", now, "plan.toml", "take_now")
    if st.session_state.current is not None:
        path = state.record_path(st.session_state.current[0])
        record = path.read_bytes()
        show.take("Its record", record, path.name, "take_record")
        st.caption("For a partner: plan and record in one file, to be imported below.")
        together = parcel.pack(kept.path.stem, now, path.name, record)
        show.take("Plan and record together", together, f"{kept.path.stem}.zip", "take_parcel")


def _import() -> None:
    """Take a plan and its record from files."""
    st.subheader("Bring in", anchor=False)
    parcel_file = st.file_uploader("Plan and record together", type="zip", key="parcel_file")
    if parcel_file is not None:
        given = (parcel_file.getvalue(), parcel_file.name)
        controls.button("Import both", "import_both", _import_both, *given, refusal=NOT_CHANGED)
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
