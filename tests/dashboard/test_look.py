"""Can every chart be read on a light and on a dark page, and is each plain enough to draw once?

Contrast is that of WCAG 2.2 (`contrast.py`): 4.5 to 1 for text (success criterion 1.4.3) against
the page colours that the theme file names. What makes a browser draw a chart again was found by
watching one; what it does is tested in `browser/test_look.py`.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest

import dashboard
from dashboard.charts.dry_years import set_aside_by_month_chart, walk_chart
from dashboard.charts.how_it_has_done import (
    coverage_chart,
    evenness_chart,
    methods_chart,
    reliability_chart,
)
from dashboard.charts.look import DARK, LIGHT, LINES, PageColours, dress
from dashboard.charts.money import bank_chart, case_chart, measure_chart
from dashboard.charts.our_valley import announced_chart
from dashboard.charts.this_season import worth_chart
from dashboard.charts.water import band_chart, chance_chart, season_chart, set_aside_chart
from dashboard.charts.ways_compared import (
    chances_by_strategy_chart,
    difference_chart,
    standing_chart,
)
from model.evidence.calibration import Coverage
from model.outlook.chances import Estimate
from tests.contrast import channels, contrast, laid_over

CHARTS = Path(dashboard.__file__).parent / "charts"
THEME = Path(dashboard.__file__).parent / ".streamlit" / "config.toml"
PAGES = pytest.mark.parametrize(
    ("name", "colours"), [("light", LIGHT), ("dark", DARK)], ids=["light", "dark"]
)
MONTHS = ["2025-05", "2025-06", "2025-07"]
AMOUNTS = np.array([1.0, 2.0, 3.0])
BANDS = np.array([[1.0, 2, 3], [2, 3, 4], [3, 4, 5], [4, 5, 6], [5, 6, 7]])
CHANCE = {"Nothing announced": Estimate(0.2, 0.19, 0.21, 0.1, 0.4)}
BY_YEAR = {"2025-26": (0.1, 0.2, 0.5)}
SAID = {"title": "A finding"}
PARTS = dict.fromkeys(("a", "b", "c", "d", "e"), AMOUNTS)
COVERAGE = Coverage(0.8, 30, 30.0, 0.7, 0.6, 0.9, 0.65, 0.95)

DRAWN: dict[str, Callable[[], go.Figure]] = {
    "announced": lambda: announced_chart(["2025-26"], [0.4], [None], **SAID),
    "band": lambda: band_chart(MONTHS, BANDS, unit="ML", season_starts=[], **SAID),
    "bank": lambda: bank_chart(MONTHS, BANDS, limit_aud=2.0, **SAID),
    "case": lambda: case_chart(
        {"middle": 1.0, "dry": -1.0}, unit="AUD", limit=("limit", 0.0), digits=0, **SAID
    ),
    "chance": lambda: chance_chart(CHANCE, **SAID),
    "chances by strategy": lambda: chances_by_strategy_chart({"usual": CHANCE}, **SAID),
    "coverage": lambda: coverage_chart([[COVERAGE]], **SAID),
    "difference": lambda: difference_chart(AMOUNTS, **SAID),
    "evenness": lambda: evenness_chart([[3, 4, 5]], **SAID),
    "measure": lambda: measure_chart(BY_YEAR, unit="ratio", lines=[1.0], **SAID),
    "methods": lambda: methods_chart({"blocks": [0.1]}, ["2025-26"], **SAID),
    "reliability": lambda: reliability_chart([0.2], [(0.3, 0.1, 0.5)], **SAID),
    "season": lambda: season_chart({"At planting": BY_YEAR}, unit="ML a share", **SAID),
    "set aside": lambda: set_aside_chart(
        {"dam": 2.0, "inflow": 1.0}, dict.fromkeys(PARTS, 1.0), **SAID
    ),
    "set aside by month": lambda: set_aside_by_month_chart(MONTHS, AMOUNTS, PARTS, **SAID),
    "standing": lambda: standing_chart(
        {"usual": (CHANCE["Nothing announced"], CHANCE["Nothing announced"])}, **SAID
    ),
    "walk": lambda: walk_chart(MONTHS, AMOUNTS, AMOUNTS, **SAID),
    "worth": lambda: worth_chart({"planting": (AMOUNTS, AMOUNTS, AMOUNTS)}, **SAID),
}
"""One chart of each kind that a function of `dashboard.charts` draws."""


def _written(figure: go.Figure) -> dict[str, Any]:
    """Read a figure as it is sent to the browser."""
    written: dict[str, Any] = json.loads(figure.to_json())
    return written


def test_charts_when_all_are_listed_then_each_that_is_offered_is_drawn_here() -> None:
    """A new kind of chart is looked at here too."""
    offered = {
        name
        for path in CHARTS.glob("[!_]*.py")
        for name, each in vars(import_module(f"dashboard.charts.{path.stem}")).items()
        if name.endswith("_chart") and each.__module__ == f"dashboard.charts.{path.stem}"
    }
    drawn = {f"{kind.replace(' ', '_')}_chart" for kind in DRAWN}
    assert drawn == offered - {"frontier_chart", "waiting_chart"}


@PAGES
def test_page_colours_when_text_is_on_its_page_then_contrast_is_4_and_a_half_to_1(
    name: str, colours: PageColours
) -> None:
    """Titles, legends, axes and names beside lines can be read; the page is the theme's own."""
    page = tomllib.loads(THEME.read_text("utf-8"))["theme"][name]["backgroundColor"]
    assert colours.page == page
    assert contrast(colours.text, page) >= 4.5
    assert contrast(colours.quiet, page) >= 4.5


