"""Does the page of trust say what the evidence, the diagnosis and the odds hold, and no more?

The evidence is a real one, on a short record with few draws; the pages run in this process.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from dashboard import cached, show
from dashboard.charts.how_it_has_done import methods_chart
from dashboard.findings import evidence as evidence_findings
from dashboard.findings import how_it_has_done as trust_findings
from model.errors import Fault, RecordError
from model.evidence.calibration import Uniformity, acceptance_range
from model.evidence.choosers import METHODS, choosers_of
from model.evidence.diagnosis import Diagnosis, diagnose
from model.evidence.hindcast import FEWEST_DRAWS, hindcast
from model.evidence.judge import Evidence, judge
from model.evidence.reliability import ReliabilityBin
from model.evidence.today import OddsToday, odds_today
from model.evidence.verdict import verdict_of
from model.outlook.ahead import look_ahead
from model.outlook.chances import wilson_interval
from model.outlook.outlook import Outlook
from model.plan.plan import Drawing, Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan, read_plan
from model.record.record import Record, parse_record, read_record
from model.say.cautions import FARM_CAUTION, what_varies
from model.say.diagnosis import memory_in_words, reasons_in_words
from model.say.evidence import verdict_in_words
from model.say.method import BLOCKS
from model.say.methods_today import left_out
from model.say.numbers import percent
from model.sequences.fallback import Because
from model.water_year import parse_month
from tests.brief_words import in_100
from tests.dashboard.window import figures, go, opened, said, start_on, tables

TRUST = "how_it_has_done"
COUNT = 400
YEARS = 60
"""Of record: thirty to know, and about thirty to try."""

RECORD = demonstration_plan().with_name("demonstration_record.csv")


def short_record() -> bytes:
    """Return the last years of the demonstration's record."""
    header, *rows = RECORD.read_text("utf-8").splitlines()
    return ("\n".join([header, *rows[-12 * YEARS :]]) + "\n").encode()


@pytest.fixture(scope="module", name="record")
def _record() -> Record:
    return parse_record(short_record(), "short.csv")


@pytest.fixture(scope="module", name="plan")
def _plan() -> Plan:
    return read_plan(demonstration_plan()).with_drawing(count=COUNT, method="blocks")


@pytest.fixture(scope="module", name="odds")
def _odds(plan: Plan, record: Record) -> Outlook:
    return look_ahead(plan, record).outlook


@pytest.fixture(scope="module", name="few")
def _few(plan: Plan) -> Callable[..., Any]:
    """Return the hindcast with the plan's own method and few draws."""
    own = choosers_of(plan.sequences, [plan.sequences.method])
    return functools.partial(hindcast, choosers=own, draws_each=FEWEST_DRAWS)


@pytest.fixture(scope="module", name="evidence")
def _evidence(plan: Plan, record: Record, few: Callable[..., Any]) -> Evidence:
    return judge(few(plan, record))


@pytest.fixture(scope="module", name="found")
def _found(plan: Plan, record: Record) -> Diagnosis:
    month = parse_month(plan.opening.month)
    return diagnose(record, opening_month=month, seed=plan.sequences.seed)


@pytest.fixture(name="page")
def _page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, few: Callable[..., Any]
) -> Iterator[AppTest]:
    """Open the page on the demonstration with a short record; its hindcast takes few draws."""
    monkeypatch.setattr("model.evidence.hindcast.hindcast", few)
    plan = tmp_path / "plan.toml"
    settings = {"record": "short.csv", "sequences.count": COUNT, "sequences.method": "blocks"}
    plan.write_text(edit_plan(demonstration_plan().read_text("utf-8"), settings), "utf-8")
    (tmp_path / "short.csv").write_bytes(short_record())
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))
    start_on(monkeypatch, plan)
    yield opened(TRUST)
    cached.evidence.clear()
    cached.methods_today.clear()


