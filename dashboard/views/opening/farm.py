"""The farm's figures of today: water, land, crop, bank and debts as they stand."""

from __future__ import annotations

from typing import Any, Final

import streamlit as st

from dashboard import controls, state
from model.water_year import MONTH_NAMES

AT: Final = "farm.opening."
MONEY: Final = "farm.money."
CROPS: Final = "farm.opening.crops"
FIGURES_OF_A_CROP: Final = (
    "area_ha",
    "soil_water_mm",
    "yield_lost_frac",
    "last_watered_month",
    "still_watered",
    "spent_aud",
)
AS_AVERAGE: Final = "as the average holder's"
SOURCES: Final = {"account_ml_per_share": "Own account", "bank_aud": "Bank"}
"""The figures that a statement gives, and what each is called for short."""
TRADED: Final = {
    "bought_this_year_ml": "Yearly water bought this water year, ML",
    "sold_this_year_ml": "Yearly water sold this water year, ML",
}
OWN_USES: Final = {
    "carried_ml_per_share": "Carried over in it and not yet used, ML per share",
    "used_this_year_ml_per_share": "Own use this water year, ML per share",
    "used_last_year_ml_per_share": "Own use last water year, ML per share",
    "used_year_before_ml_per_share": "Own use the year before, ML per share",
}


def today() -> None:
    """Ask where the farm stands, where the plan has one: what moves most first, the rest folded."""
    if state.figure("farm.name") is None:
        return
    st.subheader("The farm today", anchor=False)
    st.caption(
        "As it stands at the start of the same month. These figures move the pages of the farm "
        "and the papers, not the odds of water."
    )
    _in_front()
    with st.expander("More of the farm: own use, crop in the ground, money to come, debts"):
        _water()
        _crops()
        _money()
        st.markdown("**Source and date**")
        for name, of_what in SOURCES.items():
            controls.source(name, of_what, table=f"{AT}sources")


def _in_front() -> None:
    """Ask for the figures that move most."""
    controls.number(
        f"{MONEY}bank_aud",
        "Bank balance, $",
        lowest=-controls.MOST,
        step=1_000.0,
        digits=0,
        meaning="Below 0: overdrawn",
    )
    controls.number_or_blank(
        f"{AT}account_ml_per_share",
        "Own account, ML per share",
        blank=AS_AVERAGE,
        highest=_account_limit(),
        meaning="What the farm itself may still order, carried water counted",
    )
    if (capacity_ml := state.figure("farm.storage.capacity_ml")) is not None:
        controls.number(
            f"{AT}storage_ml",
            "Water in the farm storage, ML",
            highest=capacity_ml,
            step=10.0,
            digits=0,
        )
    controls.number(
        f"{AT}prepared_ha",
        "Land prepared for the next crop, ha",
        highest=_land_ha(),
        step=5.0,
        digits=0,
        meaning="For the next planting: no more than this is planted then",
    )


def _water() -> None:
    """Ask for the farm's own use and what else it has pumped."""
    st.markdown("**Water**")
    for name, label in OWN_USES.items():
        controls.number_or_blank(f"{AT}{name}", label, blank=AS_AVERAGE, highest=100.0)
    pumped = {
        "high_security_used_ml": (
            "Own high security used this water year, ML",
            "farm.licence.high_security_shares_ml",
        ),
        "bore_used_ml": ("Bore used this water year, ML", "farm.bore.limit_ml_per_year"),
        "supplementary_used_ml": (
            "Uncontrolled flow taken this water year, ML",
            "farm.supplementary.limit_ml_per_year",
        ),
    }
    for name, (label, limit) in pumped.items():
        if highest_ml := state.figure(limit):
            controls.number(f"{AT}{name}", label, highest=highest_ml, step=5.0, digits=0)
    if state.figure("valley.high_security.carryover_frac"):
        controls.number(
            f"{AT}high_security_carried_ml",
            "Own high security carried over and not yet used, ML",
            step=5.0,
            digits=0,
        )
    if state.figure("farm.trade") is not None:
        for name, label in TRADED.items():
            controls.number(f"{AT}{name}", label, step=5.0, digits=0)


