"""The record: what kind of river it is, and what to be careful of."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, tables
from model.describe import HURST_K_DEFINITION

plan, record = st.session_state.current
river = cached.description(record)

st.header("What kind of river is this?", anchor=False)
st.markdown(
    f"**{record.name}**: {record.months:,} months, {record.span[0]} to {record.span[1]}; "
    f"{river.complete_years} complete water years (July to June)."
)
for warning in river.warnings:
    st.warning(warning)
for note in record.notes:
    st.info(note)
tables.table(tables.description_frame(river), key="description")
st.caption(f"Hurst's {HURST_K_DEFINITION}. SHA-256 of the file: {record.sha256}")
