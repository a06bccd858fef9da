"""What do we decide now? An area chosen by hand, how often it is finished, and what it leaves."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import cached, choices, doubts, frame, show, state
from dashboard.charts.dots import dots_picture
from dashboard.charts.drawing import NARROW_PX
from dashboard.charts.hectares import hectares_picture
from dashboard.charts.money import bank_chart
from dashboard.charts.set_aside import set_aside_picture
from dashboard.charts.this_season import worth_chart
from dashboard.doubts import show_announced_error
from dashboard.findings import answer as answers
from dashboard.findings import this_season as findings
from dashboard.findings import water as water_findings
from dashboard.views.keeping.left import also_open, earlier
from dashboard.views.keeping.note_choice import note_choice
from dashboard.views.water.ahead import show_water
from model.decide.decision import decision_of
from model.decide.driest import StretchMet
from model.decide.one_area import AreaOutcome, Rivers, most_area_ha, outcome_of_area
from model.decide.season_question import AreasTried
from model.decide.season_water import planned_ml
from model.farm.measures import NO_LAND_HA
from model.farm.setting import FarmSetting
from model.plan.plan import Plan
from model.record.record import Record
from model.say.bank import of_payments
from model.say.cautions import NO_FARM
from model.say.numbers import ml, number
from model.water_year import months_from


@st.fragment
def _choose_and_see(plan: Plan, record: Record, setting: FarmSetting, rivers: Rivers) -> None:
    """Ask for a choice and show what it brings; a moved control runs this part alone."""
    head = st.container()
    left, right = st.columns([1.35, 1.0], gap="large")
    with right:
        chosen = _followed(setting)
    tried = cached.areas_tried(plan, record, chosen.strategy)
    with left:
        st.subheader(answers.question(decision_of(setting, chosen.strategy), setting))
        picture = st.empty()
        chosen = _with_area(chosen, setting, rivers, tried)
    outcome = outcome_of_area(
        setting,
        rivers,
        strategy=chosen.strategy,
        area_ha=chosen.area_ha,
        hold_back_ml_per_share=chosen.hold_back_ml_per_share,
    )
    with head:
        answer = _answer(plan, record, setting, chosen, tried, outcome)
    _show_areas(picture, plan, record, chosen, tried, outcome)
    with left:
        _show_set_aside(plan, record)
    with right:
        _show_water(setting, chosen, outcome)
    note_choice(plan, record, chosen.words, outcome, answer)
    state.keep_sitting()
    show.parts(
        {
            "Season by season": lambda: _show_seasons(setting, outcome),
            "Today, beside the area": lambda: _show_beside(plan, record, setting, chosen),
            "The bank": lambda: _show_bank(setting, outcome),
            "The driest on record": lambda: _show_driest(outcome.driest),
            "One more megalitre": lambda: _show_worth(plan, record, chosen),
            "Water ahead": lambda: show_water(plan, record),
        },
        key="plant_part",
    )


def _followed(setting: FarmSetting) -> findings.Choice:
    """Ask for the strategy followed, and what is kept for a lean season."""
    names = [strategy.name for strategy in setting.strategies]
    strategy = choices.strategy_followed(names)
    return findings.Choice(strategy, names[strategy], 0.0, choices.kept())


def _with_area(
    chosen: findings.Choice, setting: FarmSetting, rivers: Rivers, tried: AreasTried
) -> findings.Choice:
    """Ask for the area; say what is best, and what cannot be told apart from it."""
    most_ha = most_area_ha(setting, rivers, chosen.strategy)
    if most_ha <= NO_LAND_HA:
        st.info("No land is prepared: nothing can be planted next.")
        return chosen
    area_ha = choices.area(answers.usual_area_ha(tried, most_ha), most_ha)
    st.caption(answers.alike_words(tried, setting.farm.objective))
    return replace(chosen, area_ha=area_ha)


def _answer(
    plan: Plan,
    record: Record,
    setting: FarmSetting,
    chosen: findings.Choice,
    tried: AreasTried,
    outcome: AreaOutcome,
) -> str:
    """Head the page with the answer; under it, where such odds failed before."""
    now = decision_of(setting, chosen.strategy)
    water = cached.held_and_needed(plan, record, chosen.strategy, chosen.area_ha)
    leads = ""
    if now.question == "carry":
        leads = answers.next_season_leads(outcome, setting, outcome_year(setting, outcome))
    best = "" if state.chosen() else answers.best_words(setting.farm.objective)
    answer = answers.headline(outcome, chosen.area_ha, water.choice, best, leads)
    frame.answer(answer, plan)
    doubts.failed_before(plan, record)
    return answer


def outcome_year(setting: FarmSetting, outcome: AreaOutcome) -> str:
    """Name the water year of the crop that is decided on."""
    return setting.valley.calendar.water_year(outcome.season)


def _show_areas(
    place: DeltaGenerator,
    plan: Plan,
    record: Record,
    chosen: findings.Choice,
    tried: AreasTried,
    outcome: AreaOutcome,
) -> None:
    """Show hectares against times in 100."""
    water = cached.held_and_needed(plan, record, chosen.strategy, chosen.area_ha)
    alt = answers.areas_alt(tried, outcome, chosen.area_ha)
    draw = partial(
        hectares_picture,
        tried.areas_ha,
        answers.lines_of(tried),
        ours_ha=chosen.area_ha,
        marks=answers.marks_of(water),
        alt=alt,
    )
    with place.container():
        show.picture(
            draw(),
            narrow=draw(width=NARROW_PX),
            key="areas",
            frame=lambda: answers.areas_frame(tried),
        )


def _show_set_aside(plan: Plan, record: Record) -> None:
    """Show why no more is announced today; where capacity is shared, why nothing ever is."""
    if plan.valley.capacity_sharing is not None:
        st.subheader("Why is nothing announced?", anchor=False)
        st.markdown(water_findings.sharing_words(plan.valley.capacity_sharing))
        return
    today = cached.set_aside(plan, record)
    st.subheader("Why is no more announced yet?", anchor=False)
    draw = partial(
        set_aside_picture,
        today.resource_ml,
        water_findings.commitments_ml(today),
        said=f"in the dam, with the least inflow the rules assume: {ml(today.resource_ml)}",
        form=ml,
        alt=water_findings.set_aside_finding(today),
    )
    show.picture(
        draw(),
        narrow=draw(width=NARROW_PX),
        key="why_none",
        frame=lambda: water_findings.set_aside_frame(today),
    )


def _show_water(setting: FarmSetting, chosen: findings.Choice, outcome: AreaOutcome) -> None:
    """Show the water that each season can use by its finish month."""
    years = _years(setting)
    rows = answers.water_rows(outcome, years)
    if not rows:
        return
    needed_ml = planned_ml(setting, chosen.strategy, chosen.area_ha)
    st.subheader("Water we could use by the finish month", anchor=False)
    st.caption(answers.dots_caption(chosen.area_ha, needed_ml))
    show.picture(
        dots_picture(rows, needed=needed_ml, form=number, alt=answers.water_alt(rows)),
        key="season_water",
        frame=lambda: answers.water_frame(rows),
    )


def _show_beside(plan: Plan, record: Record, setting: FarmSetting, chosen: findings.Choice) -> None:
    """Show today's sales, what is safe to sell forward, and the limit that holds."""
    found = cached.limit_and_bales(plan, record, chosen.strategy, chosen.area_ha)
    courses = cached.courses_tried(plan, record, chosen.strategy)
    for line in answers.beside(found, courses, setting):
        st.markdown(show.text(line))


def _years(setting: FarmSetting) -> list[str]:
    """Name the water years of the run."""
    calendar = setting.valley.calendar
    return [calendar.water_year(season) for season in range(calendar.seasons)]


def _show_bank(setting: FarmSetting, outcome: AreaOutcome) -> None:
    """Show how likely trouble is, and the bank month by month against the overdraft limit."""
    due = setting.rules.cash.payments_due
    show.chances(
        {
            "Overdraft past its limit in some month": outcome.past_limit_in_run,
            f"A loan payment missed, {of_payments(due)}": outcome.missed_in_run,
        }
    )
    if said := findings.next_water_finding(outcome, _years(setting)):
        st.markdown(said)
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


def _show_seasons(setting: FarmSetting, outcome: AreaOutcome) -> None:
    """Show what each season brings."""
    st.caption(
        "In brackets the 95 % range that the record leaves. Finished: kept to picking, though some "
        "of it may have been short of water. Usable: of your own account; Water ahead shows the "
        "average holder's."
    )
    st.table(findings.area_frame(outcome, _years(setting)).set_index("What"))


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
