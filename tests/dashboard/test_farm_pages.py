"""The pages of the farm: every control changes a figure; findings and charts are what they say."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from dashboard import cached
from dashboard.charts.how_it_has_done import reliability_chart
from dashboard.charts.this_season import worth_chart
from dashboard.charts.ways_compared import (
    chances_by_strategy_chart,
    difference_chart,
    frontier_chart,
    standing_chart,
)
from dashboard.findings import evidence as evidence_findings
from dashboard.findings import this_season as plant_or_hold_findings
from dashboard.findings import ways_compared as strategies_findings
from dashboard.findings.ways_compared import frontier_frame, neighbours_frame
from model.decide.frontier import Frontier, Pair, Point
from model.decide.last_megalitre import Crossing, Curve, LastMegalitre
from model.evidence.reliability import ReliabilityBin
from model.keeping import diary
from model.keeping.folder import data_folder, database_path
from model.outlook.chances import Estimate
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan, edit_plan
from model.water_year import parse_month
from tests.dashboard.window import example_answer, go, opened, plain, start_on, tables

QUICK = {"sequences.count": 200, "sequences.method": "blocks"}
FRONTIER = "Hold back or plant less"
SURE = Estimate(0.2, 0.18, 0.22, 0.1, 0.35)
UNSURE = Estimate(0.5, 0.48, 0.52, 0.3, 0.7)


@pytest.fixture(name="pages")
def _pages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[AppTest]:
    """Open the dashboard on the demonstration with few sequences."""
    source = demonstration_plan()
    plan = tmp_path / "plan.toml"
    plan.write_text(edit_plan(source.read_text("utf-8"), QUICK), "utf-8")
    record = source.with_name("demonstration_record.csv")
    (tmp_path / record.name).write_bytes(record.read_bytes())
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))
    start_on(monkeypatch, plan)
    yield opened()
    cached.frontier.clear()


def strategies(pages: AppTest, part: str) -> AppTest:
    """Open a part of the page of strategies."""
    pages.session_state["strategies_part"] = part
    go(pages, "ways_compared")
    assert not pages.exception, [error.value for error in pages.exception]
    return pages


def shown(page: AppTest) -> list[str]:
    """Gather what a page says in figures: metrics, finding and tables."""
    assert not page.exception, [error.value for error in page.exception]
    assert not page.error
    shown_in = [table.to_csv() for table in tables(page)]
    return [*(m.value for m in page.metric), *(s.value for s in page.subheader), *shown_in]


@pytest.mark.parametrize(
    ("kind", "key", "value"),
    [
        ("slider", "plant_area", 200.0),
        ("slider", "plant_hold_back", 0.5),
        ("selectbox", "plant_strategy", "Plant on the odds"),
    ],
)
def test_plant_or_hold_when_a_control_is_moved_then_the_figures_change(
    pages: AppTest, kind: str, key: str, value: object
) -> None:
    """What is chosen is what is run."""
    go(pages, "this_season")
    before = shown(pages)
    getattr(pages, kind)(key=key).set_value(value).run()
    assert shown(pages) != before


def test_strategies_when_fewer_are_chosen_then_only_they_are_shown(pages: AppTest) -> None:
    """One strategy alone has nothing to be compared with run by run; none is asked for one."""
    go(pages, "ways_compared")
    assert len(tables(pages)[0]) == 4
    assert any("what follows is not counted" in caption.value for caption in pages.caption)
    assert "Run by run" in pages.segmented_control(key="strategies_part").options
    pages.segmented_control(key="strategies_chosen").set_value(["Some on trust"]).run()
    assert list(tables(pages)[0].index) == ["Some on trust"]
    assert "Run by run" not in pages.segmented_control(key="strategies_part").options
    pages.segmented_control(key="strategies_chosen").set_value([]).run()
    assert not pages.exception
    assert "Choose at least one strategy." in [info.value for info in pages.info]


def test_standing_chart_when_drawn_then_shapes_tell_the_strategies_apart() -> None:
    """A point a strategy, with both ranges; units on both axes."""
    figure = standing_chart({"one": (UNSURE, SURE), "other": (SURE, UNSURE)}, title="A finding")
    one, other = figure.data
    assert (one.x[0], one.y[0]) == (0.2, 0.5)
    assert one.error_y.array[0] == pytest.approx(0.2)
    assert one.marker.symbol != other.marker.symbol
    assert "$" in figure.layout.xaxis.title.text
    assert "$" in figure.layout.yaxis.title.text
    assert figure.layout.title.text == "A finding"


def test_chances_chart_when_drawn_then_values_are_percent_and_ranges_the_records() -> None:
    """Chances of 0 to 1 are shown as percent."""
    figure = chances_by_strategy_chart({"one": {"missed": SURE}}, title="A finding")
    (trace,) = figure.data
    assert trace.x[0] == pytest.approx(20.0)
    assert trace.error_x.array[0] == pytest.approx(15.0)
    assert trace.error_x.arrayminus[0] == pytest.approx(10.0)
    assert "times in 100" in figure.layout.xaxis.title.text


def test_difference_chart_when_drawn_then_it_rises_over_all_runs() -> None:
    """In rising order, from the worst run to the best."""
    ahead = np.sort(np.array([-5.0, 1.0, 2.0, 10.0]))
    (trace,) = difference_chart(ahead, title="A finding").data
    assert list(trace.y) == ahead.tolist()
    assert list(trace.x) == [12.5, 37.5, 62.5, 87.5]


def test_difference_finding_when_said_then_it_counts_runs_and_gives_the_mean() -> None:
    """Three of four runs ahead, by 2 on average."""
    said = strategies_findings.difference_finding(np.array([-5.0, 1.0, 2.0, 10.0]), "A", "B")
    assert said.startswith("A ends ahead of B: 75 times in 100; by $2 on average")


def test_worth_chart_when_drawn_then_dash_and_shape_tell_the_uses_apart() -> None:
    """One curve a use, with standard errors."""
    curve = (np.array([5.0, 15.0]), np.array([300.0, 200.0]), np.array([3.0, 2.0]))
    figure = worth_chart({"planted": curve, "held": curve}, title="A finding")
    one, other = figure.data
    assert list(one.y) == [300.0, 200.0]
    assert list(one.error_y.array) == [3.0, 2.0]
    assert one.line.dash != other.line.dash
    assert one.marker.symbol != other.marker.symbol
    assert "$" in figure.layout.yaxis.title.text


def test_reliability_chart_when_drawn_then_said_stands_against_happened() -> None:
    """Percent on both axes, and the line on which they agree."""
    figure = reliability_chart([0.25], [(0.5, 0.3, 0.7)], title="A finding")
    line, points = figure.data
    assert list(line.x) == list(line.y) == [0, 100]
    assert (points.x[0], points.y[0]) == (25.0, 50.0)
    assert points.error_y.array[0] == pytest.approx(20.0)


def test_frontier_when_tried_then_a_chart_more_stands_and_stays(pages: AppTest) -> None:
    """Nothing is tried before it is asked for; what was tried is there on coming back."""
    strategies(pages, FRONTIER)
    assert not pages.get("plotly_chart")
    pages.button(key="frontier_button").click().run()
    assert not pages.exception, [error.value for error in pages.exception]
    assert len(pages.get("plotly_chart")) == 1
    told = next(t for t in tables(pages) if "Ahead on average" in t.columns)
    cells = [*told["Ahead on average"], *told["Ahead in the worst 10 in 100"]]
    assert all("give or take" in cell or cell == "cannot be told apart" for cell in cells)
    alts = [chart.proto.alt for chart in pages.get("plotly_chart")]
    (alt,) = [alt for alt in alts if alt.startswith("Best on average: ")]
    assert "give or take" in alt or "cannot be told apart" in alt
    go(pages, "how_it_has_done")
    strategies(pages, FRONTIER)
    assert len(pages.get("plotly_chart")) == 1


def test_frontier_chart_when_drawn_then_each_way_is_where_the_model_puts_it() -> None:
    """One point kept and one dominated, by hand."""
    points = tuple(
        Point(0.1 * at, 0.3, 100.0, 0.5, 50.0 - at, 1.0, -10.0 - at, 2.0, SURE, dominated=at == 1)
        for at in range(2)
    )
    pair = Pair(points[0], points[0], 0.0, 0.0, 0.0, 0.0)
    found = Frontier("middle", 10, points, (), pair)
    grey, kept = frontier_chart(found, title="A finding").data
    assert (list(kept.x), list(kept.y)) == ([-10.0], [50.0])
    assert (list(grey.x), list(grey.y)) == ([-11.0], [49.0])
    assert grey.marker.symbol != kept.marker.symbol
    assert grey.marker.color != kept.marker.color
    assert neighbours_frame(replace(found, neighbours=(pair,))).iloc[0].tolist() == [
        *["nothing held back, 100 ha at most"] * 2,
        *["cannot be told apart"] * 2,
    ]
    assert list(frontier_frame(found)["Dominated"]) == ["no", "yes"]


def test_plant_or_hold_when_more_is_planted_then_the_chance_to_be_short_does_not_fall(
    pages: AppTest,
) -> None:
    """The finding gives what is planted; only prepared land can be, and more is no safer."""
    go(pages, "this_season")
    said = []
    assert pages.slider(key="plant_area").max == 240.0
    for area_ha in (0.0, 60.0, 120.0, 240.0):
        pages.slider(key="plant_area").set_value(area_ha).run()
        said.append(example_answer(pages))
    assert said[0] == "Nothing planted: the water is held."
    assert said[2].startswith("120 ha: finished ")
    assert said[3].startswith("240 ha: finished ")
    none, few = r"in none of the [\d,]+ drawn", r"(?:less than once|(?:once|(\d+) times)) in 100"
    found = [re.search(f": finished (?:{none}|{few})", words) for words in said[1:]]
    assert all(found), said
    times = [int(each[1] or 0) if each else -1 for each in found]
    assert times == sorted(times, reverse=True)
    assert times[0] > times[-1]


def test_plant_or_hold_when_opened_in_june_then_the_next_planting_is_ahead(
    tmp_path: Path,
    pages: AppTest,  # whose plan is changed
) -> None:
    """A run holds whole decisions: with only June left of its one season, October's is in it."""
    changes = {"opening.month": "2026-06", "sequences.seasons": 1}
    plan = tmp_path / "plan.toml"
    plan.write_text(edit_plan(plan.read_text("utf-8"), changes), "utf-8")
    late = opened("this_season")
    shown(late)
    assert "2026-27" in example_answer(late)
    assert not late.slider(key="plant_area").disabled
    go(late, "this_season/The bank")
    assert [metric.label for metric in late.metric] == [
        "Overdraft past its limit in some month",
        "A loan payment missed, of 3 due in the run",  # June, December, June
    ]


