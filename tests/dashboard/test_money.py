"""The page of money: its figures are the brief's and the comparison's, and each state is said."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from dashboard.charts.money import case_chart, measure_chart
from dashboard.findings import money as money_findings
from dashboard.findings import stress as stress_findings
from model.decide.break_even import BreakEven
from model.decide.findings import Findings, findings_of
from model.decide.stress import StressSet
from model.outlook.ahead import BAND_FRACS
from model.outlook.chances import QUANTILES
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan, read_plan
from model.record.record import Record, read_record
from model.say.cautions import FARM_CAUTION, what_varies
from model.say.cells import record_range
from model.say.comparison import survives_in_words
from model.say.lender import RATIOS, case_in_words, cover_in_short, short_words
from model.say.measures import MEASURES, formulas, title_of
from model.water_year import month_name
from tests.brief_words import in_100, printed
from tests.dashboard.window import clean, go, opened, start_on, tables

FEW = {"sequences.count": 300, "sequences.method": "blocks"}
NAMES = ("A season in hand", "Some on trust", "Plant on the odds")
WRONG, LENDER, TURNS = (
    "What may go wrong",
    "What a lender asks for",
    "If it turns against you",
)
OpenMoney = Callable[..., AppTest]


def _write(folder: Path, changes: Mapping[str, Any], record: str | None = None) -> Path:
    """Write the demonstration with other figures, and its record."""
    source = demonstration_plan()
    plan = folder / "plan.toml"
    plan.write_text(edit_plan(source.read_text("utf-8"), {**FEW, **changes}), "utf-8")
    kept = source.with_name("demonstration_record.csv")
    (folder / kept.name).write_text(record or kept.read_text("utf-8"), "utf-8")
    return plan


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Record]:
    """Read the plan and record that the page is opened on."""
    path = _write(tmp_path_factory.mktemp("given"), {})
    return read_plan(path), read_record(path.with_name("demonstration_record.csv"))


@pytest.fixture(scope="module")
def found(given: tuple[Plan, Record]) -> Findings:
    """Run the brief of its second strategy once."""
    return findings_of(*given, strategy=NAMES[1])


@pytest.fixture(name="open_money")
def _open_money(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> OpenMoney:
    """Return a function that opens the page on a plan with other figures."""
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))

    def open_money(changes: Mapping[str, Any] | None = None, record: str | None = None) -> AppTest:
        plan = _write(tmp_path, changes or {}, record)
        start_on(monkeypatch, plan)
        return opened("money")

    return open_money


NO_LOANS = {"farm.money.loans": None, "strategies.4.steps": None}
"""No loan is owed, and no drought step asks the bank about one."""


def _opened(at: AppTest, part: str) -> AppTest:
    """Open a part of the page."""
    at.session_state["money_part"] = part
    return clean(at.run())


def _chart(at: AppTest, number: int) -> list[dict[str, Any]]:
    """Read the traces of a chart as they are drawn."""
    traces = json.loads(at.get("plotly_chart")[number].proto.spec)["data"]
    assert isinstance(traces, list)
    return traces


def _values(drawn: Any) -> list[float]:
    """Read the numbers of a trace."""
    if isinstance(drawn, dict):
        raw = base64.b64decode(drawn["bdata"])
        return [float(value) for value in np.frombuffer(raw, dtype=drawn["dtype"])]
    return [float(value) for value in drawn]


def test_page_when_opened_then_its_bank_is_that_of_the_brief(
    open_money: OpenMoney, found: Findings
) -> None:
    """The bands by month are the brief's quantiles of the same strategy, to the last digit."""
    at = open_money()
    at.selectbox(key="money_strategy").set_value(NAMES[1]).run()
    *bands, limit = (_values(trace["y"]) for trace in _chart(at, 0))
    high, low, upper, lower, middle = bands
    assert limit == [-found.setting.rules.cash.overdraft_limit_aud] * 2
    for frac, values in zip(BAND_FRACS, (low, lower, middle, upper, high), strict=True):
        assert values == found.cash.quantiles_aud[QUANTILES.index(frac)].tolist()
    title = money_findings.bank_finding(found.cash, found.compared.outcomes[1])
    assert title in [c.proto.alt for c in at.get("plotly_chart")]


