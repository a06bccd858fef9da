"""What is counted on beside the record: an index today, our own view, a moved climate.

Each is a wish or a view, marked wherever odds stand, and no part of a trial on past years.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import streamlit as st

from dashboard import controls, fields, state
from model.plan.drawing import Drawing, DryingByMonth, View, view_to_begin_with
from model.plan.fields import PlanField, fields_of
from model.plan.plan import Plan
from model.water_year import MONTH_NAMES

AS_OBSERVED: Final = [1.0] * len(MONTH_NAMES)
VIEW: Final = "sequences.view"
MOVED: Final = "sequences.drying"


def ask(plan: Plan) -> None:
    """Ask for what today's climate index is, the view of the season, and what is moved."""
    if plan.sequences.climate_indices:
        fields.ask_keys([("sequences", _key("climate_index_today"))])
    controls.table_or_none(
        VIEW, "Our own view of the season", view_to_begin_with(plan.opening.month)
    )
    if state.figure(VIEW) is not None:
        st.caption(
            "A published outlook, or what you think yourself: chances of a dry, a middle and a wet "
            "third of the past, and how far to believe it. Odds on every page are then marked as "
            "resting on a view."
        )
        fields.ask_keys([(VIEW, each) for each in fields_of(View)])
    words = "Flow, rain and evaporation moved, month by month"
    controls.table_or_none(MOVED, words, {"flow": AS_OBSERVED})
    if state.figure(MOVED) is not None:
        st.caption("1 leaves a month as it was observed. Every page says so while one is moved.")
        moved = [replace(each, usual=AS_OBSERVED) for each in fields_of(DryingByMonth)]
        fields.ask_keys([(MOVED, each) for each in moved])


def _key(name: str) -> PlanField:
    """Return a key of the drawing."""
    return next(each for each in fields_of(Drawing) if each.name == name)