def press(page: AppTest, key: str) -> None:
    """Press the button of some long work."""
    page.button(key=f"{key}_button").click().run()
    assert not page.exception, [error.value for error in page.exception]


def rows_of(page: AppTest) -> dict[str, list[str]]:
    """Gather the rows of a page's tables, by their first cell."""
    return {
        str(name): [str(cell) for cell in row]
        for table in tables(page)
        for name, row in zip(table.index, table.to_numpy(), strict=True)
    }


def test_page_when_opened_then_what_is_quick_is_there_and_nothing_is_claimed(
    page: AppTest, found: Diagnosis, odds: Outlook
) -> None:
    """Method, assumptions, cautions, errors and diagnosis stand at once; no chart, no verdict."""
    assert not page.exception
    assert [part.value for part in page.header] == [
        "What do these odds rest on?",
        "How sure is a figure?",
        "What does the record remember?",
        "How far apart are the methods?",
    ]
    assert page.title[0].value == evidence_findings.NOT_TRIED
    text = said(page)
    assert odds.plan.farm is not None
    varies = what_varies(odds.plan.farm)
    for words in (*trust_findings.CAUTIONS, varies, *reasons_in_words(found)):
        assert words in text
    for words in (trust_findings.method_words(odds), *trust_findings.error_words(odds)):
        assert words in text
    assert page.main.caption[-1].value == FARM_CAUTION
    assert memory_in_words(found) in text
    assert not page.get("plotly_chart")
    assert "8-in-10" not in text


@pytest.mark.parametrize("view", ["this_season/Water ahead", TRUST])
def test_page_when_a_kind_of_blocks_is_named_then_its_meaning_stands_beside_it(
    page: AppTest, view: str
) -> None:
    """A word of the trade is followed by what it means; nothing is said of another method."""
    go(page, view)
    assert not page.exception
    text = said(page)
    assert "runs of past years, about " in text
    assert "Stationary blocks: runs of past years from anywhere in the record" in text
    page.session_state.changes = {"sequences.method": "historical"}
    page.run()
    assert not page.exception
    assert "locks:" not in said(page)


def test_words_when_a_plan_may_name_a_kind_of_blocks_then_each_has_its_meaning() -> None:
    """Every kind that a plan takes has words of its own."""
    kinds = get_args(Drawing.model_fields["kind"].annotation)
    assert set(BLOCKS) == set(kinds)
    assert len(set(BLOCKS.values())) == len(kinds)


def test_diagnosis_when_laid_out_then_each_number_is_the_diagnosis_own(
    page: AppTest, found: Diagnosis
) -> None:
    """Number by number, on the page itself."""
    rows = {name: cells[0] for name, cells in rows_of(page).items()}
    states, drift = found.states, found.drift
    assert states is not None
    assert drift is not None
    one, two = states.fit.bic
    wanted = {
        "Years looked at, from the opening month": f"{found.years}",
        "Likeness of neighbouring years (correlation)": f"{found.lag_1:.2f}",
        "Independent years stay within": f"{found.lag_1_band:.2f}",
        "Hurst's K (above about 0.6: dry years bunch)": f"{found.hurst_k:.2f}",
        "Block length asked for": f"{found.block_years.stationary:.1f} years",
        "Largest shift of the mean, after": found.shift.after,
        "Shuffled years show as large a shift in": percent(found.shift.chance),
        "Bayes' criterion of one state, of two (the lower fits)": f"{one:.1f}, {two:.1f}",
        "Dry years found, if two states": f"{states.dry_years} of {states.fit.count}",
        "Chance that the last year was dry": percent(states.dry_chance_now),
        "The usual flow wanders": "yes" if drift.wanders else "no",
        "Usual flow now": f"{drift.next_level:,.0f} ML a year",
    }
    assert wanted.items() <= rows.items()
    assert len(trust_findings.diagnosis_frame(found)) == len(wanted) + 1


