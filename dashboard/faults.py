"""How are things to mend shown? As a table: where, what was found, what is wrong, allowed."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from dashboard import tables
from model.errors import InputError

MOST_SHOWN = 40
"""A table longer than a screen or two helps nobody; all of them can be taken away as CSV."""


def show(error: InputError, head: str, *, key: str) -> None:
    """Show what is to mend."""
    frame = faults_frame(error)
    st.error(head)
    tables.show(frame.head(MOST_SHOWN))
    if len(frame) > MOST_SHOWN:
        st.caption(f"The first {MOST_SHOWN} of {len(frame):,}.")
        tables.take("Take all as CSV", tables.csv_text(frame), "to_mend.csv", f"{key}_csv")


def faults_frame(error: InputError) -> pd.DataFrame:
    """Lay out what is to mend, a row a fault."""
    return pd.DataFrame(
        [
            {"Where": f.where, "Found": f.value, "What is wrong": f.problem, "Allowed": f.allowed}
            for f in error.faults
        ]
    )