def test_page_when_opened_then_its_chances_are_the_comparisons(
    open_money: OpenMoney, found: Findings
) -> None:
    """Metrics and chart are the chances of compare, by season and in the run."""
    at = open_money()
    at.selectbox(key="money_strategy").set_value(NAMES[1]).run()
    _opened(at, WRONG)
    outcome = found.compared.outcomes[1]
    drawn = {trace["name"]: _values(trace["x"]) for trace in _chart(at, -1)}
    for name in money_findings.EVENTS_SHOWN:
        expected = [season.chances[name].value for season in outcome.seasons]
        expected.append(outcome.chances[name].value)
        assert drawn[title_of(name)] == pytest.approx([100.0 * value for value in expected])
    said = " ".join(caption.value for caption in at.caption)
    for name in ("past_overdraft_limit", "payment_missed"):
        assert f"{record_range(outcome.chances[name])} times in 100" in said
    assert survives_in_words(outcome) in [block.value for block in at.markdown]
    words = [block.value for block in _opened(at, LENDER).markdown]
    assert set(money_findings.cover_chances(outcome)) <= set(words)


def test_page_when_a_measure_is_chosen_then_it_is_that_of_the_comparison(
    open_money: OpenMoney, found: Findings
) -> None:
    """Each measure's middle and its 8 in 10 are compare's; its formula stands beside."""
    at = open_money()
    at.selectbox(key="money_strategy").set_value(NAMES[1]).run()
    _opened(at, LENDER)
    outcome = found.compared.outcomes[1]
    for name in money_findings.MEASURES_SHOWN:
        measure = MEASURES[name]
        clean(at.selectbox(key="money_measure").set_value(name).run())
        (trace,) = _chart(at, -1)
        spreads = [season.amounts[name].spread for season in outcome.seasons]  # type: ignore[union-attr]
        middle = [measure.factor * spread.quantiles[0.5].value for spread in spreads]
        sure = [measure.factor * spread.quantiles[0.1].value for spread in spreads]
        assert _values(trace["y"]) == pytest.approx(middle)
        below = np.array(_values(trace["y"])) - _values(trace["error_y"]["arrayminus"])
        assert below.tolist() == pytest.approx(sure)
    summary = tables(at)[0]
    for season in outcome.seasons:
        arrears = season.amounts["arrears_aud"]
        assert arrears is not None
        shown = summary.loc["Arrears, $'000, mean", season.water_year]
        assert shown.split(" (")[0] == printed(arrears.mean.value / 1_000)
    assert summary.loc["Arrears, $'000, mean"].iloc[-1] != "0"
    captions = [*at.caption, *_opened(at, TURNS).caption]  # cover over the run stands by the cases
    said = " ".join(caption.value for caption in captions)
    assert all(formula in said for formula in formulas(RATIOS).values())


def test_page_when_opened_then_its_stress_set_is_that_of_the_brief(
    open_money: OpenMoney, found: Findings
) -> None:
    """Cases, what each changes, covers and break-evens are the brief's."""
    at = open_money()
    at.selectbox(key="money_strategy").set_value(NAMES[1]).run()
    _opened(at, TURNS)
    (bars,) = _chart(at, -1)
    covers = [case.result.run_cover for case in found.stress.cases]
    assert _values(bars["x"]) == pytest.approx(covers, rel=1e-12)
    cases, turns = tables(at)
    assert list(cases.index) == [case_in_words(case) for case in found.stress.cases]
    assert list(cases["Cover over the run"]) == [printed(cover, 2) for cover in covers]
    assert turns.to_csv() == (
        stress_findings.break_even_frame(found.stress).set_index("Turned alone").to_csv()
    )
    finding = stress_findings.finding(found.stress)
    assert f"; {short_words(found.stress)}; least in" in finding
    assert f" {len(covers) - 1} stress cases " in finding
    past = [case.result.past_limit_frac for case in found.stress.cases]
    shown = list(cases["Overdraft past its limit, times in 100"])
    assert shown == [in_100(frac) for frac in past]
    assert 0.0 < past[0] < 1.0
    mean = found.outcome.covers["run_term_debt_cover"]
    assert mean is not None
    assert covers[0] == pytest.approx(mean.mean.value)
    assert cover_in_short(found.outcome) in [block.value.strip("*") for block in at.markdown]


def test_page_when_another_strategy_is_chosen_then_every_chart_changes(
    open_money: OpenMoney,
) -> None:
    """The page is of the strategy chosen, and says its cautions."""
    at = open_money()
    for part in (WRONG, LENDER, TURNS):
        at.selectbox(key="money_strategy").set_value(NAMES[0]).run()
        bank, below = (_chart(_opened(at, part), number) for number in (0, -1))
        at.selectbox(key="money_strategy").set_value(NAMES[2]).run()
        assert _chart(clean(at), 0) != bank, part
        assert _chart(at, -1) != below, part
    captions = [caption.value for caption in at.caption]
    assert FARM_CAUTION in captions
    varies = what_varies(read_plan(demonstration_plan()).farm)
    assert any(varies in caption for caption in captions)


