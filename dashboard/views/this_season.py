"""What do we decide now? An area chosen by hand, how often it is finished, and what it leaves."""

from __future__ import annotations

from functools import partial

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import cached, choices, doubts, frame, guard, show, state
from dashboard.cached import Followed
from dashboard.charts.dots import dots_picture
from dashboard.charts.drawing import NARROW_PX
from dashboard.charts.hectares import hectares_picture
from dashboard.charts.set_aside import set_aside_picture
from dashboard.doubts import show_announced_error
from dashboard.findings import answer as answers
from dashboard.findings import guards
from dashboard.findings import this_season as findings
from dashboard.findings import water as water_findings
from dashboard.views.keeping.left import also_open, earlier
from dashboard.views.keeping.note_choice import note_choice
from dashboard.views.season import detail
from dashboard.views.water.ahead import show_water
from model.decide.decision import Decision, decision_of
from model.decide.desk import HeldAndNeeded
from model.decide.one_area import AreaOutcome, outcome_of_area
from model.decide.rivers import Rivers
from model.decide.season_question import AreasTried
from model.decide.season_water import planned_ml
from model.farm.measures import NO_LAND_HA
from model.farm.setting import FarmSetting
from model.plan.plan import Plan
from model.record.record import Record
from model.say.cautions import NO_FARM
from model.say.numbers import ml, number


@st.fragment
def _choose_and_see(plan: Plan, record: Record, setting: FarmSetting, rivers: Rivers) -> None:
    """Ask for a choice and show what it brings; a moved control runs this part alone."""
    head = st.container()
    left, right = st.columns([1.35, 1.0], gap="large")
    with right:
        followed = _followed(setting)
        water = st.container()
    held = followed.on(setting)
    now = decision_of(held, followed.strategy)
    tried = cached.areas_tried(plan, record, followed)
    with left:
        st.subheader(answers.question(now, setting), anchor=False)
        picture = st.empty()
        area_ha = _area(now, tried, setting)
    outcome = outcome_of_area(held, rivers, strategy=followed.strategy, area_ha=area_ha)
    desk = cached.held_and_needed(plan, record, followed, area_ha)
    with head:
        answer = _answer(plan, record, held, now, area_ha, outcome, desk)
    _show_areas(picture, tried, outcome, area_ha, desk)
    with left:
        _show_set_aside(plan, record)
    with water:
        _show_water(held, followed.strategy, area_ha, outcome)
    words = findings.choice_in_words(now, held, followed.strategy, area_ha)
    note_choice(plan, record, words, outcome, answer)
    state.keep_sitting()
    with right:
        _show_beside(plan, record, held, followed, area_ha)
    show.parts(
        {
            "Season by season": lambda: detail.show_seasons(setting, outcome),
            "The bank": lambda: detail.show_bank(setting, outcome),
            "The driest on record": lambda: detail.show_driest(outcome.driest),
            "One more megalitre": lambda: detail.show_worth(plan, record, followed, area_ha),
            "Water ahead": lambda: show_water(plan, record),
        },
        key="plant_part",
    )


def _followed(setting: FarmSetting) -> Followed:
    """Ask for the strategy followed, and what is kept for a lean season."""
    strategy = choices.strategy_followed(setting.strategies)
    return Followed(strategy, *choices.kept(setting.strategies[strategy]))


def _area(now: Decision, tried: AreasTried, setting: FarmSetting) -> float:
    """Ask for the area; say what is best, and what cannot be told apart from it."""
    if now.most_ha <= NO_LAND_HA:
        st.info("No land is prepared: nothing can be planted next.")
        return 0.0
    area_ha = choices.area(answers.usual_area_ha(tried, now.most_ha), now.most_ha)
    st.caption(answers.alike_words(tried, setting.farm.objective))
    return area_ha


def _answer(
    plan: Plan,
    record: Record,
    setting: FarmSetting,
    now: Decision,
    area_ha: float,
    outcome: AreaOutcome,
    desk: HeldAndNeeded,
) -> str:
    """Head the page with the answer; under it, where such odds failed before."""
    leads = ""
    if now.question == "carry":
        year = setting.valley.calendar.water_year(now.season)
        leads = answers.next_season_leads(outcome, setting, year)
    best = "" if state.chosen() else answers.best_words(setting.farm.objective)
    answer = answers.headline(outcome, area_ha, desk.choice, best, leads)
    if needed := guards.still_needed(plan):
        guard.example_answer(answer, needed, plan)
    else:
        frame.answer(answer, plan)
    doubts.failed_before(plan, record)
    return answer


def _show_areas(
    place: DeltaGenerator,
    tried: AreasTried,
    outcome: AreaOutcome,
    area_ha: float,
    desk: HeldAndNeeded,
) -> None:
    """Show hectares against times in 100."""
    draw = partial(
        hectares_picture,
        tried.areas_ha,
        answers.lines_of(tried),
        ours_ha=area_ha,
        marks=answers.marks_of(desk),
        alt=answers.areas_alt(tried, outcome, area_ha),
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


def _show_water(setting: FarmSetting, strategy: int, area_ha: float, outcome: AreaOutcome) -> None:
    """Show the water that each season can use by its finish month."""
    rows = answers.water_rows(outcome, detail.years(setting))
    if not rows:
        return
    needed_ml = planned_ml(setting, strategy, area_ha)
    st.subheader("Water we could use by the finish month", anchor=False)
    st.caption(answers.dots_caption(area_ha, needed_ml))
    show.picture(
        dots_picture(rows, needed=needed_ml, form=number, alt=answers.water_alt(rows)),
        key="season_water",
        frame=lambda: answers.water_frame(rows),
    )


def _show_beside(
    plan: Plan, record: Record, setting: FarmSetting, followed: Followed, area_ha: float
) -> None:
    """Show today's sales, safe bales, the limit, the last megalitre, what would change it all."""
    lines = answers.beside(
        cached.limit_and_bales(plan, record, followed, area_ha),
        cached.courses_tried(plan, record, followed),
        setting,
    )
    for line in lines:
        st.markdown(show.text(line))
    last = cached.last_megalitre(plan, record, followed, area_ha)
    if last is not None:
        st.markdown(show.text(f"**The last megalitre:** {findings.worth_finding(last)}."))
    st.subheader("What would change the answer", anchor=False)
    for line in answers.changes(cached.triggers(plan, record, followed), setting):
        st.markdown(show.text(line))


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
    if guard.waits_for_balances(plan):
        return
    _choose_and_see(plan, record, *cached.farm_ready(plan, record))
    show_announced_error(plan, record)
    doubts.river_counted_on(plan, record)


frame.odds_page(_page)
