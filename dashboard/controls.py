"""How is a thing asked for? A control a figure, each with unit, range and help; buttons that act.

A control shows the figure of `state` and puts back what a person sets. It holds no value of its
own: the same figure may be asked for on two pages, and none is lost when a page is left.

A button does all it does to a file or to the plan before its page is drawn again. Done while the
page is drawn it could be lost: a page is drawn until something else is moved, and then begun anew.
So the button calls it (`on_click`), and the page says afterwards what came of it: what was done, in
`state.notice`, or beside the button what to fix first.
"""

from __future__ import annotations

import calendar
import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

import streamlit as st

from dashboard import show, state
from model.errors import InputError
from model.plan.text import meaning_of
from model.say import numbers

MOST = 1e9
"""The most that a volume may be, ML: beyond any dam."""

FIELD = "field"
"""The kind of a control that is a field, in its place among the figures of its page."""

TABLE_FILES = ["csv", "txt", "tsv", "xlsx"]
"""Files that a record or announced figures may come in."""

SLIDER_PLACES = 600
"""As many as a hand tells apart on a screen."""


def number(
    key: str,
    label: str,
    *,
    meaning: str = "",
    highest: float = MOST,
    step: float = 0.01,
    digits: int = 2,
    lowest: float = 0.0,
    then: Callable[[Any], None] | None = None,
    kind: str = FIELD,
) -> None:
    """Ask for an amount, of 0 or more if not said otherwise; `then` may change others with it.

    A figure that is asked for twice on a page needs another `kind` the second time.
    """
    value = float(state.figure(key) or 0.0)
    widget = begin(key, value, kind=kind)
    st.number_input(
        label,
        min_value=min(lowest, value),
        max_value=max(float(highest), value),
        step=float(step),
        format=f"%.{digits}f",
        key=widget,
        on_change=_put,
        args=(key, widget, then),
        help=_helped(key, meaning, _range(lowest, highest)),
    )


def volume_step_ml(capacity_ml: float) -> float:
    """Return the step in which a volume of a dam is moved: a slider has so many places."""
    return max(1.0, round(capacity_ml / SLIDER_PLACES))


def limit(key: str, label: str, *, meaning: str = "", highest: float = 100.0) -> None:
    """Ask for a limit that may be left out: blank is no limit."""
    number_or_blank(key, label, blank="no limit", meaning=meaning, highest=highest, step=0.05)


def number_or_blank(
    key: str,
    label: str,
    *,
    blank: str,
    meaning: str = "",
    highest: float = MOST,
    step: float = 0.01,
    digits: int = 2,
    lowest: float = 0.0,
    kind: str = FIELD,
) -> None:
    """Ask for an amount that may be left out, of 0 or more if not said otherwise.

    `blank` says what leaving it out means; `kind` is that of `number`.
    """
    value = state.figure(key)
    widget = begin(key, value, kind=kind)
    st.number_input(
        label,
        min_value=lowest,
        max_value=max(float(highest), value or 0.0),
        value=None,
        step=float(step),
        format=f"%.{digits}f",
        key=widget,
        on_change=_put,
        args=(key, widget),
        placeholder=blank,
        help=_helped(key, meaning, f"{_range(lowest, highest)}; left blank: {blank}"),
    )


def choice_or_blank(
    key: str, label: str, options: Sequence[str], *, blank: str, meaning: str = ""
) -> None:
    """Ask for one of a few that may be left out; `blank` says what that means."""
    widget = begin(key, state.figure(key))
    st.selectbox(
        label,
        options,
        index=None,
        key=widget,
        on_change=_put,
        args=(key, widget),
        placeholder=blank,
        help=_helped(key, meaning, f"one of these; left blank: {blank}"),
    )


def month_number(key: str, label: str, numbers: Sequence[int], *, blank: str) -> None:
    """Ask for a calendar month by its name, or for none; `blank` says what that means."""
    widget = begin(key, state.figure(key))
    st.selectbox(
        label,
        numbers,
        index=None,
        format_func=lambda number: calendar.month_name[number],
        key=widget,
        on_change=_put,
        args=(key, widget),
        placeholder=blank,
        help=_helped(key, "", f"one of these; left blank: {blank}"),
    )


def month_numbers(key: str, label: str) -> None:
    """Ask for one or more calendar months by their names."""
    widget = begin(key, list(state.figure(key) or ()))
    st.multiselect(
        label,
        range(1, 13),
        format_func=lambda number: calendar.month_name[number],
        key=widget,
        on_change=_put,
        args=(key, widget),
        help=_helped(key, "", "one month or more"),
    )