def test_error_table_when_shown_then_it_holds_the_headline_chances(
    page: AppTest, odds: Outlook
) -> None:
    """The chances of none with the ranges that record and draws leave."""
    rows = rows_of(page)
    first = odds.seasons[0]
    cells = rows[f"Nothing more announced in {first.water_year}"]
    estimate = first.chance_none
    assert cells == [
        in_100(estimate.value),
        " to ".join(map(in_100, estimate.headline)),
        " to ".join(map(in_100, (estimate.draws_low, estimate.draws_high))),
    ]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "hindsight"),
        ({"assured_inflow": "fixed", "assured_fixed_ml_per_month": 10.0}, "the plan states"),
        ({"assured_before": "2000-07"}, "before July 2000"),
    ],
)
def test_assumptions_when_the_assured_inflow_is_set_otherwise_then_they_say_so(
    plan: Plan, changes: dict[str, Any], words: str
) -> None:
    """Hindsight is said only where there is some."""
    assessment = plan.valley.assessment.model_copy(update=changes)
    changed = plan.model_copy(
        update={"valley": plan.valley.model_copy(update={"assessment": assessment})}
    )
    (about,) = (
        line for line in trust_findings.assumptions(changed) if "assessment counts on" in line
    )
    assert words in about
    assert ("hindsight" in about) == (not changes)


def test_assumptions_when_there_is_no_farm_then_prices_are_not_spoken_of(plan: Plan) -> None:
    """Water alone needs no prices."""
    assert plan.farm is not None
    varies = what_varies(plan.farm)
    assert varies in trust_findings.assumptions(plan)
    alone = plan.model_copy(update={"farm": None, "strategies": None})
    assert varies not in trust_findings.assumptions(alone)


def test_methods_when_asked_for_then_each_methods_own_odds_stand_beside_each_other(
    page: AppTest, plan: Plan, record: Record
) -> None:
    """The chart draws what the model gives, in percent, with a shape a method."""
    press(page, "methods")
    (chart,) = figures(page)
    told = {each.method: each for each in odds_today(plan, record)}
    points = {trace["name"]: trace for trace in chart["data"]}
    assert set(points) == {name for name in told if told[name].chance_none}
    assert set(points) | set(left_out(list(told.values()))) == set(METHODS)
    for name, trace in points.items():
        assert trace["x"] == pytest.approx([100.0 * chance for chance in told[name].chance_none])
    assert len({trace["marker"]["symbol"] for trace in points.values()}) == len(points)
    assert "methods_button" not in [button.key for button in page.button]


def test_methods_when_one_cannot_be_used_then_it_is_named_and_not_drawn() -> None:
    """By hand: three chances, one method refused with its reason."""
    told = [
        OddsToday("historical", {"method": "historical"}, None, (0.25, 0.5), ()),
        OddsToday("neighbours", {}, Fault("", "", "the present is not known", ""), (), ()),
        OddsToday("blocks", {"method": "historical"}, None, (0.375, 0.5), ()),
        OddsToday("regimes", {}, None, (), (), replaced=Because("years_alike")),
    ]
    years = ["2025-26", "2026-27"]
    assert trust_findings.methods_finding(told, years) == (
        "Nothing more announced in 2025-26: from 25 times in 100 by historical to 38 times in 100 "
        "by blocks"
    )
    assert left_out(told) == {
        "neighbours": "the present is not known",
        "regimes": "all years of the record are alike",
    }
    frame = trust_findings.methods_frame(told, years)
    assert frame["Method"].tolist() == ["historical", "blocks"]
    assert frame["Nothing announced in 2026-27"].tolist() == ["50 times in 100"] * 2
    figure = methods_chart(trust_findings.chances_of_none(told), years, title="A finding")
    assert [list(trace.x) for trace in figure.data] == [[25.0, 50.0], [37.5, 50.0]]
    assert "times in 100" in figure.layout.xaxis.title.text


