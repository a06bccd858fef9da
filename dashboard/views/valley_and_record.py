"""Valley and record: your own river, your own dam and your own rules."""

from __future__ import annotations

import streamlit as st

from dashboard import record_page, valley_page

st.header("Valley and record", anchor=False)
part = st.segmented_control(
    "What to look at",
    ("The record", "The dam", "The rules", "The accounts", "What was announced"),
    default="The record",
    required=True,
    key="valley_part",
)
if part == "The record":
    if st.session_state.current is not None:
        st.subheader("What kind of river is this?", anchor=False)
        record_page.described(st.session_state.current[1])
    st.subheader("Bring your own record", anchor=False)
    record_page.own_record()
elif part == "The dam":
    valley_page.dam()
elif part == "The rules":
    valley_page.rules()
elif part == "What was announced":
    from dashboard import announced_page

    announced_page.show()
else:
    valley_page.accounts()
st.caption("Changes are kept as you make them; save the plan on the page Today.")