def test_cash_months_when_gathered_then_they_agree_with_the_seasons(found: Findings) -> None:
    """The lowest month is that of the seasons' lowest; no month is past more often than the run."""
    cash, results = found.cash, found.results
    lowest = results["lowest_cash_aud"][1].argmin(axis=1)
    months = np.take_along_axis(results["lowest_cash_month"][1], lowest[:, None], 1)[:, 0]
    counts = np.bincount(months.astype(int) - cash.first_month, minlength=cash.lowest_frac.size)
    assert cash.lowest_frac.tolist() == (counts / len(months)).tolist()
    in_any = found.compared.outcomes[1].chances["past_overdraft_limit"].value
    assert 0.0 < cash.past_limit_frac.max() <= in_any < cash.past_limit_frac.sum()
    month, frac = cash.usual_lowest
    assert (month - cash.first_month, frac) == (counts.argmax(), counts.max() / len(months))
    frame = money_findings.bank_frame(cash)
    assert frame["Lowest of the run in it, times in 100"].sum() == pytest.approx(100.0, abs=1)
    assert month_name(month) in money_findings.bank_finding(cash, found.compared.outcomes[1])


def test_page_when_there_is_no_debt_then_no_cover_is_shown_and_said_why(
    open_money: OpenMoney,
) -> None:
    """No loan and never overdrawn: no cover, no chance of one below a level, the bank by case."""
    at = open_money(NO_LOANS | {"farm.money.bank_aud": 9e6})
    assert any("Nothing is due to a lender" in note.value for note in at.info)
    (cases,) = tables(_opened(at, TURNS))
    assert not any("cover" in name.lower() for name in cases.columns)
    captions = " ".join(caption.value for caption in at.caption)
    said = " ".join(block.value for block in (*at.info, *at.markdown, *at.subheader))
    assert "Cover over the run" not in captions
    assert "cover is 1.00" not in said
    (summary,) = tables(_opened(at, LENDER))
    assert not any("cover" in name.lower() for name in summary.index)
    assert "cover" not in "".join(at.selectbox(key="money_measure").options).lower()
    captions = " ".join(caption.value for caption in at.caption)
    assert "Equity** = " in captions
    assert "Loan to value" not in [*summary.index, captions]
    assert not any("debt" in name.lower() for name in summary.index)
    assert "cover**" not in captions.lower()
    said = " ".join(block.value for block in (*at.info, *at.markdown, *at.subheader))
    assert said.lower().count("no debt") == 1
    assert [trace["name"] for trace in _chart(_opened(at, WRONG), -1)] == [
        title_of("past_overdraft_limit"),
        title_of("payment_missed"),
    ]
    assert not any("Debt-service cover below" in block.value for block in at.markdown)
    at.session_state["strategies_part"] = WRONG
    go(at, "ways_compared")
    went_wrong = [trace["y"] for trace in _chart(at, 0)]
    assert "A loan payment missed" in str(went_wrong)
    assert "cover" not in str(went_wrong)


def test_page_when_debt_stands_but_nothing_is_due_then_debt_is_shown_and_no_cover(
    open_money: OpenMoney,
) -> None:
    """A loan without interest that is repaid later is owed all the same."""
    loan = {"name": "land", "balance_aud": 5e5, "rate_frac_per_year": 0.0, "term_years": 10}
    changes = {
        "farm.money.overdraft_rate_frac_per_year": 0.0,
        "farm.money.loans": [loan | {"interest_only_years": 5}],
    }
    at = open_money(changes)
    notes = " ".join(note.value for note in at.info)
    assert "Nothing is due to a lender in these seasons, and cover ratios are left out." in notes
    assert "No debt" not in notes
    summary = tables(_opened(at, LENDER))[0]
    assert "Debt, $'000" in summary.index
    assert not any("cover" in name.lower() for name in summary.index)


def test_page_when_no_loan_but_sometimes_overdrawn_then_blank_runs_are_told(
    open_money: OpenMoney,
) -> None:
    """Covers by season are of the runs in which interest is due; over the run there is no loan."""
    at = open_money(NO_LOANS | {"farm.money.bank_aud": 1_100_000.0})
    assert any("In some sequences nothing is due" in note.value for note in at.info)
    (cases,) = tables(_opened(at, TURNS))
    assert not any("cover" in name.lower() for name in cases.columns)
    assert len(_values(_chart(at, -1)[0]["x"])) == len(cases)
    assert at.get("plotly_chart")[-1].proto.alt.startswith("The bank is lowest in")


