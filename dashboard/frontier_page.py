"""The part of a page that tries a grid of hold-back, hold-above and area, where it is asked for."""

from __future__ import annotations

import numpy as np
import streamlit as st

from dashboard import cached_farm, long_work, tables
from dashboard.frontier_chart import frontier_chart, frontier_frame, neighbours_frame
from model.decide.frontier import Frontier, frontier
from model.decide.last_megalitre import SEQUENCES
from model.outlook.setting import Progress
from model.plan.plan import Plan
from model.record.record import Record
from model.say.frontier import ERROR_NOTE, finding_of


def show(plan: Plan, record: Record, names: list[str]) -> None:
    """Try a grid of hold-back, hold-above and area, where it is asked for."""
    chosen = names.index(
        st.selectbox("Round the strategy", names, key="frontier_strategy", persist_state="session")
    )
    found = long_work.result_of(
        cached_farm.frontier(plan, record, chosen),
        lambda progress: _tried(plan, record, chosen, progress),
        key="frontier",
        ask="Try 100 ways (a few seconds)",
        meanwhile="Trying ways of holding back and planting",
        unit="ways",
    )
    if found is None:
        return
    finding = finding_of(found)
    tables.chart(
        frontier_chart(found, title=finding),
        key="frontier",
        alt=finding,
        frame=lambda: frontier_frame(found),
    )
    if found.neighbours:
        st.markdown("**Along the frontier, each way against the next**")
        tables.show(neighbours_frame(found))
        st.caption(ERROR_NOTE)


def _tried(plan: Plan, record: Record, strategy: int, progress: Progress) -> Frontier:
    """Try ten areas, each with nothing held and with three amounts held above three levels."""
    setting = cached_farm.farm_setting(plan, record)
    most_ha = float(setting.rules.crop.land_limit_ha)
    return frontier(
        setting,
        setting.river(setting.valley.first_rows(SEQUENCES)),
        setting.strategies[strategy],
        hold_back_ml_per_share=(0.0, 0.1, 0.2, 0.4),
        hold_above_ml_per_share=(0.0, 0.3, 0.6),
        most_area_ha=np.linspace(0.1 * most_ha, most_ha, 10).tolist(),
        progress=progress,
    )
