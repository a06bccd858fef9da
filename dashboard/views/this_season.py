"""What do we decide now? An area and a hold-back chosen by hand, and what they bring at once."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from dashboard import cached, controls, doubts, frame, show, state
from dashboard.charts.money import bank_chart
from dashboard.charts.this_season import worth_chart
from dashboard.doubts import show_announced_error
from dashboard.findings import this_season as findings
from dashboard.findings import water as water_findings
from dashboard.state import decision, diary_path
from dashboard.views.keeping.left import also_open, earlier
from dashboard.views.water.ahead import show_water
from model.decide.driest import StretchMet
from model.decide.one_area import (
    AreaOutcome,
    Rivers,
    most_area_ha,
    outcome_of_area,
)
from model.farm.measures import NO_LAND_HA
from model.farm.setting import FarmSetting
from model.keeping import diary
from model.outlook.chances import Spread
from model.plan.plan import Plan
from model.record.record import Record
from model.say import numbers
from model.say.bank import of_payments
from model.say.cautions import NO_FARM
from model.say.numbers import chance
from model.say.outlook import standing_in_words
from model.water_year import months_from


@st.fragment
def _choose_and_see(plan: Plan, record: Record, setting: FarmSetting, rivers: Rivers) -> None:
    """Ask for a choice and show what it brings; a moved control runs this part alone."""
    head = st.container()
    chosen = choice(plan, record, setting, rivers)
    outcome = outcome_of_area(
        setting,
        rivers,
        strategy=chosen.strategy,
        area_ha=chosen.area_ha,
        hold_back_ml_per_share=chosen.hold_back_ml_per_share,
    )
    calendar = setting.valley.calendar
    years = [calendar.water_year(season) for season in range(calendar.seasons)]
    finding = findings.finish_finding(outcome, chosen.area_ha, years[outcome.season])
    with head:
        frame.answer(finding, plan)
    _show_chances(outcome, years, setting.rules.cash.payments_due)
    _show_bank(setting, outcome)
    _note(plan, record, chosen, outcome, finding)
    state.keep_sitting()
    show.parts(
        {
            "Season by season": lambda: _show_seasons(outcome, years),
            "The driest on record": lambda: _show_driest(outcome.driest),
            "One more megalitre": lambda: _show_worth(plan, record, chosen),
            "Water ahead": lambda: show_water(plan, record),
        },
        key="plant_part",
    )


def choice(plan: Plan, record: Record, setting: FarmSetting, rivers: Rivers) -> findings.Choice:
    """Ask for the strategy followed, the area planted first, and the water held back."""
    names = [strategy.name for strategy in setting.strategies]
    strategy = controls.strategy(
        "Otherwise run the farm as",
        names,
        key="plant_strategy",
        usual=1,
        meaning="All later decisions follow this strategy's rules.",
    )
    own_ha = cached.own_area(plan, record, strategy)
    most_ha = most_area_ha(setting, rivers, strategy)
    area_ha = 0.0 if own_ha is None else _area(names[strategy], own_ha, most_ha)
    hold_back = st.slider(
        "Water held back at later plantings, ML per share",
        min_value=0.0,
        max_value=1.0,
        value=controls.begins_at("plant_hold_back", 0.05, 1.0),
        step=0.05,
        key="plant_hold_back",
        persist_state="session",
        on_change=state.note_choice,
        disabled=own_ha is None,
        help="Left out of the sum when an area is chosen: carried, if the season lets you.",
    )
    return findings.Choice(strategy, names[strategy], area_ha, hold_back)


def _area(strategy: str, own_ha: Spread, most_ha: float) -> float:
    """Ask for the area planted next; say what the strategy would plant by its own rule."""
    if most_ha <= NO_LAND_HA:
        st.info("No land is prepared: nothing can be planted next.")
        return 0.0
    if st.session_state.get("plant_area", 0.0) > most_ha:
        st.session_state.plant_area = most_ha  # less land is ready than when it was chosen
    usual_ha = findings.usual_area_ha(own_ha, most_ha)
    area_ha = st.slider(
        "Cotton planted next, ha",
        min_value=0.0,
        max_value=most_ha,
        value=controls.begins_at("plant_area", usual_ha, most_ha),
        step=findings.AREA_STEP_HA,
        format="%,.0f",
        key="plant_area",
        persist_state="session",
        on_change=state.note_choice,
        help=f"0 to {numbers.ha(most_ha)}: no more than the prepared land is planted.",
    )
    st.caption(findings.own_area_words(strategy, own_ha))
    return area_ha


def _show_chances(outcome: AreaOutcome, years: list[str], due: int) -> None:
    """Show how likely trouble is, and what is left for the next season."""
    chances = {
        "Overdraft past its limit in some month": outcome.past_limit_in_run,
        f"A loan payment missed, {of_payments(due)}": outcome.missed_in_run,
    }
    if outcome.planting_ahead:
        chances = {"Crop cut back or short of water": outcome.chances["ran_short"]} | chances
    show.chances(chances)
    if said := findings.next_water_finding(outcome, years):
        st.markdown(said)


def _show_bank(setting: FarmSetting, outcome: AreaOutcome) -> None:
    """Show the bank month by month against the overdraft limit."""
    first_month, limit_aud = (
        setting.valley.calendar.opening_month,
        setting.rules.cash.overdraft_limit_aud,
    )
    months = months_from(first_month, outcome.cash_bands_aud.shape[1])
    finding = findings.cash_finding(outcome.cash_bands_aud, first_month, limit_aud)
    if len(months) == 1:
        st.markdown(f"{finding}.")
        return
    show.chart(
        bank_chart(months, outcome.cash_bands_aud, limit_aud=limit_aud, title=finding),
        key="plant_cash",
        alt=finding,
        frame=lambda: water_findings.bands_frame(months, outcome.cash_bands_aud),
    )


def _show_seasons(outcome: AreaOutcome, years: list[str]) -> None:
    """Show what each season brings."""
    st.caption(
        "In brackets the 95 % range that the record leaves. Finished: kept to picking, though some "
        "of it may have been short of water. Usable: of your own account; Water ahead shows the "
        "average holder's."
    )
    st.table(findings.area_frame(outcome, years).set_index("What"))


def _show_worth(plan: Plan, record: Record, chosen: findings.Choice) -> None:
    """Show what one more megalitre is worth in each use."""
    found = cached.last_megalitre(plan, record, chosen.strategy, chosen.area_ha)
    if found is None:
        st.info("The account is full: it takes no more water today.")
        return
    show.chart(
        worth_chart(findings.worth_curves(found), title=findings.worth_finding(found)),
        key="worth",
        alt=findings.worth_finding(found),
        frame=lambda: findings.worth_frame(found),
    )


def _note(
    plan: Plan, record: Record, chosen: findings.Choice, outcome: AreaOutcome, finding: str
) -> None:
    """Offer to write the choice in the diary, at the odds that the page gives it."""
    st.caption(
        "This choice stays with this plan in this window, also when the page is loaded again; the "
        "diary holds it for good. Money and Papers follow a strategy's own rule, not this choice."
    )
    missed = chance(outcome.missed_in_run)
    at_odds = f"{standing_in_words(plan)}\n{finding}.\nA loan payment missed: {missed}."

    def write() -> None:
        taken = decision(plan, record, dt.date.today(), chosen.words, at_odds)
        diary.append(diary_path(), taken)
        st.session_state.choice_written = True

    controls.button("Write this choice in the diary", "note_choice", write)
    if st.session_state.pop("choice_written", False):
        st.success("Saved to the diary, with these odds and a copy of the plan.")


def _show_driest(met: tuple[StretchMet, ...]) -> None:
    """Show what the driest seasons on record do to this choice."""
    if not met:
        st.info("The record holds no run of this many months.")
        return
    st.markdown(show.text(findings.driest_finding(met)))
    st.caption(
        "Met from today's dam and account, with this area and this hold-back, month by month as "
        "they were observed. Dry run: part of the driest so many seasons; after: what followed "
        "them. Money in thousands."
    )
    show.table(findings.driest_frame(met), key="driest")


def _water_alone(plan: Plan, record: Record) -> None:
    """Show the water of a plan that has no farm."""
    frame.answer("How likely is it that nothing is announced?", plan)
    st.info(NO_FARM)
    show_announced_error(plan, record)
    doubts.river_counted_on(plan, record)
    show_water(plan, record)


def _page(plan: Plan, record: Record) -> None:
    """Ask for a choice, and show what it brings."""
    also_open()
    earlier()
    if plan.farm is None:
        _water_alone(plan, record)
        return
    _choose_and_see(plan, record, *cached.farm_ready(plan, record))
    show_announced_error(plan, record)
    doubts.river_counted_on(plan, record)


frame.odds_page(_page)
