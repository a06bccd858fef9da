"""Ways compared: ways of running the farm, on the same possible runs of seasons."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, choices, doubts, frame, show
from dashboard.charts.side_by_side import column_picture
from dashboard.charts.water import season_chart
from dashboard.charts.ways_compared import (
    chances_by_strategy_chart,
    difference_chart,
    frontier_chart,
    standing_chart,
)
from dashboard.doubts import show_announced_error
from dashboard.findings import ways_compared as findings
from dashboard.findings.ways_compared import frontier_frame, neighbours_frame
from dashboard.literal import literal
from model.decide.choice import OUR_CHOICE
from model.decide.compare import Comparison, StrategyOutcome
from model.decide.frontier import Frontier, frontier
from model.decide.last_megalitre import SEQUENCES
from model.farm.run import FarmResults
from model.outlook.setting import Progress
from model.plan.plan import Plan
from model.record.record import Record
from model.say import numbers
from model.say.cautions import NO_FARM, what_varies
from model.say.frontier import ERROR_NOTE, finding_of
from model.say.measures import MEASURES
from model.say.price import price_lines
from model.say.steps import (
    NOT_ADVICE,
    PUT_OFF_NOTE,
    changed_in_words,
    ladder_note,
    step_in_words,
)


def show_side_by_side(
    found: Comparison, results: FarmResults, outcomes: list[StrategyOutcome]
) -> None:
    """Show a column a strategy, all on the same axes."""
    names = [outcome.strategy.name for outcome in found.outcomes]
    columns = findings.columns_of(outcomes, results, names)
    axes = findings.axes_of(columns.values(), found.setting.rules.cash.overdraft_limit_aud)
    for place, outcome in zip(st.columns(len(outcomes)), outcomes, strict=True):
        name = outcome.strategy.name
        with place:
            st.subheader(literal(name), anchor=False)
            alt = findings.column_alt(outcome)
            picture = column_picture(*columns[name], axes, alt=alt)
            show.bare_picture(picture, key=f"column_{names.index(name)}")
            st.caption(literal(findings.rule_in_words(found.setting, name)))
    st.caption(
        "Bars: from what is reached 90 times in 100 to what is reached 10 times; points: 50 times. "
        "Dots: each 2 times in 100, hollow below nothing. Dashed: overdraft limit, and nothing."
    )
    show.figures_behind("columns", lambda: findings.columns_frame(outcomes))


def show_ends(outcomes: list[StrategyOutcome]) -> None:
    """Show how each strategy ends."""
    finding = findings.standing_finding(outcomes)
    show.chart(
        standing_chart(findings.standings(outcomes), title=finding),
        key="standing",
        alt=finding,
        frame=lambda: findings.standing_frame(outcomes),
    )
    st.caption(
        "In thousands, at the end of the run, and in brackets the 95 % range that the record "
        "supports. Seasons survived: seasons in a row with no allocation, from today, to whose end "
        "no payment is missed and the overdraft stays within its limit; what follows is not "
        "counted."
    )
    st.table(findings.standing_summary(outcomes).set_index("Strategy"))


def show_goes_wrong(outcomes: list[StrategyOutcome]) -> None:
    """Show what goes wrong some time in the run."""
    finding = findings.missed_finding(outcomes)
    chances = findings.chances_by_strategy(outcomes)
    show.chart(
        chances_by_strategy_chart(chances, title=finding),
        key="went_wrong",
        alt=finding,
        frame=lambda: findings.chances_frame(chances),
    )


def show_season_by_season(outcomes: list[StrategyOutcome]) -> None:
    """Show one amount, season by season."""
    amount = st.selectbox(
        "Amount",
        list(findings.SEASON_AMOUNTS),
        format_func=lambda name: MEASURES[name].heading,
        key="season_amount",
        persist_state="session",
    )
    finding = findings.season_finding(outcomes, amount)
    unit = MEASURES[amount].unit.name
    show.chart(
        season_chart(findings.by_season(outcomes, amount), title=finding, unit=unit),
        key="season_amount_chart",
        alt=finding,
        frame=lambda: findings.season_frame(outcomes, amount),
    )


def show_run_by_run(found: Comparison, results: FarmResults, chosen: list[str]) -> None:
    """Show how far one strategy ends ahead of another in each run."""
    first_column, second_column = st.columns(2)
    first = first_column.selectbox(
        "How far is",
        chosen,
        index=chosen.index(chosen[-1]),
        key="ahead_first",
        persist_state="session",
    )
    others = [name for name in chosen if name != first]
    second = second_column.selectbox(
        "ahead of", others, key="ahead_second", persist_state="session"
    )
    ahead_aud = findings.differences_aud(found, results, first, second)
    finding = findings.difference_finding(ahead_aud, first, second)
    show.chart(
        difference_chart(ahead_aud, title=finding),
        key="ahead",
        alt=finding,
        frame=lambda: findings.ordered_frame(ahead_aud, f"{numbers.currency_sign()} ahead"),
    )


def show_frontier(plan: Plan, record: Record, names: list[str]) -> None:
    """Try a grid of hold-back, hold-above and area, where it is asked for."""
    chosen = names.index(
        st.selectbox("Round the strategy", names, key="frontier_strategy", persist_state="session")
    )
    found = show.result_of(
        cached.frontier(plan, record, chosen),
        lambda progress: _tried(plan, record, chosen, progress),
        key="frontier",
        ask="Try 100 ways (a few seconds)",
        meanwhile="Trying ways of holding back and planting",
        unit="ways",
    )
    if found is None:
        return
    finding = finding_of(found)
    show.chart(
        frontier_chart(found, title=finding),
        key="frontier",
        alt=finding,
        frame=lambda: frontier_frame(found),
    )
    if found.neighbours:
        st.markdown("**Along the frontier, each way against the next**")
        show.plain_table(neighbours_frame(found))
        st.caption(ERROR_NOTE)


def _tried(plan: Plan, record: Record, strategy: int, progress: Progress) -> Frontier:
    """Try ten areas, each with nothing held and with three amounts held above three levels."""
    setting = cached.farm_setting(plan, record)
    return frontier(
        setting,
        setting.river(setting.valley.first_sequences(SEQUENCES)),
        setting.strategies[strategy],
        hold_back_ml_per_share=findings.HELD_BACK_ML_PER_SHARE,
        hold_above_ml_per_share=findings.HELD_ABOVE_ML_PER_SHARE,
        most_area_ha=findings.areas_ha(setting.rules.crop.land_limit_ha),
        progress=progress,
    )


def show_drought_steps(outcomes: list[StrategyOutcome]) -> None:
    """Show a strategy's drought steps: what they are, how often taken, what they change."""
    names = findings.with_steps(outcomes)
    name = names[0]
    if len(names) > 1:
        name = st.selectbox("Steps of", names, key="steps_of", persist_state="session")
    outcome = next(each for each in outcomes if each.strategy.name == name)
    with st.spinner("Playing the strategy without its steps, and with each in turn"):
        found = outcome.drought_steps()
    if found is None:
        return
    st.markdown(f"**{literal(changed_in_words(found))}**")
    for taken in found.taken:
        st.markdown(f"- {literal(step_in_words(taken.step))}")
    years = [season.water_year for season in outcome.seasons]
    st.markdown("**How often each is taken**")
    show.plain_table(findings.steps_taken_frame(found, years))
    st.markdown(f"**What each changes, beside those before it** ({literal(ladder_note())})")
    show.plain_table(findings.ladder_frame(found))
    st.caption(literal(f"{PUT_OFF_NOTE} {NOT_ADVICE}"))