def test_plant_or_hold_when_moved_then_next_seasons_water_and_the_driest_seasons_follow(
    pages: AppTest,
) -> None:
    """What is carried and usable next, and what the driest seasons would do, are of this choice."""
    go(pages, "this_season")
    said = []
    for area_ha in (60.0, 200.0):
        pages.session_state["plant_part"] = "The driest on record"
        pages.slider(key="plant_area").set_value(area_ha).run()
        texts = [text.value for text in pages.markdown]
        driest = next(text for text in texts if text.startswith("The driest 3 seasons on record"))
        driest_table = tables(pages)[0].to_csv()
        go(pages, "this_season/The bank")
        texts = [text.value for text in pages.markdown]
        next_water = next(text for text in texts if text.startswith("Next season's water: "))
        said.append((next_water, driest, driest_table))
    for before, after in zip(*said, strict=True):
        assert before != after


def test_plant_or_hold_when_the_choice_is_noted_then_the_diary_has_it_with_its_odds(
    pages: AppTest,
) -> None:
    """One press writes the choice down, with the finding of the page and a copy of the plan."""
    go(pages, "this_season")
    pages.slider(key="plant_area").set_value(100.0).run()
    pages.slider(key="plant_hold_back").set_value(0.25).run()
    finding = example_answer(pages)
    pages.button(key="note_choice").click().run()
    assert pages.success[0].value.startswith("Saved to the diary")
    (entry,) = diary.read_diary(database_path(data_folder())).entries
    assert "Plant 100 ha of cotton next" in entry.decision.decision
    assert "hold back 0.25 ML a share" in entry.decision.decision
    assert plain(finding) in entry.decision.odds
    assert check_plan(tomllib.loads(entry.decision.plan_text), "kept").farm is not None


