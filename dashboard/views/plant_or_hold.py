"""Plant or hold: an area and a hold-back chosen by hand, and what they bring at once."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, charts, metrics, tables
from dashboard import plant_findings as farm
from dashboard.announced_error import show_announced_error
from model.decide.compare_files import FARM_CAUTION
from model.decide.last_megalitre import LastMegalitre
from model.decide.one_area import AreaOutcome, outcome_of_area
from model.farm.setting import FarmSetting
from model.water_year import format_month

plan, record = st.session_state.current


def _choice(setting: FarmSetting) -> tuple[int, float, float]:
    """Ask for the strategy followed, the area planted first, and the water held back."""
    names = [strategy.name for strategy in setting.strategies]
    strategy = st.selectbox(
        "Otherwise run the farm as",
        names,
        index=min(1, len(names) - 1),
        key="plant_strategy",
        persist_state="session",
        help="All later decisions follow this strategy's rules.",
    )
    most_ha = float(setting.rules.crop.land_limit_ha)
    ready_ha = min(most_ha, setting.farm.opening.prepared_ha)
    area_ha = st.slider(
        "Cotton planted next, ha",
        min_value=0.0,
        max_value=most_ha,
        value=5.0 * round(ready_ha / 10.0),
        step=5.0,
        key="plant_area",
        persist_state="session",
        help=f"Land made ready: {ready_ha:,.0f} ha. No more than that is planted.",
    )
    hold_back = st.slider(
        "Water held back at later plantings, ML per share",
        min_value=0.0,
        max_value=1.0,
        value=0.05,
        step=0.05,
        key="plant_hold_back",
        persist_state="session",
        help="Left out of the sum when an area is chosen: carried, if the season lets you.",
    )
    return names.index(strategy), area_ha, hold_back


def _show(setting: FarmSetting, outcome: AreaOutcome, area_ha: float) -> None:
    """Show the chances, the seasons and the cash."""
    calendar = setting.valley.calendar
    years = [calendar.water_year(season) for season in range(calendar.seasons)]
    st.subheader(farm.finish_finding(outcome, area_ha, years[outcome.season]), anchor=False)
    metrics.row(
        {
            "Crop cut back or short of water": outcome.chances["ran_short"],
            "A loan payment missed in these seasons": outcome.missed_in_run,
        }
    )
    st.caption("In brackets the 95 % range that the record leaves.")
    st.table(farm.area_frame(outcome, years).set_index("What"))
    months = [
        format_month(calendar.opening_month + t) for t in range(outcome.cash_bands_aud.shape[1])
    ]
    limit_aud = setting.rules.cash.overdraft_limit_aud
    finding = farm.cash_finding(outcome.cash_bands_aud, calendar.opening_month, limit_aud)
    tables.chart(
        charts.band_chart(
            months,
            outcome.cash_bands_aud,
            title=finding,
            unit="AUD in the bank",
            season_starts=[month for month in months[1:] if month.endswith("-07")],
            ceiling=("overdraft limit", -limit_aud),
            below_zero=True,
        ),
        key="plant_cash",
        alt=finding,
        frame=lambda: tables.bands_frame(months, outcome.cash_bands_aud),
    )


def _show_worth(found: LastMegalitre) -> None:
    """Show what one more megalitre is worth in each use."""
    tables.chart(
        charts.worth_chart(farm.worth_curves(found), title=farm.worth_finding(found)),
        key="worth",
        alt=farm.worth_finding(found),
        frame=lambda: farm.worth_frame(found),
    )


st.header("Plant, or hold?", anchor=False)
if plan.farm is None:
    st.info("This plan has no farm yet: add a [farm] table to the plan file.")
else:
    ready, rivers = cached.farm_ready(plan, record)
    show_announced_error(plan, record)
    chosen, area, held = _choice(ready)
    _show(
        ready,
        outcome_of_area(ready, rivers, strategy=chosen, area_ha=area, hold_back_ml_per_share=held),
        area,
    )
    st.header("What is one more megalitre worth?", anchor=False)
    worth = cached.last_megalitre(plan, record, chosen, area)
    if worth is None:
        st.info("The account is full: it takes no more water today.")
    else:
        _show_worth(worth)
    st.caption(FARM_CAUTION)
