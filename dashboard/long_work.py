"""How is work that takes long asked for, watched and stopped?

It is done in the page's own run, and begins only when its button is pressed. Any click asks for a
new run; the next word on how far it is then ends the old one, and the work with it. Its result is
put in its place only once it is whole, so that nothing half-done is ever kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import streamlit as st

from dashboard.cached import Place, Result
from model.outlook.setting import Progress


@dataclass(slots=True)
class Begun:
    """Work that was begun and has not come to its end."""

    place: Place[Any]  # where its result was to go
    done: int = 0
    total: int = 0


def result_of(
    place: Place[Result],
    work: Callable[[Progress], Result],
    *,
    key: str,
    ask: str,
    meanwhile: str,
    unit: str,
) -> Result | None:
    """Show the button that begins the work, or its progress; give the result once it is there.

    Parameters
    ----------
    place
        Where the result is kept.
    work
        Does it, telling how far it is; what that raises must end it.
    key
        Of the controls.
    ask
        Says what the button begins, and how long that takes.
    meanwhile
        Says what is being done.
    unit
        What is counted, such as years.

    Returns
    -------
    Result or None
        None until the work was done to its end.
    """
    asked = st.session_state.pop(f"{key}_asked", False)
    if asked and place.found is None:
        place.found = _do(Begun(place), work, key, meanwhile, unit)
        st.rerun()  # what came of it takes the place of how far it is
    if place.found is None:
        _offer(place, key, ask, unit)
    return place.found


def _offer(place: Place[Any], key: str, ask: str, unit: str) -> None:
    """Offer to begin, and say where the work was stopped before.

    The button is that of `_do` under another name: it keeps its place, and the keyboard's focus.
    """
    begun = st.session_state.get(f"{key}_begun")
    if begun is not None and begun.place is place:
        st.info(stopped_words(begun, unit))
    else:
        st.empty()
    st.button(ask, key=f"{key}_button", on_click=_ask, args=(key,))


def _ask(key: str) -> None:
    st.session_state[f"{key}_asked"] = True


def stopped_words(begun: Begun, unit: str) -> str:
    """Say how far stopped work was."""
    if not begun.done:
        return f"Stopped before the first of the {unit} was done. Nothing is kept."
    return f"Stopped after {begun.done} of {begun.total} {unit}. Nothing of it is kept."


def _do(
    begun: Begun,
    work: Callable[[Progress], Result],
    key: str,
    meanwhile: str,
    unit: str,
) -> Result:
    """Do the work to its end, or until a click ends this run of the page."""
    st.session_state[f"{key}_begun"] = begun
    bar = st.progress(0.0, f"{meanwhile} ...")
    st.button("Stop", key=f"{key}_button")
    st.caption("Changing anything else, or leaving the page, stops it too.")

    def progress(done: int, total: int) -> None:
        begun.done, begun.total = done, total
        bar.progress(done / total, f"{meanwhile}: {done} of {total} {unit}")

    try:
        found = work(progress)
    except Exception:
        del st.session_state[f"{key}_begun"]
        raise
    del st.session_state[f"{key}_begun"]
    return found
