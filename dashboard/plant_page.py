"""What the page of planting or holding asks for and shows."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import streamlit as st

from dashboard import charts, faults, metrics, tables, wording
from dashboard import plant_findings as farm
from dashboard.decided import decision, diary_path
from model.decide.driest import StretchMet
from model.decide.last_megalitre import LastMegalitre
from model.decide.one_area import AreaOutcome
from model.errors import InputError
from model.farm.setting import FarmSetting
from model.keeping import diary
from model.plan import Plan
from model.record import Record
from model.water_year import format_month


@dataclass(frozen=True, slots=True)
class Choice:
    """What is chosen on the page."""

    strategy: int  # followed otherwise
    strategy_name: str
    area_ha: float
    hold_back_ml_per_share: float

    @property
    def words(self) -> str:
        """The choice as the diary keeps it."""
        return (
            f"Plant {self.area_ha:,.0f} ha of cotton next; at later plantings hold back "
            f"{self.hold_back_ml_per_share:.2f} ML per share; otherwise run the farm as "
            f"{self.strategy_name}."
        )


def choice(setting: FarmSetting) -> Choice:
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
    return Choice(names.index(strategy), strategy, area_ha, hold_back)


def show(setting: FarmSetting, outcome: AreaOutcome, finding: str) -> None:
    """Show the chances, the seasons and the cash."""
    calendar = setting.valley.calendar
    years = [calendar.water_year(season) for season in range(calendar.seasons)]
    st.subheader(finding, anchor=False)
    chances = {
        "Overdraft past its limit in some month": outcome.past_limit_in_run,
        "A loan payment missed in these seasons": outcome.missed_in_run,
    }
    if outcome.amounts["area_planted_ha"][outcome.season] is not None:
        chances = {"Crop cut back or short of water": outcome.chances["ran_short"]} | chances
    metrics.row(chances)
    if said := farm.next_water_finding(outcome, years):
        st.markdown(said)
    st.caption("In brackets the 95 % range that the record leaves.")
    st.table(farm.area_frame(outcome, years).set_index("What"))
    months = [
        format_month(calendar.opening_month + t) for t in range(outcome.cash_bands_aud.shape[1])
    ]
    limit_aud = setting.rules.cash.overdraft_limit_aud
    finding = farm.cash_finding(outcome.cash_bands_aud, calendar.opening_month, limit_aud)
    tables.chart(
        charts.bank_chart(months, outcome.cash_bands_aud, limit_aud=limit_aud, title=finding),
        key="plant_cash",
        alt=finding,
        frame=lambda: tables.bands_frame(months, outcome.cash_bands_aud),
    )


def show_worth(found: LastMegalitre) -> None:
    """Show what one more megalitre is worth in each use."""
    tables.chart(
        charts.worth_chart(farm.worth_curves(found), title=farm.worth_finding(found)),
        key="worth",
        alt=farm.worth_finding(found),
        frame=lambda: farm.worth_frame(found),
    )


def note(plan: Plan, record: Record, chosen: Choice, outcome: AreaOutcome, finding: str) -> None:
    """Offer to write the choice in the diary, at the odds that the page gives it."""
    if not st.button("Write this choice in the diary", key="note_choice"):
        return
    missed = wording.chance_words(outcome.missed_in_run)
    at_odds = f"{wording.standing(plan)}\n{finding}.\nA loan payment missed: {missed}."
    try:
        taken = decision(plan, record, dt.date.today(), chosen.words, at_odds)
        diary.append(diary_path(), taken)
    except InputError as error:
        faults.show(error, "Nothing was written.", key="note_faults")
    else:
        st.success("It stands in the diary, with these odds and a copy of the plan.")


def show_driest(met: tuple[StretchMet, ...]) -> None:
    """Show what the driest seasons on record do to this choice."""
    st.header("If the driest seasons on record came again?", anchor=False)
    if not met:
        st.info("The record holds no run of this many months.")
        return
    st.markdown(farm.driest_finding(met))
    st.caption(
        "Met from today's dam and account, with this area and this hold-back, month by month as "
        "they were observed. Dry run: part of the driest so many seasons; after: what followed "
        "them. Money in thousand AUD."
    )
    tables.table(farm.driest_frame(met), key="driest")
