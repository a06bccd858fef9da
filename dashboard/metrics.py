"""Chances as a page shows them: in words, in a number, and with both ranges."""

from __future__ import annotations

from collections.abc import Mapping

import streamlit as st

from dashboard import wording
from model.outlook.chances import Estimate


def row(chances: Mapping[str, Estimate]) -> None:
    """Show chances side by side, by what they are chances of."""
    for column, (name, estimate) in zip(st.columns(len(chances)), chances.items(), strict=True):
        with column:
            st.markdown(name)  # a metric's own label is cut where it is long
            st.metric(
                name,
                wording.in_ten_briefly(estimate.value),
                border=True,
                label_visibility="collapsed",
            )
            st.caption(
                f"{wording.percent(estimate.value)}. The record leaves it at "
                f"{wording.record_range(estimate)}; the draws alone, "
                f"{wording.draws_range(estimate)}."
            )
