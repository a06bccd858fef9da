"""The record on a page: what kind of river it is."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, show
from dashboard.findings import our_valley as findings
from model.record.describe import HURST_K_DEFINITION
from model.record.record import Record
from model.say import numbers


def described(record: Record) -> None:
    """Show what kind of river a record tells of."""
    river = cached.description(record)
    st.markdown(
        f"**{record.name}**: {numbers.count(record.months, 'month')}, {record.span[0]} to "
        f"{record.span[1]}; "
        f"{river.complete_years} complete water years (July to June)."
    )
    for warning in river.warnings:
        st.warning(warning)
    for note in record.notes:
        st.info(note)
    show.table(findings.description_frame(river), key=f"description_{record.sha256[:8]}")
    st.caption(
        "All of water years, July to June. Pages of odds count years from the month that opens the "
        "run, and so may give other figures for the same record."
    )
    st.caption(f"Hurst's {HURST_K_DEFINITION}. SHA-256 of the file: {record.sha256}")
