"""What do other windows have, open or closed, that counts here?"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import streamlit as st

from dashboard import state
from model.keeping.sittings import Sitting
from model.say.numbers import count


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
    """Show that other windows have this plan open now, where that matters."""
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
            f"What is not saved there ({count(len(unsaved), 'figure')}) does not count here."
        )
    if state.may_save():
        words.append("Who saves second is shown first what the other changed.")
    st.info(" ".join(words))


def _left_words(found: Sitting) -> str:
    """Name a sitting by its plan, its unsaved figures and when it was kept."""
    when = datetime.fromisoformat(found.written_at).astimezone()
    unsaved = f"{count(len(found.changes), 'figure')} not saved, " if found.changes else ""
    return f"{Path(found.plan_path).stem}: {unsaved}last on {when:%Y-%m-%d at %H:%M}"