def test_hindcast_when_done_then_verdict_and_charts_are_the_evidences_own(
    page: AppTest, evidence: Evidence, plan: Plan
) -> None:
    """Bands, evenness and errors, season by season, equal the same hindcast's numbers."""
    press(page, "evidence")
    text = said(page)
    verdict = verdict_of(evidence, plan.sequences.method)
    assert verdict is not None
    for paragraph in verdict_in_words(verdict):
        assert paragraph in text
    bands, evenness, *said_and_happened = figures(page)
    seasons = evidence.of(plan.sequences.method).seasons
    assert len(said_and_happened) == len(seasons) == 3
    for number, season in enumerate(seasons):
        announced = season.amounts["announced"]
        points = bands["data"][number]
        assert points["x"] == pytest.approx([100.0 * band.share for band in announced.bands])
        reach = np.add(points["x"], points["error_x"]["array"])
        assert reach == pytest.approx([100.0 * band.share_high for band in announced.bands])
        reach = np.subtract(points["x"], points["error_x"]["arrayminus"])
        assert reach == pytest.approx([100.0 * band.share_low for band in announced.bands])
        shares = [100.0 * count / season.cases for count in announced.pit_counts]
        assert evenness["data"][number]["y"] == pytest.approx(shares)
        assert f"in {percent(announced.uniformity.p_value)} of such records" in text
        row = rows_of(page)[f"Season {number + 1}"]
        assert row[0] == f"{season.cases}"
        assert float(row[1]) == pytest.approx(announced.crps.value, abs=0.005)
        assert float(row[2]) == pytest.approx(announced.long_run_crps, abs=0.005)
        skill = announced.skill
        told = [float(part) for part in re.findall(r"(-?\d+) %", row[3].replace("−", "-"))]
        assert told == pytest.approx(
            [100.0 * skill.value, 100.0 * skill.low, 100.0 * skill.high], abs=0.5
        )
    assert [shape["x0"] for shape in bands["layout"]["shapes"]] == pytest.approx([50, 80, 90])
    for season, chart in zip(seasons, said_and_happened, strict=True):
        none = season.events["none"]
        points = chart["data"][1]
        assert points["x"] == pytest.approx([100.0 * row.mean_chance for row in none.table])
        assert points["y"] == pytest.approx([100.0 * row.share for row in none.table])
        title = chart["layout"]["title"]["text"].replace("<br>", " ")
        assert f"nothing announced in {none.happened} of {season.cases} years" in title


def test_hindcast_when_the_dam_is_looked_at_then_its_numbers_stand(
    page: AppTest, evidence: Evidence
) -> None:
    """The other amount has its own bands."""
    press(page, "evidence")
    page.segmented_control(key="trust_amount").set_value("storage").run()
    assert not page.exception
    for number, season in enumerate(evidence.of("blocks").seasons):
        points = figures(page)[0]["data"][number]
        wanted = [100.0 * band.share for band in season.amounts["storage"].bands]
        assert points["x"] == pytest.approx(wanted)


def test_coverage_frame_when_laid_out_then_its_ranges_are_binomial(evidence: Evidence) -> None:
    """Both ranges again from the counts: Wilson's of the share, the binomial of right odds."""
    of_seasons = [season.amounts["announced"] for season in evidence.of("blocks").seasons]
    frame = evidence_findings.coverage_frame(of_seasons)
    assert frame["Season"].tolist() == [1, 1, 1, 2, 2, 2, 3, 3, 3]
    assert frame["Band"].tolist() == ["50 %", "80 %", "90 %"] * 3
    for row, band in zip(
        frame.to_dict("records"), [band for each in of_seasons for band in each.bands], strict=True
    ):
        whole = int(band.effective_cases)
        low, high = wilson_interval(band.share * whole, whole)
        assert row["95 % range of that"] == f"{percent(low)} to {percent(high)}"
        least, most = acceptance_range(band.level, whole)
        accepted = f"{percent(least / whole)} to {percent(most / whole)}"
        assert row["Right odds would hold"] == accepted
        within = least / whole <= band.share <= most / whole
        assert row["As promised"] == ("yes" if within else "no")


