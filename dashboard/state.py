"""What the person at the page has open and has changed, in one place.

A plan file as it was read, and the figures changed since, by dotted key: that is all. Every control
of every page reads its figure from here and puts it here. The current plan is the file's with those
changes, checked as a whole each time. Each change is kept at once, under a token in the address, so
that closing or reloading the window loses nothing; so is what is chosen on a page (`choices.py`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from copy import deepcopy
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, Final

import streamlit as st
from pydantic import BaseModel

from dashboard import cached, launch
from model.errors import InputError, PlanError
from model.keeping import plans, sittings
from model.keeping.diary import Decision
from model.keeping.folder import data_folder, database_path, plans_folder
from model.keeping.plans import Kept
from model.plan.example import is_invented
from model.plan.plan import Announced, Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan, edit_plan, parse_plan
from model.record.record import Record

if TYPE_CHECKING:
    from model.plan.announced import AnnouncedRows, Announcements

ADDRESS_KEY = "sitting"
LOOKED_AT = 30
"""Sittings, the newest, among which unsaved figures are looked for."""
MOST_OFFERED = 5


def begin() -> None:
    """Open the plan once a session: that of the address, else that of the command line."""
    if "kept" in st.session_state:
        return
    st.session_state.token = sittings.new_token()
    st.session_state.began_from = None
    found = _kept_sitting(st.query_params.get(ADDRESS_KEY))
    if found is None or not _taken_up(found):
        open_plan(launch.files().plan)
        st.session_state.last_kept = _sitting()
    else:
        st.session_state.began_from = found


def open_plan(path: Path, changes: Mapping[str, Any] | None = None) -> None:
    """Open a plan file, with changes not saved yet.

    Raises
    ------
    InputError
        It cannot be read, or is no plan.
    """
    kept, named = plans.read_kept(path), launch.files()
    if named.record and path == named.plan:
        kept = plans.with_record(kept, named.record)
    stand_on(kept, changes or {})
    begin_choices({})


def open_another(path: Path) -> None:
    """Open another plan in this window; what is not saved stays kept as a sitting of its own.

    Raises
    ------
    InputError
        It cannot be read, or is no plan.
    """
    unsaved = bool(st.session_state.changes)
    open_plan(path)
    st.session_state.went_on = False
    if unsaved:
        st.session_state.token = sittings.new_token()


def stand_on(kept: Kept, changes: Mapping[str, Any]) -> None:
    """Go on from a plan file as it is now, with changes not saved yet."""
    st.session_state.file_plan = parse_plan(kept.text.encode(), kept.path.name)
    st.session_state.kept = kept
    st.session_state.changes = {}
    st.session_state.conflict = None
    if notes := st.session_state.file_plan.notes:
        st.session_state.notice = "  \n".join(f"{note[:1].upper()}{note[1:]}." for note in notes)
    for key, value in changes.items():
        put(key, value)


def take_up(found: sittings.Sitting) -> None:
    """Go on with an earlier sitting; figures of this window that are not saved stay kept."""
    if st.session_state.get("changes"):
        st.session_state.token = sittings.new_token()
    open_plan(Path(found.plan_path), found.changes)
    begin_choices(found.choices)
    if found.changes and st.session_state.kept.sha256 != found.plan_sha256:
        st.session_state.notice = (
            "The plan's file changed since: your unsaved figures are laid on what it holds now."
        )


def _taken_up(found: sittings.Sitting) -> bool:
    """Go on with a sitting, if its plan can still be opened."""
    try:
        take_up(found)
    except InputError:
        st.session_state.notice = f"{found.plan_path} could not be opened: it is not a plan now."
        return False
    return True


def figure(key: str) -> Any:
    """Return the value of a key as it stands on the page; tables as plain dictionaries."""
    changes = st.session_state.changes
    if key in changes:
        return changes[key]
    above = _changed_above(key)
    if above is None:
        return saved_figure(key)
    return inside(changes[above], key.removeprefix(f"{above}."))


def saved_figure(key: str) -> Any:
    """Return the value of a key as the file has it, or its default."""
    value: Any = st.session_state.file_plan
    for part in key.split("."):
        if isinstance(value, tuple):
            value = value[int(part) - 1] if part.isdecimal() and int(part) <= len(value) else None
        else:
            value = getattr(value, part, None)
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json", exclude_none=True)
    if isinstance(value, tuple):
        return [
            item.model_dump(mode="json", exclude_none=True) if isinstance(item, BaseModel) else item
            for item in value
        ]
    return value


def _changed_above(key: str) -> str | None:
    """Return the table or list, changed as a whole on the page, that a key stands in."""
    parts = key.split(".")
    above = (".".join(parts[:at]) for at in range(len(parts) - 1, 0, -1))
    changes = st.session_state.changes
    return next((name for name in above if isinstance(changes.get(name), dict | list)), None)


def inside(value: Any, key: str) -> Any:
    """Return what stands at a dotted key of nested tables and lists; None where nothing does.

    Places of lists count from 1.
    """
    for part in key.split("."):
        if isinstance(value, list):
            value = value[int(part) - 1] if part.isdecimal() and int(part) <= len(value) else None
        else:
            value = value.get(part) if isinstance(value, Mapping) else None
    return value


def stated() -> dict[str, Any]:
    """Return the plan as nested tables, as its file and the changes of the page state it.

    Raises
    ------
    PlanError
        A list of the file has lost a place that was changed on the page.
    """
    return plans.with_changes(st.session_state.kept.text, st.session_state.changes)


def put_list(key: str, tables: list[dict[str, Any]]) -> None:
    """Change a list of tables as a whole; what was changed of its places is in it.

    A list without any is left out.
    """
    changes = st.session_state.changes
    for inner in [inner for inner in changes if inner.startswith(f"{key}.")]:
        changes.pop(inner)
    put(key, tables or None)


def put(key: str, value: Any) -> None:
    """Change a figure; one that is as in the file again is no change."""
    ours_as_said = said_to_be_ours()
    above = _changed_above(key)
    if above is not None:
        whole = deepcopy(st.session_state.changes[above])
        *path, name = key.removeprefix(f"{above}.").split(".")
        table = inside(whole, ".".join(path)) if path else whole
        table[name] = value
        if value is None:
            del table[name]
        key, value = above, whole
    if value == saved_figure(key):
        st.session_state.changes.pop(key, None)
    else:
        st.session_state.changes[key] = value
    if key == "invented" or ours_as_said or not st.session_state.file_plan.invented:
        return
    st.session_state.changes.pop("invented", None)
    if not _holds_invented():  # it says so no longer than something in it is
        st.session_state.changes["invented"] = False


def said_to_be_ours() -> bool:
    """Return whether the person says that nothing is invented, whatever the figures are."""
    return st.session_state.changes.get("invented") is False and _holds_invented()


def _holds_invented() -> bool:
    """Return whether what stands on the page is still the example's in something."""
    changes = {key: of for key, of in st.session_state.changes.items() if key != "invented"}
    try:
        plan = check_plan(plans.with_changes(st.session_state.kept.text, changes), "The page")
    except PlanError:
        return True
    return is_invented(st.session_state.file_plan, plan)


