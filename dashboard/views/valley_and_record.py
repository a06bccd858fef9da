"""Valley and record: your own river, your own dam and your own rules."""

from __future__ import annotations

import streamlit as st

from dashboard.views.valley import announced, bring_record, further, record, rules

st.header("Valley and record", anchor=False)
part = st.segmented_control(
    "What to look at",
    (
        "The record",
        "The dam",
        "The rules",
        "The accounts",
        "Further rules",
        "What was announced",
    ),
    default="The record",
    required=True,
    key="valley_part",
)
if part == "The record":
    if st.session_state.current is not None:
        st.subheader("What kind of river is this?", anchor=False)
        record.described(st.session_state.current[1])
    st.subheader("Bring your own record", anchor=False)
    bring_record.own_record()
elif part == "The dam":
    rules.dam()
elif part == "The rules":
    rules.rules()
elif part == "Further rules":
    further.further()
elif part == "What was announced":
    announced.ask()
else:
    rules.accounts()
st.caption("Changes are kept as you make them; save the plan on the page Today.")
