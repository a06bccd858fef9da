"""Money: does one strategy's bank stay within its limit, is debt served, and what may turn?"""

from __future__ import annotations

import streamlit as st

from dashboard import cached, choices, controls, doubts, frame, show
from dashboard.charts.money import bank_chart, case_chart, measure_chart
from dashboard.charts.ways_compared import chances_by_strategy_chart
from dashboard.doubts import show_announced_error
from dashboard.findings import money as findings
from dashboard.findings import stress as stress_findings
from model.decide.cash_months import CashMonths
from model.decide.compare import StrategyOutcome
from model.decide.stress import StressSet
from model.plan.plan import Plan
from model.record.record import Record
from model.say import numbers
from model.say.bank import bills_past_limit_in_words
from model.say.cautions import NO_FARM, what_varies
from model.say.comparison import survives_in_words
from model.say.lender import (
    BELOW_0,
    COVER_BY_SEASON,
    break_even_title,
    cover_in_short,
    easier_on_bank,
    stress_title,
)
from model.say.measures import MEASURES, shown, title_of
from model.water_year import months_from


def show_holds(given: Plan, record: Record, outcome: StrategyOutcome, limit_aud: float) -> None:
    """Show the limit that holds, and how often debt is not served."""
    followed, area_ha = choices.as_followed(given, outcome.strategy)
    found = cached.limit_and_bales(given, record, followed, area_ha)
    st.markdown(show.text(findings.limit_in_words(found, limit_aud)))
    show.chances(findings.run_chances(outcome))
    for said in findings.put_off_in_words(outcome):
        st.warning(show.text(said))


def show_bank(cash: CashMonths, outcome: StrategyOutcome, limit_aud: float) -> None:
    """Show the bank by month against the overdraft limit, and how often that is passed."""
    months = months_from(cash.first_month, cash.bands_aud.shape[1])
    if len(months) == 1:
        st.markdown(show.text(f"{findings.one_month_finding(cash, outcome)}."))
        return
    finding = findings.bank_finding(cash, outcome)
    show.chart(
        bank_chart(
            months,
            cash.bands_aud,
            limit_aud=limit_aud,
            title=finding,
            said=findings.worst_months(cash),
        ),
        key="money_bank",
        alt=finding,
        frame=lambda: findings.bank_frame(cash),
    )
    st.caption(
        f"The bank at each month's end in {numbers.number(cash.sequences)} of the sequences. A "
        "band "
        "is of one month alone: more sequences pass the limit in some month than in any one month."
    )


def show_chances(outcome: StrategyOutcome) -> None:
    """Show what may go wrong, season by season and in the whole run."""
    finding = findings.season_chances_finding(outcome)
    show.chart(
        chances_by_strategy_chart(findings.season_chances(outcome), title=finding),
        key="money_chances",
        alt=finding,
        frame=lambda: findings.season_chances_frame(outcome),
    )
    st.markdown(bills_past_limit_in_words(outcome))
    st.markdown(survives_in_words(outcome))


def show_measures(outcome: StrategyOutcome) -> None:
    """Show what a lender asks for, season by season, with the formulas beside."""
    name = st.selectbox(
        "Measure",
        list(findings.measures_of(outcome)),
        format_func=lambda each: title_of(each),
        key="money_measure",
        persist_state="session",
    )
    measure, finding = MEASURES[name], findings.measure_finding(outcome, name)
    lines = findings.COVER_LINES if name == "cover" else ()
    show.chart(
        measure_chart(
            findings.measure_by_year(outcome, name),
            title=finding,
            unit=measure.axis_unit,
            lines=lines,
        ),
        key="money_measure_chart",
        alt=finding,
        frame=lambda: findings.measure_frame(outcome),
    )
    for said in findings.cover_chances(outcome):
        st.markdown(said)
    st.caption("Bars: 80 times in 100. In brackets: the 95 % range that the record supports.")
    show.plain_table(findings.measure_summary(outcome))
    of_cover = "" if outcome.nothing_due else f"{BELOW_0} {COVER_BY_SEASON}"
    st.caption(f"{findings.formulas(outcome)} {of_cover}")


def show_stress(stress: StressSet, limit_aud: float) -> None:
    """Show what each case changes and brings, and the break-evens."""
    names = ("run_term_debt_cover", "run_replacement_cover")
    of_cover = shown(names, due=stress.has_cover, owed=True)
    formulas = "".join(f" **{one.title}** = {one.formula}." for one in of_cover)
    st.caption(f"{stress_title(stress)}{formulas}")
    finding = stress_findings.finding(stress)
    show.chart(
        case_chart(**stress_findings.bars(stress, limit_aud), title=finding),
        key="money_stress",
        alt=finding,
        frame=lambda: stress_findings.frame(stress),
    )
    show.plain_table(stress_findings.summary(stress))
    for why in easier_on_bank(stress).values():
        st.markdown(show.text(why))
    if not stress.has_cover:
        return
    st.subheader("How far may one thing turn before cover is 1.00?", anchor=False)
    st.caption(break_even_title(stress))
    show.plain_table(stress_findings.break_even_frame(stress))


def _page(plan: Plan, record: Record) -> None:
    """Follow one strategy's money."""
    if plan.farm is None:
        frame.answer("Does the money hold, and when is it worst?", plan)
        st.info(NO_FARM)
        return
    given, plan = plan, choices.plan_with_ours(plan)
    head = st.container()
    names = [each.name for each in cached.farm_setting(plan, record).strategies]
    at = controls.strategy("Strategy", names, key="money_strategy", usual=choices.usual(names))
    found = cached.one_strategy(plan, record, at)
    (ours,), limit = found.outcomes, found.setting.rules.cash.overdraft_limit_aud
    cash = cached.bank_by_month(plan, record, at)
    with head:
        frame.answer(findings.answer(cash, ours), plan)
        doubts.river_moved(plan, record)
        for note in findings.notes(found, ours):
            st.info(note)
        if ours.covers["run_term_debt_cover"] is not None:
            st.markdown(f"**{show.text(cover_in_short(ours))}**")
    show_bank(cash, ours, limit)
    show_holds(given, record, ours, limit)
    show.parts(
        {
            "What may go wrong": lambda: show_chances(ours),
            "What a lender asks for": lambda: show_measures(ours),
            "If it turns against you": lambda: show_stress(cached.stress(plan, record, at), limit),
        },
        key="money_part",
    )
    st.caption(
        f"{numbers.count(found.count, 'possible sequence')}. {what_varies(found.setting.farm)}"
    )
    doubts.river_as_observed(plan, record)
    show_announced_error(plan, record)


frame.odds_page(_page)