def current_plan() -> Plan:
    """Return the file's plan with the changes of the page.

    Raises
    ------
    PlanError
        The figures do not make a plan.
    """
    raw = plans.with_changes(st.session_state.kept.text, st.session_state.changes)
    return check_plan(raw, "The figures on this page")


def current_text() -> str:
    """Return the plan file's text with the changes of the page; comments stay."""
    return edit_plan(st.session_state.kept.text, st.session_state.changes)


def record_path(plan: Plan) -> Path:
    """Find the record that the plan, or the command line, names."""
    kept, named = st.session_state.kept, launch.files()
    if named.record and kept.path == named.plan and plan.record == saved_figure("record"):
        return named.record
    return record_in(kept.path.parent, plan)


def record_in(folder: Path, plan: Plan) -> Path:
    """Find the record that a plan in some folder names: beside it, or in the data folder."""
    beside = folder / plan.record
    uploaded = plans_folder(data_folder()) / plan.record
    return uploaded if not beside.is_file() and uploaded.is_file() else beside


def current_record(plan: Plan) -> Record:
    """Read the record of a plan.

    Raises
    ------
    InputError
        It cannot be used.
    """
    return cached.record_of(record_path(plan), plan)


def announced_rows() -> AnnouncedRows | None:
    """Return what was announced row by row, as it stands on the page or in the file it names.

    Raises
    ------
    InputError
        The file that the plan names cannot be read, or has faults.
    """
    from model.plan.announced import rows_stated

    stated = figure("announced")
    folder: Path = st.session_state.kept.path.parent
    return None if stated is None else rows_stated(Announced.model_validate(stated), folder)


def announcements(plan: Plan) -> Announcements:
    """Return what a plan says was announced; see `announced_rows`."""
    from model.plan.announced import announcements_of

    found = announcements_of(plan, st.session_state.kept.path.parent)
    assert found is not None  # asked only of a plan that has it
    return found