def twelve(key: str, names: Sequence[str], *, unit: str, step: float, columns: int = 2) -> None:
    """Ask for twelve amounts of 0 or more, one a calendar month, July first."""
    for first in range(0, len(names), columns):
        places = range(first, min(first + columns, len(names)))
        for at, column in zip(places, st.columns(columns), strict=False):
            with column:
                _one_of_twelve(key, at, f"{names[at]}, {unit}", step)


def _one_of_twelve(key: str, at: int, label: str, step: float) -> None:
    """Ask for one of twelve amounts."""
    widget = begin(f"{key}.{at + 1}", float(state.figure(key)[at]))

    def put() -> None:
        values = [float(value) for value in state.figure(key)]
        values[at] = st.session_state[widget]
        state.put(key, values)

    st.number_input(
        label,
        min_value=0.0,
        max_value=MOST,
        step=float(step),
        format="%.0f",
        key=widget,
        on_change=put,
        help=_helped(key, "", "0 or more"),
    )


def whole(key: str, label: str, *, highest: int, meaning: str = "") -> None:
    """Ask for a whole number of 0 or more."""
    widget = begin(key, int(state.figure(key)))
    st.number_input(
        label,
        min_value=0,
        max_value=highest,
        step=1,
        key=widget,
        on_change=_put,
        args=(key, widget),
        help=_helped(key, meaning, f"0 to {highest}"),
    )


def slider(
    key: str,
    label: str,
    *,
    highest: float,
    step: float,
    lowest: float = 0.0,
    shown: str = "%,.2f",
    meaning: str = "",
    then: Callable[[Any], None] | None = None,
) -> None:
    """Ask for an amount by sliding; `then` may change other figures with it."""
    value = float(state.figure(key))
    widget = begin(key, value, kind="slider")
    st.slider(
        label,
        min_value=min(lowest, value),
        max_value=max(float(highest), value),
        step=float(step),
        format=shown,
        key=widget,
        on_change=_put,
        args=(key, widget, then),
        help=_helped(key, meaning, f"{numbers.plain(lowest)} to {numbers.plain(highest)}"),
    )


def choice(
    key: str,
    label: str,
    options: Sequence[Any],
    *,
    said: Callable[[Any], str] = str,
    meaning: str = "",
    then: Callable[[Any], None] | None = None,
) -> None:
    """Ask for one of a few; `then` may change other figures with it."""
    widget = begin(key, state.figure(key))

    st.selectbox(
        label,
        options,
        key=widget,
        format_func=said,
        on_change=_put,
        args=(key, widget, then),
        help=_helped(key, meaning, ""),
    )


def text(
    key: str, label: str, *, meaning: str = "", longest: int = 200, optional: bool = False
) -> None:
    """Ask for words; left blank, those that are `optional` are none."""
    widget = begin(key, state.figure(key) or "" if optional else state.figure(key))
    st.text_input(
        label,
        key=widget,
        max_chars=longest,
        on_change=_put,
        args=(key, widget, (lambda given: state.put(key, given or None)) if optional else None),
        help=meaning or None,
    )


def yes_or_no(key: str, label: str, *, meaning: str = "") -> None:
    """Ask whether something holds."""
    widget = begin(key, bool(state.figure(key)))
    st.checkbox(label, key=widget, on_change=_put, args=(key, widget), help=meaning or None)


def source(name: str, of_what: str, *, table: str = "opening.sources") -> None:
    """Ask where and when an announced figure of the opening was read."""
    key = f"{table}.{name}"
    given = state.figure(key) or {}
    where = begin(f"{key}.read_in", given.get("read_in", ""))
    day = given.get("date")
    when = begin(f"{key}.date", date.fromisoformat(day) if day else None)

    def put() -> None:
        read_in, read_on = st.session_state[where], st.session_state[when]
        table = {"read_in": read_in} | ({"date": read_on.isoformat()} if read_on else {})
        state.put(key, table if read_in or read_on else None)

    where_column, when_column = st.columns([3, 2])
    where_column.text_input(
        f"{of_what}: read in",
        key=where,
        max_chars=200,
        on_change=put,
        help="The announcement, page or statement that the figure was read in.",
    )
    when_column.date_input(
        f"{of_what}: dated",
        key=when,
        on_change=put,
        format="YYYY-MM-DD",
        help="The date of that announcement.",
    )


def begin(key: str, value: Any, *, kind: str = FIELD) -> str:
    """Let a control show the figure; return the control's own key.

    On another page it is another control to the framework, and would begin at its lowest.
    """
    widget, page = f"{kind}.{key}", st.session_state.page
    page_of: dict[str, str] = st.session_state.setdefault("page_of_control", {})
    known = widget in st.session_state and page_of.get(widget) == page
    if not known or st.session_state[widget] != value:
        st.session_state[widget] = value
        page_of[widget] = page
    return widget


