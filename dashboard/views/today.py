"""Today: where things stand, who said so, what changed since the plan was saved, and saving it."""

from __future__ import annotations

import streamlit as st

from dashboard import (
    acts,
    cached,
    farm_page,
    fields,
    opening_page,
    river_note,
    standing,
    state,
    tables,
    trust_note,
    water_page,
)
from dashboard.announced_error import show_announced_error
from model.keeping.compare import differences

current = st.session_state.current


def _what_it_means() -> None:
    """Show at once what the figures do to the odds."""
    if current is None:
        st.info("The odds are shown here once the figures are mended.")
        return
    river_note.show(*current)
    show_announced_error(*current)
    water_page.show_none(cached.water_ahead(*current).outlook.seasons, key="today_none")
    trust_note.show(*current)


def _changes() -> None:
    """Show what changed since the plan was saved, and save it."""
    if not st.session_state.changes:
        st.caption(f"Nothing: the figures are those of {st.session_state.kept.path.name}.")
    elif current is not None:
        told = differences(st.session_state.file_plan, current[0])
        tables.show(tables.differences_frame(told, "Saved", "Now"))
    if st.session_state.changes:
        st.button("Put all back as saved", key="put_back", on_click=st.session_state.changes.clear)


def _saving() -> None:
    """Offer to save in place and under a new name."""
    if state.may_save():
        st.caption(f"The plan's file: {st.session_state.kept.path}")
        acts.button("Save", "save", state.save)
    else:
        st.caption("The demonstration itself stays as it is: save your figures under a name.")
    with st.form("save_as", border=False):
        st.text_input("Name of a new plan", key="save_as_name", max_chars=80)
        acts.submit("Save as a new plan", "save_as", _save_as)


def _save_as() -> None:
    state.save_as(st.session_state.save_as_name)


st.header("Where things stand today", anchor=False)
standing.also_open()
standing.earlier()
asked, meant = st.columns(2, gap="large")
with asked:
    opening_page.dam()
    opening_page.account()
    farm_page.today()
    fields.text("title", "Title of the plan")
with meant:
    st.subheader("What it means for water", anchor=False)
    _what_it_means()
    st.subheader("What changed since the plan was saved", anchor=False)
    _changes()
    _saving()
