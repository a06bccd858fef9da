"""How it has done: what do the odds rest on, how sure are they, would they have held?

What is quick comes first; the rest is worked out on asking.
"""

from __future__ import annotations

import functools
from functools import partial

import streamlit as st

from dashboard import cached, show
from dashboard.charts.drawing import NARROW_PX
from dashboard.charts.how_it_has_done import (
    coverage_chart,
    evenness_chart,
    methods_chart,
    reliability_chart,
)
from dashboard.charts.past_years import past_years_picture
from dashboard.doubts import show_announced_error
from dashboard.findings import evidence as evidence_findings
from dashboard.findings import how_it_has_done as findings
from dashboard.findings import water as water_ahead_findings
from model.evidence.choosers import METHODS
from model.evidence.hindcast import hindcast
from model.evidence.judge import Evidence, MethodJudged, judge
from model.evidence.today import OddsToday, odds_today
from model.evidence.verdict import verdict_of
from model.outlook.setting import Progress
from model.plan.plan import Plan
from model.record.record import Record
from model.say.diagnosis import memory_in_words, reasons_in_words
from model.say.evidence import headline_of, replaced_in_words, verdict_in_words
from model.say.methods_today import left_out


def rest_on(plan: Plan, record: Record) -> None:
    """Show the method in use, the assumptions and the cautions."""
    odds = cached.water_ahead(plan, record).outlook
    st.header("What do these odds rest on?", anchor=False)
    st.markdown(f"**The method in use.** {findings.method_words(odds)}")
    st.markdown("**What is assumed**")
    st.markdown(findings.bullets(findings.assumptions(plan)))
    st.markdown("**Before acting on it**")
    st.markdown(findings.bullets(findings.CAUTIONS))


def how_sure(plan: Plan, record: Record) -> None:
    """Explain the record's own error, on the first chance of the first page."""
    odds = cached.water_ahead(plan, record).outlook
    st.header("How sure is a figure?", anchor=False)
    for line in findings.error_words(odds):
        st.markdown(line)
    show.plain_table(findings.headline_frame(water_ahead_findings.none_chances(odds.seasons)))


def remembered(plan: Plan, record: Record) -> None:
    """Show what the record remembers."""
    st.header("What does the record remember?", anchor=False)
    found = cached.diagnosis(plan, record)
    st.markdown(f"**{memory_in_words(found)}**")
    st.markdown(findings.bullets(reasons_in_words(found)))
    show.table(findings.diagnosis_frame(found), key="diagnosis")


def methods_apart(plan: Plan, record: Record) -> None:
    """Show each method's odds beside the others', where it is asked for."""
    st.header("How far apart are the methods?", anchor=False)
    st.markdown(
        "The same dam, account, rules and record, drawn in each of the four ways. What they differ "
        "by is an error that no number of sequences takes away."
    )
    told = show.result_of(
        cached.methods_today(plan, record),
        lambda progress: _each_method(plan, record, progress),
        key="methods",
        ask="Try each method on today (a few seconds)",
        meanwhile="Running the seasons ahead with each method",
        unit="methods",
    )
    if told is None:
        return
    odds = cached.water_ahead(plan, record).outlook
    years = [season.water_year for season in odds.seasons]
    finding = findings.methods_finding(told, years)
    show.chart(
        methods_chart(findings.chances_of_none(told), years, title=finding),
        key="methods",
        alt=finding,
        frame=lambda: findings.methods_frame(told, years),
    )
    for method, why in left_out(told).items():
        st.caption(f"Method {method} cannot be used here: {why}.")
    st.caption(findings.beside_the_record(odds))


def _each_method(plan: Plan, record: Record, progress: Progress) -> tuple[OddsToday, ...]:
    """Work out the odds with one method after the other."""
    told: tuple[OddsToday, ...] = ()
    for done, method in enumerate(METHODS, start=1):
        told += odds_today(plan, record, [method])
        progress(done, len(METHODS))
    return told