def check_within(key: str, value: Any) -> None:
    """Check that the plan has no fault in a table of figures, if it were changed so.

    Raises
    ------
    PlanError
        With the faults that lie in this table.
    """
    changes = {**st.session_state.changes, key: value}
    try:
        check_plan(plans.with_changes(st.session_state.kept.text, changes), key)
    except PlanError as error:
        within = [fault for fault in error.faults if fault.where.split(".")[0] == key]
        if within:
            raise PlanError(key, within) from error


def may_save() -> bool:
    """Return whether the plan's own file may be written: the demonstration stays as it is."""
    return bool(st.session_state.kept.path != demonstration_plan())


def save() -> None:
    """Write the changes to the plan's file, unless it changed since it was read.

    Raises
    ------
    InputError
        The figures do not make a plan, or the file cannot be written to.
    """
    kept = st.session_state.kept
    try:
        if "record" in st.session_state.changes:
            path = record_path(current_plan())
            put("record", plans.keep_record(kept.path.parent, path.name, path.read_bytes()))
        stand_on(plans.save(kept, current_text()), {})
        st.session_state.notice = f"Saved to {kept.path}."
    except plans.ChangedElsewhere as changed:
        st.session_state.conflict = changed.current


def save_as(name: str) -> None:
    """Write the plan with its changes as a new file in the data folder, and go on with it.

    Raises
    ------
    InputError
        The figures do not make a plan, the name is taken, or the folder cannot be written to.
    """
    record = record_path(current_plan()).read_bytes()
    folder, kept = plans_folder(data_folder()), st.session_state.kept
    text = plans.alone(kept.text, kept.path.parent)
    stand_on(plans.save_new(folder, name, text, record, st.session_state.changes), {})
    st.session_state.notice = f"Saved as {st.session_state.kept.path}."


def keep_sitting() -> None:
    """Keep what is open, changed and chosen, where it is not kept yet; name it in the address."""
    now = _sitting()
    note_window(st.session_state.token)
    if now != st.session_state.get("last_kept") or choice_unkept():
        try:
            sittings.keep_sitting(database_path(data_folder()), *now, choices_made())
            st.session_state.in_address = True
        except InputError as error:
            st.session_state.keeping_fault = error
        st.session_state.last_kept = now
        choices_kept()
    token = st.session_state.token
    if st.session_state.get("in_address") and st.query_params.get(ADDRESS_KEY) != token:
        st.query_params[ADDRESS_KEY] = token


def earlier_sittings() -> list[sittings.Sitting]:
    """Return what windows that are closed left: the last, and figures not saved anywhere.

    Newest first. Left out is what this window has itself, what it began from, and what windows
    that are open have: that is not left.
    """
    open_now = open_elsewhere()
    try:
        found = sittings.last_sittings(
            database_path(data_folder()),
            besides=st.session_state.token,
            most=LOOKED_AT + len(open_now),
        )
    except InputError:
        return []
    began_from = st.session_state.began_from
    closed = [each for each in found if each.token not in open_now and each != began_from]
    mine = str(st.session_state.kept.path), dict(st.session_state.changes)
    left: dict[str, sittings.Sitting] = {}
    for at, each in enumerate(closed):
        changes = dict(each.changes)
        known = each.plan_path == mine[0] and changes.items() <= mine[1].items()
        if not known and Path(each.plan_path).is_file() and (changes or at == 0):
            left.setdefault(f"{each.plan_path} {sorted(changes.items(), key=str)}", each)
    return list(left.values())[:MOST_OFFERED]


def also_open() -> tuple[sittings.Sitting, ...]:
    """Return what the other windows have that are open now on the file of this window's plan."""
    try:
        found = sittings.sittings_of(database_path(data_folder()), open_elsewhere())
    except InputError:
        return ()
    return tuple(each for each in found if each.plan_path == str(st.session_state.kept.path))


def _sitting() -> tuple[str, Path, str, dict[str, Any]]:
    kept = st.session_state.kept
    return st.session_state.token, kept.path, kept.sha256, dict(st.session_state.changes)


def _kept_sitting(token: str | None) -> sittings.Sitting | None:
    """Find the sitting that the address names, if its plan is still there."""
    if not token:
        return None
    try:
        found = sittings.sitting(database_path(data_folder()), token)
    except InputError as error:
        st.session_state.keeping_fault = error
        return None
    return found if found and Path(found.plan_path).is_file() else None


RIGHT_ON = "balances_right_on"
"""The day on which the balances were last said to be right."""

OURS = ("plant_strategy", "plant_area", "plant_hold_back", "plant_hold_above")
"""Controls that make our choice."""

