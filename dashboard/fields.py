"""How is any key of a plan asked for? By what the plan itself declares of it.

A figure has its name, unit, bounds and usual value from its key (`model.plan.fields`), its words
from `model.say.fields`. A list of tables is asked for row by row, or one at a time where its rows
are long. So a new key of the plan is asked for without a line written for it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from copy import deepcopy
from typing import Any, Final

import streamlit as st

from dashboard import controls, state
from dashboard.controls import begin
from model.errors import InputError
from model.plan.example import example_plan, still_example
from model.plan.fields import PlanField, key_of
from model.plan.steps import steps_that_name, without_loan
from model.plan.text import load_toml
from model.say import fields as say
from model.water_year import MONTH_NAMES

ACROSS: Final = 3
LONG_ROW: Final = 9
"""Rows of so many figures or more are asked for one at a time."""

MONTHS_ACROSS: Final = 6
LOANS: Final = "farm.money.loans"
REFUSED: Final = "fields_refused"
"""Where texts stand that could not be read as numbers, by key."""


def ask_keys(asked: Sequence[tuple[str, PlanField]], *, fixed: bool = False) -> None:
    """Ask for keys of the plan.

    Parameters
    ----------
    asked
        Each with the table that it stands in.
    fixed
        Whether rows of lists are neither added nor taken out.
    """
    kept = st.session_state.kept
    st.session_state.as_filed = load_toml(kept.text.encode(), kept.path.name)
    st.session_state.as_stated = None
    try:
        st.session_state.still_example = frozenset(still_example(state.current_plan()))
    except InputError:  # said at the head of the page; the marks stay as they were
        st.session_state.setdefault("still_example", frozenset())
    _ask_all(asked, fixed=fixed)


def _ask_all(asked: Sequence[tuple[str, PlanField]], *, fixed: bool) -> None:
    """Ask for figures side by side, then lists of months, then tables.

    Figures of a long table that have a usual value, and that the file leaves at it, are folded.
    """
    simple = [(at, field) for at, field in asked if not field.inner and field.kind != "twelve"]
    folded = [each for each in simple if len(simple) >= LONG_ROW and _is_usual(*each)]
    _side_by_side([each for each in simple if each not in folded])
    for at, field in asked:
        if field.kind == "twelve":
            _twelve(key_of(at, field), field)
    if folded:
        with st.expander(f"More that may be stated ({len(folded)})", key=f"more.{folded[0][0]}"):
            _side_by_side(folded)
    for at, field in asked:
        if field.kind == "table":
            _table(key_of(at, field), field, fixed=fixed)
        elif field.kind == "tables":
            _rows(key_of(at, field), field, fixed=fixed)


def _is_usual(at: str, field: PlanField) -> bool:
    """Return whether the file leaves a figure at its usual value."""
    return not field.required and state.inside(st.session_state.as_filed, key_of(at, field)) is None


def _side_by_side(asked: Sequence[tuple[str, PlanField]]) -> None:
    """Ask for figures, a few beside one another."""
    for first in range(0, len(asked), ACROSS):
        row = asked[first : first + ACROSS]
        for column, (at, field) in zip(
            st.columns(ACROSS, vertical_alignment="bottom"), row, strict=False
        ):
            with column:
                _ASK[field.kind](key_of(at, field), field)


def _value(key: str, field: PlanField) -> Any:
    """Return the figure of a key, its usual one where it is left out."""
    value = state.figure(key)
    return field.usual if value is None else value


def _label(key: str, field: PlanField, value: object = None) -> str:
    return say.label(field, value, examples=key in st.session_state.still_example)


def _number(key: str, field: PlanField) -> None:
    """Ask for a number, or for none where it may be left out."""
    value = _value(key, field)
    given = None if value is None else say.shown(field, value)
    lowest, highest = say.bounds(field)
    widget = begin(key, given)
    places = say.digits([] if given is None else [given])
    st.number_input(
        _label(key, field, value),
        min_value=None if math.isinf(lowest) else lowest,
        max_value=None if math.isinf(highest) else highest,
        value="min" if given is not None and not field.blank else None,
        step=say.step(field, given),
        format=f"%.{places}f",
        key=widget,
        on_change=_put,
        args=(key, widget, lambda typed: say.stated(field, typed)),
        placeholder=say.asked(field).blank,
        help=say.help_text(field),
    )


def _whole(key: str, field: PlanField) -> None:
    """Ask for a whole number."""
    value = _value(key, field)
    widget = begin(key, value)
    lowest, highest = say.bounds(field)
    st.number_input(
        _label(key, field),
        min_value=None if math.isinf(lowest) else int(lowest),
        max_value=None if math.isinf(highest) else int(highest),
        value=None if field.blank else "min",
        step=1,
        key=widget,
        on_change=_put,
        args=(key, widget, int),
        help=say.help_text(field),
    )


def _text(key: str, field: PlanField) -> None:
    """Ask for words; a crop or a row layout of the farm by its name."""
    names = _names_for(key, field)
    if names is not None:
        _one_of(key, field, names)
        return
    widget = begin(key, _value(key, field) or "")
    st.text_input(
        _label(key, field),
        key=widget,
        max_chars=field.most,
        on_change=_put,
        args=(key, widget, lambda typed: typed or None),
        help=say.help_text(field),
    )


def _stated() -> dict[str, Any]:
    """Return the plan as the page states it: its file is read once a drawing."""
    if st.session_state.as_stated is None:
        st.session_state.as_stated = state.stated()
    found: dict[str, Any] = st.session_state.as_stated
    return found


def _names_for(key: str, field: PlanField) -> list[str] | None:
    """Return the farm's own names that a key may hold; None where it is free text."""
    if field.name in ("loan", "repay_loan"):
        return [loan["name"] for loan in state.inside(_stated(), LOANS) or []]
    if field.name not in ("crop", "layout"):
        return None
    crops = state.inside(_stated(), "farm.crops") or []
    if field.name == "crop":
        return [crop["name"] for crop in crops]
    of_crop = state.figure(f"{key.rpartition('.')[0]}.crop")
    found = [crop for crop in crops if crop["name"] == of_crop]
    return [layout["name"] for crop in found for layout in crop["layouts"]]


