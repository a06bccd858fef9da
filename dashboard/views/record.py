"""Record: what was observed, and a record of your own."""

from __future__ import annotations

import streamlit as st

from dashboard.views.valley import bring_record, record

st.title("Record", anchor=False)
if st.session_state.current is not None:
    st.subheader("What kind of river is this?", anchor=False)
    record.described(st.session_state.current[1])
st.subheader("Bring your own record", anchor=False)
bring_record.own_record()
bring_record.farm_weather()