FOLLOWERS = ("money_strategy", "paper_strategy")
"""Controls of other pages, which follow our choice once there is one."""

OF_ONE_PLAN = (*OURS, *FOLLOWERS, RIGHT_ON)
"""What is chosen and said of the plan that is open, and goes with it."""


def begin_choices(kept: Mapping[str, str | float]) -> None:
    """Drop the choices made for the plan before; controls begin at those kept with this one."""
    for key in OF_ONE_PLAN:
        st.session_state.pop(key, None)
    st.session_state.kept_choices = {key: kept[key] for key in OF_ONE_PLAN if key in kept}
    st.session_state.choice_to_keep = False
    st.session_state.picked = set(st.session_state.kept_choices)
    st.session_state.chosen = any(key in OURS for key in st.session_state.kept_choices)


def chosen() -> bool:
    """Return whether our choice was made for the plan that is open, now or before."""
    return bool(st.session_state.get("chosen"))


def note_choice(key: str) -> None:
    """Note that a choice was made, and is to be kept: called by the control that is moved."""
    st.session_state.choice_to_keep = True
    st.session_state.picked.add(key)
    if key in OURS:
        st.session_state.chosen = True
        for follower in FOLLOWERS:  # they begin at our choice, unless something else was picked
            if follower not in st.session_state.picked:
                st.session_state.pop(follower, None)


def today() -> dt.date:
    """Return the day by this computer's clock."""
    return dt.date.today()


def note_right(day: dt.date) -> None:
    """Note that the balances were said to be right on a day."""
    st.session_state[RIGHT_ON] = day.isoformat()
    note_choice(RIGHT_ON)


def right_on() -> dt.date | None:
    """Return the day on which the balances were last said to be right; None: on none."""
    noted = choices_made().get(RIGHT_ON)
    try:
        return dt.date.fromisoformat(str(noted)) if noted else None
    except ValueError:
        return None


def choice_unkept() -> bool:
    """Return whether a choice was made and is not kept; a control only drawn is no choice."""
    return bool(st.session_state.choice_to_keep)


def choices_kept() -> None:
    """Note that the choices are kept as they stand."""
    st.session_state.choice_to_keep = False


def choices_made() -> dict[str, str | float]:
    """Return the choices as they stand, also those whose control is not drawn yet."""
    drawn = {key: st.session_state[key] for key in OF_ONE_PLAN if key in st.session_state}
    return {**st.session_state.kept_choices, **drawn}


MOST_KNOWN: Final = 500
"""Windows remembered; those that were used longest ago are forgotten beyond these."""


class Windows:
    """The token that each session of the server used last; safe to use from many threads."""

    def __init__(self) -> None:
        self._tokens: dict[str, str] = {}
        self._lock = Lock()

    def note(self, session: str, token: str) -> None:
        """Note that a session stands on a token now."""
        with self._lock:
            self._tokens.pop(session, None)
            self._tokens[session] = token
            while len(self._tokens) > MOST_KNOWN:
                del self._tokens[next(iter(self._tokens))]

    def tokens(self) -> dict[str, str]:
        """Return the tokens by session, that used last at the end."""
        with self._lock:
            return dict(self._tokens)


_WINDOWS: Final = Windows()
"""One list for all windows of the server: shared on purpose."""


def note_window(token: str) -> None:
    """Note that this window stands on a token."""
    session = _session()
    if session is not None:
        _WINDOWS.note(session, token)


def open_elsewhere() -> frozenset[str]:
    """Return the tokens of the other windows that are open on this server now."""
    own = _session()
    known = _WINDOWS.tokens().items()
    return frozenset(token for session, token in known if session != own and _connected(session))


def _session() -> str | None:
    """Name this window's session, None where no page is being run."""
    from streamlit.runtime.scriptrunner import get_script_run_ctx

    context = get_script_run_ctx(suppress_warning=True)
    return None if context is None else context.session_id


def _connected(session: str) -> bool:
    """Return whether the server has a session's window; False where there is no server."""
    from streamlit import runtime

    return runtime.exists() and runtime.get_instance().is_active_session(session) is True


def diary_path() -> Path:
    """Find the diary's file, in the person's data folder."""
    return database_path(data_folder())


def decision(plan: Plan, record: Record, day: dt.date, words: str, at_odds: str) -> Decision:
    """Join a decision with a copy of its plan."""
    return Decision(
        decided_on=day,
        decision=words,
        odds=at_odds,
        plan_path=str(st.session_state.kept.path),
        plan_title=plan.title,
        plan_text=current_text(),
        record_sha256=record.sha256,
    )