def _plain(spec: str) -> str:
    """Undo the wrapping of titles in a chart as it is sent."""
    return re.sub(r"<br>|\\u003cbr\\u003e", " ", spec)


def drawn(page: AppTest, number: int) -> str:
    """Return a chart of a page as it is drawn."""
    assert not page.exception, [error.value for error in page.exception]
    return str(page.get("plotly_chart")[number].proto.spec)


def test_strategies_when_another_amount_is_asked_for_then_its_chart_alone_changes(
    pages: AppTest,
) -> None:
    """The amount season by season has its unit; it is asked for still when the part was left."""
    before = drawn(strategies(pages, "Season by season"), 0)
    pages.selectbox(key="season_amount").set_value("water_carried_ml").run()
    after = drawn(pages, 0)
    assert after != before
    assert "Water carried on in 2025-26, or more, 50 times in 100: " in _plain(after)
    strategies(pages, "How they end")
    assert drawn(strategies(pages, "Season by season"), 0) == after


def test_strategies_when_another_pair_is_chosen_then_the_run_by_run_chart_turns_round(
    pages: AppTest,
) -> None:
    """Never a strategy against itself; the pair turned round is as far behind as it was ahead."""
    strategies(pages, "Run by run")
    names = list(pages.selectbox(key="ahead_first").options)
    seen = {}
    for first, second in ((names[0], names[1]), (names[1], names[0])):
        pages.selectbox(key="ahead_first").set_value(first).run()
        assert first not in pages.selectbox(key="ahead_second").options
        pages.selectbox(key="ahead_second").set_value(second).run()
        text = _plain(drawn(pages, 0))
        assert f"{first} ends ahead of {second}" in text
        seen[first] = re.search(r"by (\\u2212|−)?\$([\d,.]+)( million)? on average", text)
    (one, other) = (found.groups() for found in seen.values() if found)
    assert one[1:] == other[1:]  # the same sum, once ahead and once behind
    assert bool(one[0]) != bool(other[0])


