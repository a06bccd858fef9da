"""Record: what was observed, and a record of your own."""

from __future__ import annotations

import streamlit as st

from dashboard.views.valley import bring_record, record
from model.plan.example import is_ours


def _described() -> None:
    """Show what kind of river the plan's record tells of."""
    st.subheader("What kind of river is this?", anchor=False)
    record.described(st.session_state.current[1])


st.title("Record", anchor=False)
current = st.session_state.current
own = current is not None and is_ours(current[0], "record")
if own:
    _described()
st.subheader("Bring your own record", anchor=False)
bring_record.own_record()
bring_record.farm_weather()
if current is not None and not own:
    _described()