def held(plan: Plan, record: Record) -> None:
    """Try the odds on the observed years, where it is asked for."""
    st.caption(
        "For every year of the record after the first thirty the tool stands at the month that "
        "opens the run, knowing only the years before, gives its odds, and looks at what the rules "
        "then gave."
    )
    found = show.result_of(
        cached.evidence(plan, record),
        lambda progress: judge(hindcast(plan, record, progress=progress)),
        key="evidence",
        ask="Try the odds on the observed years (about a minute)",
        meanwhile="Standing in every observed year",
        unit="years",
    )
    if found is not None:
        odds = cached.water_ahead(plan, record).outlook
        method = plan.sequences.method or found.recommended.method
        judged = found.of(method)
        if judged is None:
            st.info(findings.bullets(replaced_in_words(found.replaced)))
            return
        missed = evidence_findings.missed_chances(judged, odds)
        if missed:
            st.warning(findings.bullets(missed))
        _past_years(found, method)
        _verdict(found, method)
        _bands_and_errors(judged)
        _said_and_happened(judged)


def answer(plan: Plan, record: Record) -> str:
    """Return what the trial on the past years found; that it was not made, until it was."""
    found = cached.evidence(plan, record).found
    verdict = None
    if found is not None:
        verdict = verdict_of(found, plan.sequences.method or found.recommended.method)
    return evidence_findings.NOT_TRIED if verdict is None else f"{headline_of(verdict)}."


def _past_years(found: Evidence, method: str) -> None:
    """Show what was said of every past season, and what came."""
    years = evidence_findings.past_years(found, method)
    alt = evidence_findings.past_years_finding(years)
    draw = partial(past_years_picture, years, unit="ML a share announced by June", alt=alt)
    show.picture(
        draw(),
        narrow=draw(width=NARROW_PX),
        key="past_years",
        frame=lambda: evidence_findings.past_years_frame(years),
    )
    st.caption(
        f"{alt} Bars: said to be reached 90 to 10 times in 100, the line in them 50 times; points: "
        "what came, hollow where it counts as outside. At a bar's end, where many sequences bring "
        "the same, a lot decides, so that right odds hold 80 times in 100."
    )


def _verdict(found: Evidence, method: str) -> None:
    """Put the evidence in words."""
    verdict = verdict_of(found, method)
    for paragraph in verdict_in_words(verdict) if verdict else ():
        st.markdown(paragraph)


def _bands_and_errors(judged: MethodJudged) -> None:
    """Show how often the bands held, how evenly, and how large the errors were."""
    st.subheader("How often the bands held", anchor=False)
    amount = st.segmented_control(
        "Of which amount, at the season's end",
        list(evidence_findings.AMOUNTS),
        format_func=lambda name: evidence_findings.AMOUNTS[name][0],
        default="announced",
        required=True,
        key="trust_amount",
        persist_state="session",
    )
    of_seasons = [season.amounts[amount] for season in judged.seasons]
    finding = evidence_findings.coverage_finding(of_seasons)
    show.chart(
        coverage_chart([each.bands for each in of_seasons], title=finding),
        key="coverage",
        alt=finding,
        frame=lambda: evidence_findings.coverage_frame(of_seasons),
    )
    finding = evidence_findings.evenness_finding(of_seasons)
    show.chart(
        evenness_chart([each.pit_counts for each in of_seasons], title=finding),
        key="evenness",
        alt=finding,
        frame=lambda: evidence_findings.evenness_frame(of_seasons),
    )
    st.caption(evidence_findings.EVENNESS_NOTE)
    st.markdown(findings.bullets(evidence_findings.evenness_words(of_seasons)))
    st.subheader("How large the errors were", anchor=False)
    st.caption(evidence_findings.SKILL_NOTE)
    show.table(evidence_findings.skill_frame(judged, amount), key=f"skill_{amount}")


def _said_and_happened(judged: MethodJudged) -> None:
    """Show the chances said of no water against what happened."""
    st.subheader("Chance of none: said, and happened", anchor=False)
    for number, season in enumerate(judged.seasons, start=1):
        rows = [row for row in season.events["none"].table if row.cases]
        finding = evidence_findings.reliability_finding(season, number)
        show.chart(
            reliability_chart(
                [row.mean_chance for row in rows],
                [(row.share, row.share_low, row.share_high) for row in rows],
                title=finding,
            ),
            key=f"reliability_{number}",
            alt=finding,
            frame=functools.partial(evidence_findings.reliability_frame, rows),
        )


plan, record = st.session_state.current
st.title(answer(plan, record), anchor=False)
held(plan, record)
rest_on(plan, record)
how_sure(plan, record)
remembered(plan, record)
methods_apart(plan, record)
show_announced_error(plan, record)
