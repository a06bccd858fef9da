"""Plant or hold: an area and a hold-back chosen by hand, and what they bring at once."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, plant_page
from dashboard.announced_error import show_announced_error
from dashboard.plant_findings import finish_finding
from model.decide.compare_files import FARM_CAUTION
from model.decide.one_area import outcome_of_area

plan, record = st.session_state.current

st.header("Plant, or hold?", anchor=False)
if plan.farm is None:
    st.info("This plan has no farm yet: add a [farm] table to the plan file.")
else:
    ready, rivers = cached.farm_ready(plan, record)
    show_announced_error(plan, record)
    chosen = plant_page.choice(ready)
    outcome = outcome_of_area(
        ready,
        rivers,
        strategy=chosen.strategy,
        area_ha=chosen.area_ha,
        hold_back_ml_per_share=chosen.hold_back_ml_per_share,
    )
    finding = finish_finding(
        outcome, chosen.area_ha, ready.valley.calendar.water_year(outcome.season)
    )
    plant_page.show(ready, outcome, finding)
    plant_page.note(plan, record, chosen, outcome, finding)
    plant_page.show_driest(outcome.driest)
    st.header("What is one more megalitre worth?", anchor=False)
    worth = cached.last_megalitre(plan, record, chosen.strategy, chosen.area_ha)
    if worth is None:
        st.info("The account is full: it takes no more water today.")
    else:
        plant_page.show_worth(worth)
    st.caption(FARM_CAUTION)