def test_evenness_when_luck_hardly_explains_it_then_it_is_called_uneven(
    evidence: Evidence,
) -> None:
    """By hand: a p-value below 5 % in the second season alone."""
    season = evidence.of("blocks").seasons[0].amounts["announced"]
    even, uneven = (
        type(season)(
            crps=season.crps,
            long_run_crps=season.long_run_crps,
            skill=season.skill,
            uniformity=Uniformity(0.2, p_value, 30.0),
            pit_counts=season.pit_counts,
            bands=season.bands,
        )
        for p_value in (0.4, 0.02)
    )
    assert evidence_findings.evenness_finding([even, uneven]).endswith(
        "unevenly over the odds in season 2"
    )
    assert evidence_findings.evenness_finding([even, even]).endswith("in every season")
    for of_seasons in ([even, uneven], [even, even]):
        assert evidence_findings.evenness_finding(of_seasons).startswith(
            "Over the whole spread of amounts, "
        )
    assert "chance of none is its dry end alone" in evidence_findings.EVENNESS_NOTE
    first, second = evidence_findings.evenness_words([even, uneven])
    assert "as even as luck" in first
    assert "40 %" in first
    assert "uneven beyond luck" in second
    assert "2.0 %" in second


def test_hindcast_when_stopped_then_it_says_how_far_and_keeps_nothing(
    page: AppTest, monkeypatch: pytest.MonkeyPatch, few: Callable[..., Any]
) -> None:
    """A click ends the run by what `progress` raises: nothing is kept, and it can begin again."""
    begun: list[int] = []

    def clicked(plan: Plan, record: Record, *, progress: Callable[[int, int], None]) -> Any:
        def heard(done: int, total: int) -> None:
            begun.append(done)
            progress(done, total)
            if done == 4:
                st.rerun()

        return few(plan, record, progress=heard)

    monkeypatch.setattr("model.evidence.hindcast.hindcast", clicked)
    press(page, "evidence")
    assert begun == [1, 2, 3, 4]
    (told,) = [info.value for info in page.info]
    assert re.fullmatch(r"Stopped after 4 of (\d\d) years\. Nothing of it is kept\.", told)
    assert not page.get("plotly_chart")
    assert page.button(key="evidence_button").label.startswith("Try the odds")
    monkeypatch.setattr("model.evidence.hindcast.hindcast", few)
    press(page, "evidence")
    assert not page.info
    assert len(page.get("plotly_chart")) == 5


def test_hindcast_when_it_was_done_then_it_stays_until_the_dam_is_moved(page: AppTest) -> None:
    """What was found is there on coming back, and never for another plan."""
    press(page, "evidence")
    go(page, "today")
    go(page, TRUST)
    assert len(page.get("plotly_chart")) == 5
    _dam(page, 150_000.0)
    assert not page.get("plotly_chart")
    assert page.button(key="evidence_button").label.startswith("Try the odds")
    _dam(page, 90_000.0)
    assert len(page.get("plotly_chart")) == 5


def _dam(page: AppTest, storage_ml: float) -> None:
    """Set the dam on Today, and come back."""
    go(page, "today")
    page.number_input(key="field.opening.storage_ml").set_value(storage_ml).run()
    go(page, TRUST)


