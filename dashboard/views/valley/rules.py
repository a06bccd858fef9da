"""The dam and its rules on a page: every figure of the valley, with unit, range and help."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import controls, show, state
from model.errors import InputError
from model.keeping.compare import differences
from model.keeping.plans import with_changes
from model.plan.shipped import presets
from model.plan.text import check_plan
from model.water_year import MONTH_NAMES

MONTHLY = {
    "lake_evaporation_mm": "Lake evaporation, mm",
    "lake_rain_mm": "Rain on the lake, mm",
    "essential_ml": "Essential supplies, ML",
    "river_loss_ml": "River loss, ML",
    "base_flow_ml": "Base flow, ML",
    "tributary_ml": "Tributary below the dam, ML",
    "high_security.pattern": "High security: share of the year's use, 0 to 1",
    "general_security.pattern": "General security: share of the year's use, 0 to 1",
}
FARM_WEATHER = {"farm_rain_mm": "Rain on the farm, mm", "farm_eto_mm": "ETo on the farm, mm"}
TEMPERATURE = {
    "farm_rain_mm": "Rain on the farm, mm",
    "farm_warmest_c": "Mean of the days' highest, °C",
    "farm_coolest_c": "Mean of the days' lowest, °C",
}
COLDEST_C = -60.0
SURFACE = {"surface_storage_ml": "Water in the dam, ML", "surface_area_ha": "Its surface, ha"}
INFLOW_WORDS = {
    "worst": "the least on record",
    "percentile": "what was passed in most years",
    "fixed": "a stated flow",
}
LOSS_WORDS = {
    "by_balance": "each account, by what it holds",
    "socialised": "everyone, by smaller announcements",
}
SPILL_WORDS = {
    "none": "nothing",
    "proportional": "a share of every account",
    "carried_first": "carried water first",
    "reset": "all above a stated level",
}
ACCESS_BEGINS = {"restriction_trigger_frac": 0.1, "restriction_access_frac": 0.5}
"""Where a restriction that is switched on begins: to be changed to the valley's own."""

STILL_THE_EXAMPLES = (
    "Some figures are still the example's, and none is pointed out any more, on pages or paper: "
    "what follows may be another farm's. Tick it again to see which they are."
)


def dam() -> None:
    """Ask for the dam, its lake and what the river takes."""
    controls.text("valley.name", "Name of the valley", longest=120)
    controls.yes_or_no(
        "invented",
        "Valley, farm and record are invented, for demonstration only",
        meaning="It goes by itself once no figure is the example's any more.",
    )
    if state.said_to_be_ours():
        st.warning(STILL_THE_EXAMPLES)
    first, second, third = st.columns(3)
    with first:
        controls.number("valley.capacity_ml", "Full supply, ML", step=1_000.0, digits=0)
    with second:
        controls.number("valley.dead_storage_ml", "Dead storage, ML", step=100.0, digits=0)
    with third:
        controls.number(
            "valley.delivery_loss_frac", "Delivery loss, 0 to 1", highest=0.99, step=0.01
        )
    st.subheader("Surface of the lake", anchor=False)
    _table(SURFACE, names=None, key="surface")
    st.subheader("By calendar month, July to June", anchor=False)
    _table(MONTHLY, names=MONTH_NAMES, key="monthly")
    if state.figure("farm") is not None:
        _farm_weather()


def _farm_weather() -> None:
    """Ask for the weather on the farm, where the record does not hold it."""
    st.subheader("On the farm by calendar month, July to June", anchor=False)
    current = st.session_state.current
    if current is not None and set(FARM_WEATHER) <= set(current[1].columns):
        st.caption("The record holds rain and ETo on the farm: nothing is to be given here.")
        return
    st.caption(
        "The record does not hold both. ETo is what a well-watered reference crop uses: from it "
        "comes how much water your crop needs."
    )
    _table(FARM_WEATHER, names=MONTH_NAMES, key="farm_weather")
    if state.figure("valley.farm_eto_mm") is None:
        _farm_temperature()


def _farm_temperature() -> None:
    """Ask for temperature and latitude, from which ETo is estimated where nobody gives it."""
    st.caption(
        "No ETo at hand? It can be estimated from temperature (Hargreaves): the crops may then "
        "need 15 % more or less water than it says."
    )
    controls.number_or_blank(
        "valley.farm_latitude_deg",
        "Latitude of the farm, degrees, south below 0",
        blank="no estimate",
        lowest=-66.0,
        highest=66.0,
        digits=1,
        step=0.5,
    )
    _table(TEMPERATURE, names=MONTH_NAMES, key="farm_temperature", lowest=COLDEST_C)


def rules() -> None:
    """Ask for licences, the assessment and restrictions."""
    first, second = st.columns(2, gap="large")
    with first:
        st.subheader("Licences", anchor=False)
        for kind, name in (("high", "High"), ("general", "General")):
            controls.number(
                f"valley.{kind}_security.shares_ml",
                f"{name}-security shares, ML",
                step=100.0,
                digits=0,
            )
        controls.number(
            "valley.general_security.others_keep_ml_per_share",
            "Others keep in their accounts, ML per share",
            highest=100.0,
        )
        controls.number(
            "valley.general_security.others_keep_above_ml_per_share",
            "But only of what the season's water has above, ML per share",
            highest=100.0,
        )
        _access()
    with second:
        st.subheader("Set aside before general security", anchor=False)
        _assessment()


