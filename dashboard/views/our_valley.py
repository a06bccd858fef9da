"""Our valley: its dam, its rules, its accounts, and what was announced."""

from __future__ import annotations

import streamlit as st

from dashboard.views.valley import announced, further, rules

st.title("Our valley", anchor=False)
part = st.segmented_control(
    "What to look at",
    (
        "The dam",
        "The rules",
        "The accounts",
        "Further rules",
        "What was announced",
    ),
    default="The dam",
    required=True,
    key="valley_part",
)
if part == "The dam":
    rules.dam()
elif part == "The rules":
    rules.rules()
elif part == "Further rules":
    further.further()
elif part == "What was announced":
    announced.ask()
else:
    rules.accounts()
st.caption(
    "Changes are kept as you make them; save the plan under Change, or on the page Plans and diary."
)