def test_hindcast_when_the_record_is_too_short_then_the_fault_shows_and_no_stop(
    page: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An input fault is shown as one; it is not called stopped."""

    def refuses(*_: object, **__: object) -> Any:
        raise RecordError("the record", [Fault("years", "31", "it is too short", "40 or more")])

    monkeypatch.setattr("model.evidence.hindcast.hindcast", refuses)
    press(page, "evidence")
    assert len(page.error) == 1
    assert "years" in rows_of(page)
    page.run()
    assert not page.info
    assert not page.error


def test_stopped_words_when_nothing_was_done_then_no_count_is_given() -> None:
    """By hand: stopped at once, and stopped in between."""
    place: cached.Place[int] = cached.Place()
    assert show.stopped_words(show.Begun(place), "ways") == (
        "Stopped before the first of the ways was done. Nothing is kept."
    )
    assert show.stopped_words(show.Begun(place, 3, 20), "ways") == (
        "Stopped after 3 of 20 ways. Nothing of it is kept."
    )


def test_places_when_plans_differ_in_the_farm_alone_then_the_evidence_is_shared(
    plan: Plan,
) -> None:
    """The farm moves no odds of water; the dam does."""
    record = read_record(RECORD)
    place = cached.evidence(plan, record)
    assert cached.evidence(plan.model_copy(update={"title": "Other"}), record) is place
    moved = plan.opening.model_copy(update={"storage_ml": 1_000.0})
    assert cached.evidence(plan.model_copy(update={"opening": moved}), record) is not place
    assert cached.methods_today(plan, record) is not place


def test_chances_when_said_far_off_then_the_page_warns_and_says_where_today_lies(
    evidence: Evidence, odds: Outlook
) -> None:
    """By hand: 25 % said, 70 % came, in twenty years; what luck explains is left alone."""
    today = odds.seasons[0].chance_none.value
    edges = (today - 0.05, today + 0.15)
    off = ReliabilityBin(*edges, 20, today + 0.01, 0.7, 0.48, 0.85)
    fair = ReliabilityBin(0.8, 1.0, 20, 0.9, 0.85, 0.64, 0.95)
    over = ReliabilityBin(0.6, 0.8, 20, 0.7, 0.2, 0.08, 0.42)
    judged = evidence.of("blocks")
    first = judged.seasons[0]
    none = replace(first.events["none"], table=(off, over, fair))
    quiet = replace(first.events["none"], table=(fair,))
    seasons = [
        replace(first, events={**first.events, "none": each}) for each in (none, quiet, quiet)
    ]
    low, high = evidence_findings.missed_chances(replace(judged, seasons=tuple(seasons)), odds)
    assert low.startswith("Season 1: where a chance of none of ")
    assert "in 70 % of 20 years (range 48 % to 85 %): said too low." in low
    assert low.endswith(f"Today's chance, {percent(today)}, lies there.")
    assert high.endswith("in 20 % of 20 years (range 8.0 % to 42 %): said too high.")


def test_page_when_chances_were_said_far_off_then_the_warning_stands_above_the_verdict(
    page: AppTest, evidence: Evidence, odds: Outlook, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the evidence holds against the odds is no footnote; without it nothing is warned of."""
    judged = evidence.of("blocks")
    assert judged is not None

    def said_and_came(*rows: ReliabilityBin) -> Evidence:
        seasons = tuple(
            replace(
                season,
                events={**season.events, "none": replace(season.events["none"], table=(row,))},
            )
            for season, row in zip(judged.seasons, rows, strict=True)
        )
        return replace(evidence, methods=(replace(judged, seasons=seasons),))

    right = ReliabilityBin(0, 1, 30, 0.5, 0.5, 0.33, 0.67)
    monkeypatch.setattr("model.evidence.judge.judge", lambda _: said_and_came(right, right, right))
    press(page, "evidence")
    quiet = len(page.warning)
    cached.evidence.clear()
    off = said_and_came(ReliabilityBin(0, 1, 30, 0.2, 0.6, 0.42, 0.75), right, right)
    monkeypatch.setattr("model.evidence.judge.judge", lambda _: off)
    page.run()
    press(page, "evidence")
    assert len(page.warning) == quiet + 1
    assert page.warning[-1].value == trust_findings.bullets(
        evidence_findings.missed_chances(off.of("blocks"), odds)
    )
    assert "said too low" in page.warning[-1].value