def _choice(key: str, field: PlanField) -> None:
    _one_of(key, field, field.choices)


def _one_of(key: str, field: PlanField, names: Sequence[str]) -> None:
    """Ask for one of a few, or for none where it may be left out."""
    value = _value(key, field)
    options = names if value is None or value in names else [*names, value]
    widget = begin(key, value)
    st.selectbox(
        _label(key, field),
        options,
        index=None if field.blank else 0,
        format_func=say.option,
        key=widget,
        on_change=_put,
        args=(key, widget),
        placeholder=say.asked(field).blank,
        help=say.help_text(field),
    )


def _choices(key: str, field: PlanField) -> None:
    """Ask for some of a few, in the order in which they are picked."""
    widget = begin(key, list(_value(key, field) or ()))
    st.multiselect(
        _label(key, field),
        field.choices,
        format_func=say.option,
        key=widget,
        on_change=_put,
        args=(key, widget, list),
        help=say.help_text(field),
    )


def _yes_or_no(key: str, field: PlanField) -> None:
    """Ask whether something holds."""
    widget = begin(key, bool(_value(key, field)))
    st.checkbox(
        _label(key, field),
        key=widget,
        on_change=_put,
        args=(key, widget),
        help=say.help_text(field),
    )


def _numbers(key: str, field: PlanField) -> None:
    """Ask for a list of numbers as they are typed; what cannot be read stays, and is said."""
    refused: dict[str, str] = st.session_state.setdefault(REFUSED, {})
    widget = f"field.{key}"
    if key not in refused or widget not in st.session_state:
        refused.pop(key, None)
        widget = begin(key, say.numbers_shown(field, _value(key, field)))

    def put() -> None:
        try:
            values = say.numbers_typed(field, st.session_state[widget])
        except ValueError as error:
            refused[key] = str(error)
            return
        refused.pop(key, None)
        state.put(key, values if values or field.blank else [])

    st.text_input(
        _label(key, field),
        key=widget,
        on_change=put,
        placeholder=say.asked(field).blank if field.blank else "",
        help=say.help_text(field),
    )
    if key in refused:
        st.error(f"{refused[key]}. The plan keeps what it had.")


def _twelve(key: str, field: PlanField) -> None:
    """Ask for twelve numbers, July first; those of a list that is not there yet in one row."""
    if field.blank and state.figure(key) is None:
        _numbers(key, field)
        return
    if field.blank:
        controls.list_or_none(key, _label(key, field), [])
    else:
        st.markdown(f"**{_label(key, field)}**")
    for first in range(0, len(MONTH_NAMES), MONTHS_ACROSS):
        for place, column in enumerate(st.columns(MONTHS_ACROSS), start=first):
            with column:
                _one_month(key, field, place)


def _one_month(key: str, field: PlanField, place: int) -> None:
    """Ask for one number of twelve."""
    given = say.shown(field, _value(key, field)[place])
    widget = begin(f"{key}.{place + 1}", given)
    lowest, highest = say.bounds(field)

    def put() -> None:
        values = list(_value(key, field))
        values[place] = say.stated(field, st.session_state[widget])
        state.put(key, values)

    st.number_input(
        MONTH_NAMES[place],
        min_value=lowest,
        max_value=None if math.isinf(highest) else highest,
        step=say.step(field, given),
        format=f"%.{say.digits([given])}f",
        key=widget,
        on_change=put,
        help=say.help_text(field),
    )


