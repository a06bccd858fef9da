"""Announced figures that look like percent: said before they are used, divided only on a button."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import streamlit as st

from dashboard import state
from model.plan.announced import AnnouncedRows
from model.plan.cautions import looks_in_percent
from model.say import numbers


def percent_in_plan(rows: AnnouncedRows) -> None:
    """Warn of rows of the plan that look like percent, and offer to divide them."""
    doubt = looks_in_percent(rows)
    if doubt is None:
        return
    st.warning(f"In the plan: {doubt.words}")
    if doubt.meant is not None:
        st.button(
            "The plan's are percent: divide each by 100",
            key="divide_plan",
            on_click=put_rows,
            args=(doubt.meant,),
        )


def doubted(
    rows: AnnouncedRows, lead: str, known: Mapping[str, Any] | None = None, *, key: str
) -> None:
    """Show first what figures that look like percent would mean; the person says which they are."""
    doubt = looks_in_percent(rows)
    if doubt is None:
        return
    st.warning(f"{lead}{doubt.words} Nothing was put in the plan yet.")
    if doubt.meant is not None:
        st.button(
            "They are percent: put them in divided by 100",
            key=f"percent_{key}",
            on_click=put_rows,
            args=(doubt.meant, known),
        )
    st.button(
        "They are ML per share: put them in as they stand",
        key=f"as_they_stand_{key}",
        on_click=put_rows,
        args=(rows, known),
    )


def signed(rows: AnnouncedRows, lead: str) -> None:
    """Offer rows whose figures all had a percent sign, each read as so many hundredths."""
    st.info(
        f"{lead}Every figure has a percent sign: 35 % is 0.35 ML per share. Nothing was put in the "
        "plan yet."
    )
    st.button(
        "They are percent: put them in divided by 100",
        key="percent_file",
        on_click=put_rows,
        args=(rows,),
    )


def typed_doubted(version: str) -> None:
    """Show what is doubted of the rows typed over this version of the plan's."""
    found = st.session_state.get("announced_doubted")
    if found is not None and found[0] == version:
        _, rows, known = found
        doubted(rows, "", known, key="typed")


def put_rows(rows: AnnouncedRows, known: Mapping[str, Any] | None = None) -> None:
    """Put rows in the plan in place of those it had; the known state stays where none is given."""
    if known is None:
        stated = state.figure("announced") or {}
        known = {key: value for key, value in stated.items() if key.startswith("known_")}
    st.session_state.announced_doubted = None
    state.put("announced", rows.lists() | dict(known))
    st.session_state.notice = (
        f"The plan now holds {numbers.number(len(rows.when))} announced figures."
    )