def _put(key: str, widget: str, then: Callable[[Any], None] | None = None) -> None:
    state.put(key, st.session_state[widget])
    if then is not None:
        then(st.session_state[widget])


def _range(lowest: float, highest: float) -> str:
    """Show what may be given."""
    if lowest <= -MOST:
        return "any amount, below 0 too"
    return f"0 to {highest:,.10g}" if highest < MOST else "0 or more"


def _helped(key: str, meaning: str, allowed: str) -> str:
    """Show what a figure means and what may be given."""
    said = meaning or meaning_of(key)
    said = f"{said[:1].upper()}{said[1:]}".rstrip(".")
    return f"{said}. Allowed: {allowed}." if allowed else f"{said}."


def part(table: str, name: str, label: str) -> None:
    """Ask for one fraction of a table that may be left out as a whole."""
    widget = begin(f"{table}.{name}", float(state.figure(table)[name]))

    def put() -> None:
        state.put(table, state.figure(table) | {name: st.session_state[widget]})

    st.number_input(
        label,
        min_value=0.0,
        max_value=1.0,
        step=0.01,
        key=widget,
        on_change=put,
        help=_helped(f"{table}.{name}", "", "0 to 1"),
    )


def table_or_none(
    table: str,
    label: str,
    begins: Mapping[str, Any],
    *,
    then: Callable[[bool], None] = lambda given: None,
) -> None:
    """Ask whether a table that may be left out is there; it begins with given figures.

    `then` is told what was chosen.
    """
    widget = begin(f"{table}.given", state.figure(table) is not None)

    def put() -> None:
        begun = state.saved_figure(table) or dict(begins)
        for inner in [key for key in st.session_state.changes if key.startswith(f"{table}.")]:
            st.session_state.changes.pop(inner)
        state.put(table, begun if st.session_state[widget] else None)
        then(st.session_state[widget])

    st.checkbox(label, key=widget, on_change=put)


def list_or_none(key: str, label: str, begins: Sequence[float]) -> None:
    """Ask whether a list that may be left out is there; it begins with given figures."""
    widget = begin(f"{key}.given", state.figure(key) is not None)

    def put() -> None:
        begun = state.saved_figure(key) or list(begins)
        state.put(key, begun if st.session_state[widget] else None)

    st.checkbox(label, key=widget, on_change=put)


def strategy(
    label: str,
    names: Sequence[str],
    *,
    key: str,
    usual: int = 0,
    meaning: str | None = None,
    then: Callable[[str], None] | None = None,
) -> int:
    """Ask for one of the strategies; return its place. It begins at the one kept, if still there.

    `usual` is the place at which it begins otherwise, or the last where there are fewer; `then` may
    change other choices with it.
    """

    def noted() -> None:
        state.note_choice(key)
        if then is not None:
            then(st.session_state[key])

    kept = st.session_state.kept_choices.get(key)
    chosen = st.selectbox(
        label,
        names,
        index=names.index(kept) if kept in names else min(usual, len(names) - 1),
        key=key,
        persist_state="session",
        on_change=noted,
        help=meaning,
    )
    return names.index(chosen)


def begins_at(key: str, usual: float, most: float) -> float:
    """Return the amount at which a control begins: the one kept, within 0 and what is allowed."""
    kept = st.session_state.kept_choices.get(key)
    fits = isinstance(kept, int | float) and math.isfinite(kept)
    return min(most, max(0.0, float(kept))) if fits else usual


NOT_WRITTEN = "Nothing was written."


def button(
    label: str,
    key: str,
    act: Callable[..., None],
    *words: object,
    refusal: str = NOT_WRITTEN,
    meaning: str | None = None,
    disabled: bool = False,
) -> None:
    """Offer to do something; `refusal` heads what is to mend where it could not be done."""
    args = (key, act, *words)
    st.button(label, key=key, help=meaning, disabled=disabled, on_click=do, args=args)
    refused(key, refusal)


def submit(
    label: str, key: str, act: Callable[..., None], *words: object, refusal: str = NOT_WRITTEN
) -> None:
    """Offer to do something with what was typed in the form around; see `button`."""
    st.form_submit_button(label, on_click=do, args=(key, act, *words))
    refused(key, refusal)


def do(key: str, act: Callable[..., None], *words: object) -> None:
    """Do something; keep what is to mend where it cannot be done, under the button's key."""
    try:
        act(*words)
    except InputError as error:
        st.session_state.refusal = (key, error)


def refused(key: str, head: str) -> bool:
    """Show what is to mend where a button's act could not be done just now; tell whether so."""
    found = st.session_state.get("refusal")
    if found is None or found[0] != key:
        return False
    del st.session_state.refusal
    show.faults(found[1], head, key=f"{key}_faults")
    return True