@PAGES
def test_lines_when_on_a_page_then_seen_but_fainter_than_marks(
    name: str, colours: PageColours
) -> None:
    """The grid stands out by 1.2 to 1 at least, and stays well under the 3 to 1 of a mark."""
    assert 1.2 <= contrast(laid_over(LINES, colours.page), channels(colours.page)) <= 2.0, name


@PAGES
@pytest.mark.parametrize("kind", DRAWN)
def test_chart_when_dressed_then_its_words_have_the_colours_of_its_page(
    kind: str, name: str, colours: PageColours
) -> None:
    """All words of a chart take their colour from the page's palette; the page shows through."""
    figure = DRAWN[kind]()
    dress(figure, dark=name == "dark")
    layout = _written(figure)["layout"]
    assert layout["font"]["color"] == colours.quiet
    assert layout["title"]["font"]["color"] == layout["legend"]["font"]["color"] == colours.text
    assert layout["hoverlabel"]["bgcolor"] == colours.page
    assert layout["paper_bgcolor"] == layout["plot_bgcolor"] == "rgba(0, 0, 0, 0)"
    for part in (*(layout[axis] for axis in layout if axis[1:5] == "axis"), layout["hoverlabel"]):
        assert "color" not in part.get("tickfont", {}) | part.get("font", {})
        assert "color" not in part.get("title", {}).get("font", {})
    for note in layout.get("annotations", []):
        assert "color" not in note["font"]


@pytest.mark.parametrize("kind", DRAWN)
def test_chart_when_drawn_then_nothing_in_it_makes_a_browser_draw_it_again(kind: str) -> None:
    """No template, no packed array, no axis reversed by itself; data keep their revision."""
    written = _written(DRAWN[kind]())
    assert "template" not in written["layout"]
    assert written["layout"]["datarevision"] == 1
    assert '"bdata"' not in json.dumps(written["data"])
    assert "reversed" not in json.dumps(written["layout"])


def test_chart_when_another_was_dressed_before_then_it_is_as_if_it_were_the_first() -> None:
    """The colours of one chart's page do not reach the next chart."""
    first = DRAWN["band"]()
    before = first.to_json()
    dress(first, dark=True)
    assert DRAWN["band"]().to_json() == before != first.to_json()
