"""Today: where things stand, who said so, what changed since the plan was saved, and saving it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import streamlit as st

from dashboard import cached, controls, show, standing, state
from dashboard.standing import show_announced_error
from dashboard.views.opening import farm, water
from model.keeping.compare import differences
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


current = st.session_state.current


def _what_it_means() -> None:
    """Show at once what the figures do to the odds."""
    if current is None:
        st.info("The odds are shown here once the figures are fixed.")
        return
    standing.river_counted_on(*current)
    show_announced_error(*current)
    standing.chance_of_none(cached.water_ahead(*current).outlook.seasons, key="today_none")
    standing.tried(*current)


def _changes() -> None:
    """Show what changed since the plan was saved, and save it."""
    if not st.session_state.changes:
        st.caption(f"Nothing: the figures are those of {st.session_state.kept.path.name}.")
    elif current is not None:
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


st.header("Where things stand today", anchor=False)
also_open()
earlier()
asked, meant = st.columns(2, gap="large")
with asked:
    water.dam()
    water.account()
    farm.today()
    controls.text("title", "Title of the plan")
with meant:
    st.subheader("What it means for water", anchor=False)
    _what_it_means()
    st.subheader("What changed since the plan was saved", anchor=False)
    _changes()
    _saving()