def _crops() -> None:
    """Ask for the crops in the ground, and what is spent on them and on prepared land."""
    st.markdown("**Crops in the ground, and what is spent**")
    for place, crop in enumerate(_crops_in_ground(), start=1):
        _crop(f"{CROPS}.{place}.", f"{crop['crop']}, {crop['layout']}")
    _another_crop()
    controls.number(
        f"{AT}land_spent_aud",
        "Spent so far on land prepared for the next crop, $",
        step=1_000.0,
        digits=0,
        meaning="It is out of the bank already",
    )


def _crop(at: str, name: str) -> None:
    """Ask for one crop in the ground."""
    controls.number(
        f"{at}area_ha",
        f"{name}: in the ground, ha",
        highest=_land_ha(),
        step=5.0,
        digits=0,
        meaning="0 once it is harvested",
    )
    controls.number_or_blank(
        f"{at}soil_water_mm",
        f"{name}: water in its root zone, mm",
        blank="none",
        highest=300.0,
        step=5.0,
        digits=0,
    )
    controls.number(f"{at}yield_lost_frac", f"{name}: yield already lost, 0 to 1", highest=1.0)
    controls.choice_or_blank(
        f"{at}last_watered_month",
        f"{name}: last month in which it got all it asked for",
        MONTH_NAMES,
        blank="the two figures above",
        meaning="In place of soil water and yield lost, with average weather since",
    )
    controls.yes_or_no(f"{at}still_watered", f"{name}: watered from now on")
    controls.number(f"{at}spent_aud", f"{name}: spent on it so far, $", step=1_000.0, digits=0)


def _another_crop() -> None:
    """Offer the farm's other crops, to be put in the ground."""
    listed = [(crop["crop"], crop["layout"]) for crop in _crops_in_ground()]
    offered = {
        f"{crop['name']}, {layout['name']}": (crop["name"], layout["name"])
        for crop in state.figure("farm.crops")
        for layout in crop["layouts"]
        if (crop["name"], layout["name"]) not in listed
    }

    def add() -> None:
        if chosen := st.session_state.another_crop:
            crop, layout = offered[chosen]
            new = {"crop": crop, "layout": layout, "area_ha": 0.0}
            state.put_list(CROPS, [*_crops_in_ground(), new])
            st.session_state.another_crop = None

    st.selectbox(
        "Another crop in the ground",
        list(offered),
        index=None,
        key="another_crop",
        on_change=add,
        placeholder="none",
        help="One of the farm's crops in one of its row layouts, to give its figures.",
    )


def _crops_in_ground() -> list[dict[str, Any]]:
    """Return the crops in the ground as they stand on the page."""
    crops: list[dict[str, Any]] = []
    for place, crop in enumerate(state.figure(CROPS) or [], start=1):
        names = (*crop, *FIGURES_OF_A_CROP)
        figures = {name: state.figure(f"{CROPS}.{place}.{name}") for name in names}
        crops.append({name: value for name, value in figures.items() if value is not None})
    return crops


def _money() -> None:
    """Ask for money to come, arrears and what is still owed."""
    st.markdown("**Last crop's money still to come, by the month it is due**")
    controls.twelve(f"{AT}money_to_come_aud", MONTH_NAMES, unit="$", step=1_000.0)
    st.markdown("**Debts**")
    controls.number(
        f"{MONEY}arrears_aud", "Loan payments already missed, $", step=1_000.0, digits=0
    )
    for place, loan in enumerate(state.figure(f"{MONEY}loans"), start=1):
        controls.number(
            f"{MONEY}loans.{place}.balance_aud",
            f"Loan “{loan['name']}”, still owed, $",
            step=1_000.0,
            digits=0,
            meaning="Its payments are worked out anew from this and from the years left",
        )


def _land_ha() -> float:
    return float(state.figure("farm.developed_ha"))


def _account_limit() -> float:
    return float(state.figure("valley.accounts.account_limit_ml_per_share") or 100.0)
