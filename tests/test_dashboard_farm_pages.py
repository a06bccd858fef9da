"""The pages of the farm: every control changes a figure; findings and charts are what they say."""

import sys
from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

import dashboard
from dashboard import charts, farm_findings
from dashboard.frontier_chart import frontier_chart, frontier_finding, frontier_frame
from model.chances import Estimate
from model.decide.frontier import Frontier, Point
from model.demonstration import demonstration_plan
from model.plan_file import edit_plan

APP = Path(dashboard.__file__).parent / "app.py"
SURE = Estimate(0.2, 0.18, 0.22, 0.1, 0.35)
UNSURE = Estimate(0.5, 0.48, 0.52, 0.3, 0.7)


@pytest.fixture(name="pages")
def _pages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """Open the dashboard on the demonstration with few sequences."""
    source = demonstration_plan()
    plan = tmp_path / "plan.toml"
    plan.write_text(edit_plan(source.read_text("utf-8"), {"sequences.count": 400}), "utf-8")
    record = source.with_name("demonstration_record.csv")
    (tmp_path / record.name).write_bytes(record.read_bytes())
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))
    monkeypatch.setattr(sys, "argv", [str(APP), "--plan", str(plan)])
    return AppTest.from_file(str(APP), default_timeout=120).run()


def shown(page: AppTest) -> list[str]:
    """Gather what a page says in figures: metrics, finding and tables."""
    assert not page.exception, [error.value for error in page.exception]
    assert not page.error
    tables = [table.value.to_csv() for table in page.table]
    return [*(m.value for m in page.metric), *(s.value for s in page.subheader), *tables]


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
    pages.switch_page("views/plant_or_hold.py").run()
    before = shown(pages)
    getattr(pages, kind)(key=key).set_value(value).run()
    assert shown(pages) != before


def test_strategies_when_fewer_are_chosen_then_only_they_are_shown(pages: AppTest) -> None:
    """One strategy alone has nothing to be compared with run by run; none is asked for one."""
    pages.switch_page("views/strategies.py").run()
    assert len(pages.table[0].value) == 3
    assert len(pages.get("plotly_chart")) == 4
    pages.segmented_control(key="strategies_chosen").set_value(["Some on trust"]).run()
    assert list(pages.table[0].value.index) == ["Some on trust"]
    assert len(pages.get("plotly_chart")) == 3
    pages.segmented_control(key="strategies_chosen").set_value([]).run()
    assert not pages.exception
    assert "Choose at least one strategy." in [info.value for info in pages.info]


def test_standing_chart_when_drawn_then_shapes_tell_the_strategies_apart() -> None:
    """A point a strategy, with both ranges; units on both axes."""
    figure = charts.standing_chart(
        {"one": (UNSURE, SURE), "other": (SURE, UNSURE)}, title="A finding"
    )
    one, other = figure.data
    assert (one.x[0], one.y[0]) == (0.2, 0.5)
    assert one.error_y.array[0] == pytest.approx(0.2)
    assert one.marker.symbol != other.marker.symbol
    assert "AUD" in figure.layout.xaxis.title.text
    assert "AUD" in figure.layout.yaxis.title.text
    assert figure.layout.title.text == "A finding"


def test_chances_chart_when_drawn_then_values_are_percent_and_ranges_the_records() -> None:
    """Chances of 0 to 1 are shown as percent."""
    figure = charts.chances_by_strategy_chart({"one": {"missed": SURE}}, title="A finding")
    (trace,) = figure.data
    assert trace.x[0] == pytest.approx(20.0)
    assert trace.error_x.array[0] == pytest.approx(15.0)
    assert trace.error_x.arrayminus[0] == pytest.approx(10.0)
    assert "%" in figure.layout.xaxis.title.text


def test_difference_chart_when_drawn_then_it_rises_over_all_runs() -> None:
    """In rising order, from the worst run to the best."""
    ahead = np.sort(np.array([-5.0, 1.0, 2.0, 10.0]))
    (trace,) = charts.difference_chart(ahead, title="A finding").data
    assert list(trace.y) == ahead.tolist()
    assert list(trace.x) == [12.5, 37.5, 62.5, 87.5]


def test_difference_finding_when_said_then_it_counts_runs_and_gives_the_mean() -> None:
    """Three of four runs ahead, by 2 on average."""
    said = farm_findings.difference_finding(np.array([-5.0, 1.0, 2.0, 10.0]), "A", "B")
    assert said.startswith("A ends ahead of B: about 8 in 10; by 2 AUD on average")


def test_worth_chart_when_drawn_then_dash_and_shape_tell_the_uses_apart() -> None:
    """One curve a use, with standard errors."""
    curve = (np.array([5.0, 15.0]), np.array([300.0, 200.0]), np.array([3.0, 2.0]))
    figure = charts.worth_chart({"planted": curve, "held": curve}, title="A finding")
    one, other = figure.data
    assert list(one.y) == [300.0, 200.0]
    assert list(one.error_y.array) == [3.0, 2.0]
    assert one.line.dash != other.line.dash
    assert one.marker.symbol != other.marker.symbol
    assert "AUD" in figure.layout.yaxis.title.text


def test_reliability_chart_when_drawn_then_said_stands_against_happened() -> None:
    """Percent on both axes, and the line on which they agree."""
    figure = charts.reliability_chart([0.25], [(0.5, 0.3, 0.7)], title="A finding")
    line, points = figure.data
    assert list(line.x) == list(line.y) == [0, 100]
    assert (points.x[0], points.y[0]) == (25.0, 50.0)
    assert points.error_y.array[0] == pytest.approx(20.0)


def test_frontier_when_tried_then_dominated_ways_are_grey_crosses(pages: AppTest) -> None:
    """What is dominated is the model's test, and is told apart by shape and shade."""
    pages.switch_page("views/strategies.py").run()
    pages.toggle(key="try_frontier").set_value(True).run()
    assert not pages.exception, [error.value for error in pages.exception]
    assert len(pages.get("plotly_chart")) == 5


def test_frontier_chart_when_drawn_then_each_way_is_where_the_model_puts_it() -> None:
    """One point kept and one dominated, by hand."""
    points = tuple(
        Point(0.1 * at, 100.0, 0.5, 50.0 - at, 1.0, -10.0 - at, 2.0, SURE, dominated=at == 1)
        for at in range(2)
    )
    found = Frontier("middle", 10, points)
    grey, kept = frontier_chart(found, title="A finding").data
    assert (list(kept.x), list(kept.y)) == ([-10.0], [50.0])
    assert (list(grey.x), list(grey.y)) == ([-11.0], [49.0])
    assert grey.marker.symbol != kept.marker.symbol
    assert grey.marker.color != kept.marker.color
    assert "0.00 ML/share held back" in frontier_finding(found)
    assert list(frontier_frame(found)["Dominated"]) == ["no", "yes"]
