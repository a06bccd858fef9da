"""What was announced in past years: typed or brought in, held against the rules, settings offered.

What is typed becomes part of the plan once it has no fault; until then it stays in the table as it
was typed. Settings that come nearer to history are only offered: a button puts them in the plan.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import controls, show, state
from dashboard.views.valley import in_percent, replayed
from model.errors import InputError
from model.plan.announced import AnnouncedRows, Kind, parse_rows, signed_throughout, typed_rows
from model.plan.cautions import looks_in_percent
from model.say import numbers

KINDS: dict[Kind, str] = {
    "water_years": "a water year (2010-11)",
    "dates": "a date (2010-08-15)",
}
WHEN: dict[Kind, str] = {"water_years": "Water year", "dates": "Date"}
AMOUNT = "ML per share"
BLANK_ROWS = 3
MOST_SHOWN = 12
SHOWN_PX = 460
"""Height of a longer table, which scrolls: what it says stands below it."""


def ask() -> None:
    """Ask what was announced, hold the rules against it, and offer settings."""
    st.subheader("What was announced in past years", anchor=False)
    st.markdown(
        "With what your valley really announced, the tool replays those years through the rules as "
        "you state them here, and every page of odds then says how far off they were. Figures are "
        "ML per share announced to date in the water year (35 % is 0.35): one a year, at its end, "
        "or one a date. They are on past announcements and account statements."
    )
    rows = _rows_now()
    if rows is not None:
        in_percent.percent_in_plan(rows)
    _upload(rows)
    _typed(rows)
    if st.session_state.current is None or rows is None:
        return
    try:
        replayed.held_against(*st.session_state.current)
    except InputError as error:
        show.faults(error, "These years cannot be replayed.", key="held_faults")


def _rows_now() -> AnnouncedRows | None:
    """Return the rows of the plan, or of the file it names; say what is to mend in that."""
    try:
        return state.announced_rows()
    except InputError as error:
        head = f"The plan names {error.source} for what was announced; it cannot be used."
        show.faults(error, head, key="announced_file_faults")
        return None


def _upload(now: AnnouncedRows | None) -> None:
    """Take a CSV file or a workbook; what the plan has stays until the new rows are put in."""
    given = st.file_uploader(
        "A CSV file or an Excel workbook: water_year (2010-11) or date (2010-08-15), and "
        "ml_per_share (or all with a %)",
        type=controls.TABLE_FILES,
        key="announced_file",
    )
    if given is None:
        return
    try:
        signed = signed_throughout(given.getvalue())
        rows = parse_rows(given.getvalue(), given.name, percent=signed)
    except InputError as error:
        count = len(error.faults)
        head = f"{given.name}: {numbers.count(count, 'problem')} to fix. It is not used."
        show.faults(error, head, key="announced_faults")
        return
    told = numbers.count(len(rows.when), "row")
    span = f"{told}, {rows.when[0]} to {rows.when[-1]}"
    if rows == now:
        divided = ", divided by 100" if signed else ""
        st.success(f"{given.name} was added to the plan{divided}: {span}.")
        return
    if signed:
        in_percent.signed(rows, f"{given.name}, {span}. ")
        return
    if (doubt := looks_in_percent(rows)) is not None:
        if doubt.meant == now:
            st.success(f"{given.name} was added to the plan, divided by 100: {span}.")
        else:
            in_percent.doubted(rows, f"{given.name}, {span}. ", key="file")
        return
    st.success(f"{given.name} can be used: {span}.")
    st.button(
        "Put these rows in the plan",
        key="use_announced_file",
        on_click=in_percent.put_rows,
        args=(rows,),
        help="They take the place of the rows below.",
    )


def _typed(rows: AnnouncedRows | None) -> None:
    """Show the rows to type in, and where dam and account stood, if that is known."""
    kind: Kind = st.segmented_control(
        "Each row is for",
        tuple(KINDS),
        default=rows.kind if rows else "water_years",
        required=True,
        format_func=KINDS.__getitem__,
        key=f"announced_kind_{rows.kind if rows else 'none'}",
    )
    shown = rows if rows and rows.kind == kind else None
    if rows is not None and shown is None:
        st.caption(
            f"Rows in the plan: {numbers.number(len(rows.when))}, each for {KINDS[rows.kind]}. "
            "They stay "
            "until rows typed here take their place."
        )
    stated = state.figure("announced") or {}
    version = _version(shown, kind, stated)
    with st.form("announced_form", border=False):
        edited = st.data_editor(
            _frame(shown, kind),
            key=f"announced_{version}",
            hide_index=False,
            num_rows="dynamic",
            alt="Announced figures, a row each, to type in",
            height="content" if shown is None or len(shown.when) <= MOST_SHOWN else SHOWN_PX,
            column_config={
                "_index": st.column_config.NumberColumn("Row", disabled=True, width=50),
                WHEN[kind]: st.column_config.TextColumn(max_chars=10, width=120),
                AMOUNT: st.column_config.NumberColumn(
                    min_value=0.0, step=0.001, width=120, help="Announced to date in the year"
                ),
            },
        )
        known = _known_state(stated, version)
        if st.form_submit_button("Use these rows"):
            _use_typed(kind, edited, known, version)
    in_percent.typed_doubted(version)
    st.caption("What is typed in the table is kept once you press the button.")
    if stated:
        st.button(
            "Take what was announced out of the plan",
            key="drop_announced",
            on_click=state.put,
            args=("announced", None),
        )


def _known_state(stated: Mapping[str, Any], version: str) -> dict[str, Any]:
    """Ask where dam and account stood on a 1 July, if the user knows."""
    st.markdown(
        "If you know where the dam stood on a 1 July before the first row, the replay begins "
        "there; left blank, it begins some years before from where the plan stands now."
    )
    year_column, dam_column, account_column = st.columns(3)
    month = stated.get("known_month")
    year = year_column.number_input(
        "On 1 July of the year",
        min_value=1800,
        max_value=2200,
        value=int(month[:4]) if month else None,
        placeholder="not known",
        key=f"known_year_{version}",
    )
    storage_ml = dam_column.number_input(
        "the dam held, ML",
        min_value=0.0,
        value=stated.get("known_storage_ml"),
        step=1_000.0,
        format="%.0f",
        placeholder="not known",
        key=f"known_dam_{version}",
    )
    account = account_column.number_input(
        "the average account held, ML per share",
        min_value=0.0,
        max_value=100.0,
        value=float(stated.get("known_account_ml_per_share", 0.0)) if month else None,
        step=0.01,
        placeholder="not known",
        help="Left blank beside a dam that is known, the account is taken to have been empty.",
        key=f"known_account_{version}",
    )
    known: dict[str, Any] = {} if year is None else {"known_month": f"{year}-07"}
    if storage_ml is not None:
        known["known_storage_ml"] = storage_ml
    if known and account is not None:
        known["known_account_ml_per_share"] = account
    return known


def _use_typed(kind: Kind, edited: pd.DataFrame, known: Mapping[str, Any], version: str) -> None:
    """Put what was typed in the plan; say what is to mend, or first what looks like percent."""
    cells = [(_cell(when), _cell(amount)) for when, amount in edited.to_numpy().tolist()]
    st.session_state.announced_doubted = None
    try:
        rows = typed_rows(kind, cells, "The rows typed")
        state.check_within("announced", rows.lists() | dict(known))
    except InputError as error:
        show.faults(error, "Nothing was changed: fix these rows first.", key="typed_faults")
        return
    if looks_in_percent(rows) is not None:
        st.session_state.announced_doubted = (version, rows, known)
        return
    in_percent.put_rows(rows, known)
    st.rerun()


def _frame(rows: AnnouncedRows | None, kind: Kind) -> pd.DataFrame:
    """Arrange the rows for typing, with a few blank ones after them."""
    when = [*(rows.when if rows else ()), *("" for _ in range(BLANK_ROWS))]
    amounts = [*(rows.ml_per_share if rows else ()), *(None for _ in range(BLANK_ROWS))]
    frame = pd.DataFrame({WHEN[kind]: when, AMOUNT: pd.Series(amounts, dtype=float)})
    frame.index = pd.Index([number for number, _ in enumerate(when, start=1)])
    return frame


def _version(rows: AnnouncedRows | None, kind: Kind, stated: Mapping[str, Any]) -> str:
    """Return what tells one state of the rows from another, so that a typed table is kept."""
    return hashlib.sha256(repr((rows, kind, sorted(stated.items()))).encode()).hexdigest()[:12]


def _cell(value: object) -> str:
    return "" if value is None or value != value else str(value)