def accounts() -> None:
    """Ask for the account rules, from a preset or one by one."""
    _presets()
    at = "valley.accounts."
    if state.figure("valley.capacity_sharing") is not None:
        st.caption("Capacity is shared: limits on use alone apply. See the further rules.")
        controls.limit(f"{at}use_limit_1yr_ml_per_share", "Used in one year, ML per share")
        controls.limit(f"{at}use_limit_3yr_ml_per_share", "Used in three years, ML per share")
        return
    first, second = st.columns(2, gap="large")
    with first:
        controls.limit(f"{at}account_limit_ml_per_share", "An account holds, ML per share")
        controls.limit(f"{at}carryover_limit_ml_per_share", "Carried over 1 July, ML per share")
        controls.number(f"{at}carryover_loss_frac", "Lost of it on 1 July, 0 to 1", highest=1.0)
        controls.limit(f"{at}allocation_cap_ml_per_share", "Announced in a year, ML per share")
    with second:
        controls.limit(f"{at}use_limit_1yr_ml_per_share", "Used in one year, ML per share")
        controls.limit(f"{at}use_limit_3yr_ml_per_share", "Used in three years, ML per share")
        controls.choice(
            f"{at}loss_mode",
            "Who bears evaporation",
            tuple(LOSS_WORDS),
            said=LOSS_WORDS.__getitem__,
        )
        controls.choice(
            f"{at}spill_rule",
            "What a spill takes from accounts",
            tuple(SPILL_WORDS),
            said=SPILL_WORDS.__getitem__,
            then=lambda rule: _only_with(rule, {"reset": (f"{at}reset_ml_per_share", 0.0)}),
        )
        if state.figure(f"{at}spill_rule") == "reset":
            controls.number(f"{at}reset_ml_per_share", "Reset to, ML per share", highest=100.0)


def _assessment() -> None:
    at = "valley.assessment."
    controls.whole(f"{at}years_ahead", "Whole water years ahead", highest=5)
    controls.whole(f"{at}essential_reserve_months", "Months of essential supplies", highest=120)
    controls.number(
        f"{at}high_security_next_year_frac", "High security of a year ahead, 0 to 1", highest=1.0
    )
    wanted = {
        "percentile": (f"{at}assured_percentile_frac", 0.01),
        "fixed": (f"{at}assured_fixed_ml_per_month", 0.0),
    }
    controls.choice(
        f"{at}assured_inflow",
        "Inflow counted on",
        tuple(INFLOW_WORDS),
        said=INFLOW_WORDS.__getitem__,
        then=lambda chosen: _only_with(chosen, wanted),
    )
    chosen = state.figure(f"{at}assured_inflow")
    if chosen == "percentile":
        controls.number(wanted[chosen][0], "Chance that it is not reached, 0 to 1", highest=1.0)
    elif chosen == "fixed":
        controls.number(wanted[chosen][0], "Flow counted on, ML a month", step=10.0, digits=0)


def _access() -> None:
    """Ask when part of accounts is frozen; the table may be left out."""
    restricted = state.figure("valley.access")
    if restricted is not None and restricted.get("stages"):
        st.caption("Accounts are restricted in stages: see the further rules.")
        return
    controls.table_or_none(
        "valley.access", "Accounts are restricted when the dam is low", ACCESS_BEGINS
    )
    for name, label in (
        ("restriction_trigger_frac", "Restricted at or below, share of full supply, 0 to 1"),
        ("restriction_access_frac", "Share of an account that stays usable, 0 to 1"),
    ):
        if restricted is not None:
            controls.part("valley.access", name, label)


def _presets() -> None:
    """Offer ready-made account rules, and say what each would change."""
    offered = {preset.name: preset for preset in presets()}
    name = st.selectbox(
        "Begin from an invented example", offered, index=None, key="preset", placeholder="none"
    )
    if name is None:
        return
    preset = offered[name]
    st.caption(preset.about)
    kept = st.session_state.kept
    merged = {**st.session_state.changes, **preset.changes()}
    try:
        after = check_plan(with_changes(kept.text, merged), "The plan with this example")
    except InputError as error:
        show.faults(error, "With this example, fix these figures first:", key="preset_faults")
    else:
        told = differences((st.session_state.current or [st.session_state.file_plan])[0], after)
        show.plain_table(show.differences_frame(told, "Now", "In this example"))
    st.button("Use these account rules", key="use_preset", on_click=_use, args=(preset.changes(),))


def _use(changes: Mapping[str, Any]) -> None:
    for key, value in changes.items():
        state.put(key, value)
    st.session_state.preset = None


def _only_with(chosen: str, wanted: Mapping[str, tuple[str, float]]) -> None:
    """Return the figure that a choice asks for a beginning, and take the others' out."""
    for choice, (key, begins) in wanted.items():
        state.put(key, (state.saved_figure(key) or begins) if choice == chosen else None)


def _table(
    columns: Mapping[str, str], *, names: tuple[str, ...] | None, key: str, lowest: float = 0.0
) -> None:
    """Ask for lists side by side, to be changed together."""
    blank = [math.nan for _ in MONTH_NAMES]
    lists = {title: state.figure(f"valley.{name}") or blank for name, title in columns.items()}
    frame = pd.DataFrame(lists)
    if names is not None:
        frame.insert(0, "Month", names)
    version = hashlib.sha256(repr(lists).encode()).hexdigest()[:12]
    with st.form(f"{key}_form", border=False):
        edited = st.data_editor(
            frame,
            key=f"{key}_{version}",
            hide_index=True,
            height="content",
            disabled=["Month"],
            num_rows="dynamic" if names is None else "fixed",
            column_config={t: st.column_config.NumberColumn(min_value=lowest) for t in lists},
        )
        if st.form_submit_button("Use these figures"):
            if edited[list(lists)].isna().to_numpy().any():
                st.error("A cell is blank: every row needs its figures. Nothing was changed.")
                return
            for name, title in columns.items():
                state.put(f"valley.{name}", edited[title].astype(float).tolist())
            st.rerun()
