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
from dashboard.charts.money import bank_chart
from dashboard.charts.set_aside import set_aside_picture
from dashboard.charts.this_season import worth_chart
from dashboard.doubts import show_announced_error
from dashboard.findings import answer as answers
from dashboard.findings import guards
from dashboard.findings import this_season as findings
from dashboard.findings import water as water_findings
from dashboard.views.keeping.left import also_open, earlier
from dashboard.views.keeping.note_choice import note_choice
from dashboard.views.water.ahead import show_water
from model.decide.decision import Decision, decision_of
from model.decide.desk import HeldAndNeeded
from model.decide.driest import StretchMet
from model.decide.one_area import AreaOutcome, outcome_of_area
from model.decide.rivers import Rivers
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
            "Season by season": lambda: _show_seasons(setting, outcome),
            "The bank": lambda: _show_bank(setting, outcome),
            "The driest on record": lambda: _show_driest(outcome.driest),
            "One more megalitre": lambda: _show_worth(plan, record, followed, area_ha),
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
    rows = answers.water_rows(outcome, _years(setting))
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


def _show_worth(plan: Plan, record: Record, followed: Followed, area_ha: float) -> None:
    """Show what one more megalitre is worth in each use."""
    found = cached.last_megalitre(plan, record, followed, area_ha)
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
    if guard.waits_for_balances(plan):
        return
    _choose_and_see(plan, record, *cached.farm_ready(plan, record))
    show_announced_error(plan, record)
    doubts.river_counted_on(plan, record)


frame.odds_page(_page)
