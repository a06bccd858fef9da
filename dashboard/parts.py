"""Parts of a page, one open at a time: what is folded away holds up no answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import streamlit as st


def show(parts: Mapping[str, Callable[[], None]], *, key: str) -> None:
    """Show parts by their names, the first one open; only the part that is open is run."""
    tabs = st.tabs(list(parts), key=key, on_change="rerun")
    for tab, part in zip(tabs, parts.values(), strict=True):
        with tab:
            if tab.open:
                part()
