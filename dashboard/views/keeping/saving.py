"""What changed since the plan was saved, and saving it."""

from __future__ import annotations

import streamlit as st

from dashboard import controls, show, state
from model.keeping.compare import differences


def show_saving() -> None:
    """Show what changed since the plan was saved, and offer to save it."""
    st.subheader("What changed since the plan was saved", anchor=False)
    _changes()
    _saving()


def _changes() -> None:
    """Show what changed since the plan was saved, and save it."""
    if not st.session_state.changes:
        st.caption(f"Nothing: the figures are those of {st.session_state.kept.path.name}.")
    elif (current := st.session_state.current) is not None:
        told = differences(st.session_state.file_plan, current[0])
        show.plain_table(show.differences_frame(told, "Saved", "Now"))
    if st.session_state.changes:
        st.button("Put all back as saved", key="put_back", on_click=st.session_state.changes.clear)


def _saving() -> None:
    """Offer to save in place and under a new name."""
    if state.may_save():
        st.caption(f"The plan's file: {st.session_state.kept.path}")
        controls.button("Save", "save", state.save)
    else:
        st.caption("The demonstration itself stays as it is: save your figures under a name.")
    with st.form("save_as", border=False):
        st.text_input("Name of a new plan", key="save_as_name", max_chars=80)
        controls.submit("Save as a new plan", "save_as", _save_as)


def _save_as() -> None:
    state.save_as(st.session_state.save_as_name)