MOST_AT_ONCE = 4
"""A column each: more would be too narrow to read."""


def _page(plan: Plan, record: Record) -> None:
    """Compare the plan's strategies."""
    if plan.farm is None:
        frame.answer("Cautious or bold?", plan)
        st.info(NO_FARM)
        return
    plan = choices.plan_with_ours(plan)
    _show(plan, record, *cached.comparison(plan, record))
    doubts.river_as_observed(plan, record)
    show_announced_error(plan, record)


def _show(plan: Plan, record: Record, found: Comparison, results: FarmResults) -> None:
    """Show the strategies chosen: how they end, what goes wrong, each season, run by run."""
    names = [outcome.strategy.name for outcome in found.outcomes]
    head = st.container()
    usual = sorted(names, key=lambda name: name != OUR_CHOICE)[:MOST_AT_ONCE]
    chosen = st.segmented_control(
        "Strategies to look at",
        names,
        format_func=literal,
        selection_mode="multi",
        default=usual,
        key="strategies_chosen",
    )[:MOST_AT_ONCE]
    outcomes = [outcome for outcome in found.outcomes if outcome.strategy.name in chosen]
    with head:
        question = "Cautious or bold?"
        frame.answer(findings.standing_finding(outcomes) if outcomes else question, plan)
        doubts.river_moved(plan, record)
    if not outcomes:
        st.info("Choose at least one strategy.")
        return
    show_side_by_side(found, results, outcomes)
    what = what_varies(found.setting.farm)
    st.caption(
        f"{numbers.count(found.count, 'possible sequence')}, the same for every strategy. {what} "
        "What a strategy leaves at the end (water, prepared land, the crop not yet paid for) is "
        "counted, so that "
        "none looks better by draining the account."
    )
    if prices := price_lines(found.setting.prices_met()):
        st.caption(show.text(" ".join(prices)))
    ours = [outcome.strategy.name for outcome in outcomes]
    shown = {
        "How they end": lambda: show_ends(outcomes),
        "What may go wrong": lambda: show_goes_wrong(outcomes),
        "Season by season": lambda: show_season_by_season(outcomes),
        "Hold back or plant less": lambda: show_frontier(plan, record, names),
    }
    if findings.with_steps(outcomes):
        shown["Drought steps"] = lambda: show_drought_steps(outcomes)
    if len(ours) > 1:
        shown["Run by run"] = lambda: show_run_by_run(found, results, ours)
    show.parts(shown, key="strategies_part")


frame.odds_page(_page)