def test_page_when_no_cotton_can_be_planted_then_it_is_said(open_money: OpenMoney) -> None:
    """No land is ready and one season is left: the money is that of the other land."""
    at = open_money({"farm.opening.prepared_ha": 0.0, "sequences.seasons": 1})
    assert any("No cotton is planted" in note.value for note in at.info)


def test_page_when_opened_in_june_then_the_run_goes_on_to_the_next_harvest(
    open_money: OpenMoney,
) -> None:
    """Opening in June with one season, a run holds the whole decision after it: thirteen months."""
    at = open_money({"opening.month": "2026-06", "sequences.seasons": 1})
    assert len(_chart(at, 0)[0]["x"]) == 13


def test_page_when_nothing_is_announced_or_one_run_is_drawn_then_it_is_said(
    open_money: OpenMoney,
) -> None:
    """A record of zeros, and a single run: the page opens and says what it can not say."""
    good = demonstration_plan().with_name("demonstration_record.csv").read_text("utf-8")
    header, *rows = good.splitlines()
    dry = [",".join([row.split(",")[0], "0", "0", *row.split(",")[3:]]) for row in rows]
    at = open_money({"sequences.count": 1}, "\n".join([header, *dry]) + "\n")
    said = " ".join(note.value for note in at.info)
    assert "Nothing is announced" in said
    assert "One possible run only" in said


def test_measure_chart_when_of_cover_then_the_levels_are_drawn() -> None:
    """By hand: the middle, 8 in 10, and a line at each level a lender looks at."""
    figure = measure_chart(
        {"2025-26": (-0.5, 1.1, 2.0)}, title="A finding", unit="times", lines=(1.0, 1.25)
    )
    (trace,) = figure.data
    assert list(trace.y) == [1.1]
    assert list(trace.error_y.arrayminus) == pytest.approx([1.6])
    assert [line.y0 for line in figure.layout.shapes] == [1.0, 1.25]
    names = [(note.text, note.x, note.xanchor, note.yanchor) for note in figure.layout.annotations]
    assert names == [("1.00", 1, "left", "top"), ("1.25", 1, "left", "bottom")]
    assert figure.layout.margin.r >= 30  # beyond the axes, where no bar lies under them
    assert figure.layout.yaxis.title.text == "times"
    assert figure.layout.yaxis.rangemode == "normal"


def test_case_chart_when_a_case_is_below_the_limit_then_it_is_hatched_too() -> None:
    """Never by colour alone: a case below the line differs in pattern, and its number stands by."""
    figure = case_chart(
        {"As planned": 1.3, "Yield down a quarter": -0.2},
        title="A finding",
        unit="times",
        limit=("1.00", 1.0),
        digits=2,
    )
    (bars,) = figure.data
    assert list(bars.x) == [1.3, -0.2]
    assert list(bars.y) == ["As planned: 1.30", "Yield down a quarter:<br>−0.20"]
    assert bars.text is None  # beside a bar the limit would run through it
    assert list(bars.marker.pattern.shape) == ["", "/"]
    assert bars.marker.color[0] != bars.marker.color[1]
    low, high = figure.layout.xaxis.range
    assert low < -0.2
    assert high > 1.3
    assert figure.layout.shapes[0].x0 == 1.0


def test_break_even_frame_when_none_is_found_then_it_says_why() -> None:
    """By hand: each way a break-even may come out has its words."""
    rows = (
        BreakEven("Lint price", "AUD per bale", 550.0, 516.0, -0.06, 1.0, "solved"),
        BreakEven("Rates of interest", "points", 0.0, 3.4, 0.034, 1.0, "in_a_step"),
        BreakEven("Full yield", "bales per ha", 11.0, None, None, None, "never_falls_to_1"),
        BreakEven("Water announced", "ML per share", 0.4, None, None, None, "never_reaches_1"),
    )
    frame = stress_findings.break_even_frame(StressSet((), rows, 100))
    assert frame["Now"].tolist() == ["550", "as the plan", "11.00", "0.400"]
    assert frame["That is"].tolist() == ["6 % less", "3.4 points more", "–", "–"]
    at = frame["Cover is 1.00 at"].tolist()
    assert at[:2] == ["516", "+3.40, in a step"]
    assert at[2] == "above 1.00 however far"
    assert at[3].startswith("below 1.00 as planned")