def test_strategies_when_one_of_the_pair_is_left_out_then_the_page_still_opens(
    pages: AppTest,
) -> None:
    """A strategy no longer looked at leaves the pair too."""
    strategies(pages, "Run by run")
    first, second, third, _ = pages.selectbox(key="ahead_first").options
    pages.selectbox(key="ahead_first").set_value(third).run()
    pages.button_group(key="strategies_chosen").set_value([first, second]).run()
    assert not pages.exception
    assert list(pages.selectbox(key="ahead_first").options) == [first, second]
    assert third not in _plain(drawn(pages, 0))


def test_drought_steps_when_a_strategy_has_some_then_what_they_change_is_shown(
    pages: AppTest,
) -> None:
    """Every step with when and who must agree; how often taken; debt and put off beside missed."""
    strategies(pages, "Drought steps")
    shown = " ".join(block.value for block in pages.markdown)
    assert shown.count("needs the bank's consent") == 1
    assert "of principal put off, on average" in shown
    taken, ladder = tables(pages)
    assert list(taken.index) == list(_STEPS)
    assert ladder.index[0] == "Without steps"
    assert float(ladder["Put off"].iloc[0]) == 0.0
    assert len(ladder) == len(_STEPS) + 1
    pages.segmented_control(key="strategies_chosen").set_value(["Some on trust"]).run()
    assert "Drought steps" not in pages.segmented_control(key="strategies_part").options


_STEPS = (
    "Interest only for two years",
    "Put off work that can wait",
    "Hire a neighbour's bore",
    "Sell 500 shares and repay the loan",
)


def test_cash_finding_when_said_then_it_is_of_the_lowest_month_alone() -> None:
    """By hand: the lower band is lowest in the second month of three, August.

    A band is of one month: what is said is a chance of that month, not of any month of the run.
    """
    july = parse_month("2025-07")
    bands = np.array([[5e4, -2e5, 1e4]] + [[9e4, 8e4, 9e4]] * 4)
    said = plant_or_hold_findings.cash_finding(bands, july, 500_000.0)
    assert said == (
        "In August 2025 alone, the lowest month, the bank ends above −$200,000 90 times in 100: "
        "$300,000 of the overdraft left"
    )
    said = plant_or_hold_findings.cash_finding(bands, july, 150_000.0)
    assert said == (
        "In August 2025 alone, the lowest month, the bank ends $50,000 or more over the limit 10 "
        "times in 100"
    )


def test_worth_finding_when_the_best_use_changes_then_it_says_where() -> None:
    """By hand: planting is best at first, holding after 40 ML; the table holds every point."""
    volume = np.array([10.0, 30.0])
    found = LastMegalitre(
        strategy="A",
        area_ha=100.0,
        sequences=100,
        curves={
            "planted": Curve(volume, np.array([420.0, 150.0]), np.array([5.0, 4.0])),
            "held": Curve(volume, np.array([210.0, 200.0]), np.array([2.0, 2.0])),
        },
        crossings=(Crossing(40.0, "planted", "held"),),
        lead=("planted", "held"),
    )
    assert plant_or_hold_findings.worth_finding(found) == (
        "One more megalitre is worth most in planting more: $420 a ML, give or take $10 for the "
        "draws; beyond 40 ML, held in the account"
    )
    frame = plant_or_hold_findings.worth_frame(found)
    assert frame["$ for one more ML"].tolist() == [420.0, 150.0, 210.0, 200.0]
    assert frame["Standard error"].tolist() == [5.0, 4.0, 2.0, 2.0]


def test_reliability_frame_when_laid_out_then_it_says_what_the_bins_hold() -> None:
    """By hand: twenty years in which 2 in 10 was said, and it happened in five."""
    row = ReliabilityBin(0.2, 0.4, 20, 0.21, 0.25, 0.112, 0.469)
    (laid_out,) = evidence_findings.reliability_frame([row]).to_dict("records")
    assert laid_out == {
        "Chance said, from": "20 %",
        "to": "40 %",
        "Years": 20,
        "Mean chance said": "21 %",
        "Happened": "25 %",
        "Range, 95 %": "11 % to 47 %",
    }