def _put(key: str, widget: str, stated: Callable[[Any], Any] = lambda typed: typed) -> None:
    """Put what was typed in the plan; left blank, the key is left out."""
    typed = st.session_state[widget]
    state.put(key, None if typed is None else stated(typed))


def _table(key: str, field: PlanField, *, fixed: bool) -> None:
    """Ask for a table; of one that may be left out, whether it is there."""
    if field.blank:
        controls.table_or_none(key, say.heading(field), _begins(key, field))
    else:
        st.subheader(say.heading(field), anchor=False)
    if not field.blank or state.figure(key) is not None:
        st.caption(field.meaning)
        _ask_all([(key, inner) for inner in field.inner], fixed=fixed)


def _rows(key: str, field: PlanField, *, fixed: bool) -> None:
    """Ask for a list of tables: all rows, or one at a time where they are long."""
    rows = state.inside(_stated(), key) or []
    st.subheader(say.heading(field), anchor=False)
    if field.meaning:
        st.caption(f"{say.asked(field).title}.")
    if _is_long(field) and rows:
        places = list(range(1, len(rows) + 1))
        pick = f"pick.{key}"
        if st.session_state.get(pick) not in places:
            st.session_state[pick] = 1
        place = st.segmented_control(
            say.heading(field),
            places,
            format_func=lambda at: _row_name(rows[at - 1], at),
            required=True,
            key=pick,
            label_visibility="collapsed",
        )
        _row(key, field, place or 1, rows, fixed=fixed)
    else:
        for place in range(1, len(rows) + 1):
            with st.container(border=True):
                _row(key, field, place, rows, fixed=fixed)
    if not fixed and (field.most is None or len(rows) < field.most):
        words = f"{say.heading(field)}: add {'another like it' if rows else 'one'}"
        st.button(words, key=f"add.{key}", on_click=_add, args=(key, field))


def picked(key: str) -> int:
    """Return which row of a list that is asked for one at a time is shown, the first from 0."""
    return max(0, int(st.session_state.get(f"pick.{key}") or 1) - 1)


def _is_long(field: PlanField) -> bool:
    """Return whether rows of a list are asked for one at a time."""
    return len(field.inner) >= LONG_ROW or any(inner.kind == "tables" for inner in field.inner)


def _row_name(row: dict[str, Any], place: int) -> str:
    """Return what a row is called: its name, else the first words in it, else its place."""
    words = [value for value in row.values() if isinstance(value, str)]
    return str(row.get("name") or ", ".join(words[:2]) or place)


def _row(
    key: str, field: PlanField, place: int, rows: list[dict[str, Any]], *, fixed: bool
) -> None:
    """Ask for one row of a list."""
    _ask_all([(f"{key}.{place}", inner) for inner in field.inner], fixed=fixed)
    if not fixed and len(rows) > field.fewest:
        name = _row_name(rows[place - 1], place)
        steps = steps_that_name(_stated().get("strategies") or [], name) if key == LOANS else []
        words = say.take_out(name, steps)
        st.button(words, key=f"out.{key}.{place}", on_click=_out, args=(key, place))


def _add(key: str, field: PlanField) -> None:
    """Add a row like the last one, or like the example's first."""
    rows = deepcopy(state.inside(state.stated(), key) or [])
    new = deepcopy(rows[-1]) if rows else _begins(f"{key}.1", field)
    if rows and "name" in new:
        new["name"] = say.another_name(new["name"], [row["name"] for row in rows])
    state.put_list(key, [*rows, new])
    if _is_long(field):
        st.session_state[f"pick.{key}"] = len(rows) + 1


def _out(key: str, place: int) -> None:
    """Take a row out; with a loan go the drought steps that name it."""
    stated = deepcopy(state.stated())
    rows, strategies = state.inside(stated, key), stated.get("strategies") or []
    name = _row_name(rows.pop(place - 1), place)
    state.put_list(key, rows)
    if key == LOANS and steps_that_name(strategies, name):
        state.put_list("strategies", without_loan(strategies, name))


def _begins(key: str, field: PlanField) -> dict[str, Any]:
    """Return where a table that was not there begins: at the example's, else at its bounds."""
    found = state.inside(example_plan().model_dump(mode="json"), key)
    if isinstance(found, dict):
        return {name: value for name, value in found.items() if value is not None}
    return {inner.name: say.least(inner) for inner in field.inner if inner.required}


_ASK: Final[dict[str, Callable[[str, PlanField], None]]] = {
    "number": _number,
    "whole": _whole,
    "text": _text,
    "yes_or_no": _yes_or_no,
    "choice": _choice,
    "choices": _choices,
    "numbers": _numbers,
}
