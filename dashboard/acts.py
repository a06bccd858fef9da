"""What does a button do to a file or to the plan? All of it, before its page is drawn again.

Done while the page is drawn it could be lost: a page is drawn until something else is moved, and
then begun anew. So the button calls it (`on_click`), and the page says afterwards what came of it:
what was done, in `state.notice`, or beside the button what is to mend first.
"""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from dashboard import faults
from model.errors import InputError

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
    """Say what is to mend where a button's act could not be done just now; tell whether so."""
    found = st.session_state.get("refusal")
    if found is None or found[0] != key:
        return False
    del st.session_state.refusal
    faults.show(found[1], head, key=f"{key}_faults")
    return True
