"""Has one event one figure, wherever it stands: on pages, in the files and on paper?

Our choice is made on the first page. The same sequences lie behind every surface, so each figure is
held against the others as it is written there, to the last digit; none of them is worked out here.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from model.brief.brief_file import document_of
from model.decide.choice import OUR_CHOICE, Choice, with_choice
from model.decide.findings import findings_of
from model.decide.output import compare_json
from model.decide.rivers import rivers_of
from model.decide.season_question import season_question
from model.decide.season_question_file import decide_json
from model.decide.strategy import strategies_of
from model.farm.setting import farm_setting_of
from model.outlook.outlook import odds_of_water
from model.outlook.output import outlook_json
from model.plan.text import read_plan
from model.record.record import read_record
from model.say.numbers import money, of_100, thousands, times_in_100
from tests.dashboard.window import figures, go, keep_home, opened, plain, said, tables

QUICK = {"sequences.count": 100, "sequences.seasons": 2, "sequences.method": "blocks"}
AREA_HA = 90.0
"""On the line of areas that is tried, so that every surface has it."""

STRATEGY = "Some on trust"


@dataclass(frozen=True, slots=True)
class Surfaces:
    """What each surface says, of one plan and one choice."""

    pages: dict[str, str]  # text by page
    drawn: dict[str, list[dict[str, Any]]]  # charts by page
    listed: dict[str, list[str]]  # tables by page, as CSV
    paper: str
    compared: dict[str, Any]  # compare.json
    decided: dict[str, Any]  # decide.json
    outlook: dict[str, Any]  # outlook.json

    @property
    def ours(self) -> dict[str, Any]:
        """Our choice in compare.json."""
        return next(each for each in self.compared["strategies"] if each["name"] == OUR_CHOICE)

    @property
    def area(self) -> dict[str, Any]:
        """Our area in decide.json."""
        areas = self.decided["areas"]
        assert areas["areas_ha"][areas["choice"]] == AREA_HA
        brought: dict[str, Any] = areas["brought"][areas["choice"]]
        return brought


@pytest.fixture(name="surfaces", scope="module")
def _surfaces(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Surfaces]:
    """Choose on the first page, go through the pages, and make the files and the paper once."""
    folder = tmp_path_factory.mktemp("one")
    with pytest.MonkeyPatch.context() as patch:
        home = keep_home(folder, patch, QUICK)
        window = opened()
        window.slider(key="plant_area").set_value(AREA_HA).run()
        pages, drawn, listed = _read(window)
        plan = read_plan(home.path)
        record = read_record(home.path.parent / plan.record)
        yield Surfaces(pages, drawn, listed, *_made(plan, record))


PARTS = {
    "this_season": ("plant_part", "The bank"),
    "ways_compared": ("strategies_part", "What may go wrong"),
    "money": ("money_part", "What may go wrong"),
    "today": ("", ""),
    "how_it_has_done": ("", ""),
}


def _read(window: AppTest) -> tuple[dict[str, str], dict[str, Any], dict[str, list[str]]]:
    """Go through the pages."""
    pages, drawn, listed = {}, {}, {}
    for view, (key, part) in PARTS.items():
        if key:
            window.session_state[key] = part
        go(window, view)
        metrics = "\n".join(f"{each.label}: {each.value}" for each in window.metric)
        subheads = "\n".join(plain(each.value) for each in window.subheader)
        pages[view] = f"{said(window)}\n{subheads}\n{metrics}"
        drawn[view] = figures(window)
        listed[view] = [table.to_csv() for table in tables(window)]
    return pages, drawn, listed


def _made(plan: Any, record: Any) -> tuple[str, dict[str, Any], dict[str, Any], dict[str, Any]]:
    """Make paper and files, as the commands do."""
    base = next(each for each in strategies_of(plan) if each.name == STRATEGY)
    plan = plan.model_copy(update={"strategies": (base,)})  # the others move no figure of ours
    hold = base.hold_back_ml_per_share, base.hold_above_ml_per_share
    ours = with_choice(plan, Choice(STRATEGY, AREA_HA, *hold))
    found = findings_of(ours, record, strategy=OUR_CHOICE)
    paper = "\n".join(_texts(document_of(found, dt.date(2025, 9, 1))))
    compared = json.loads(compare_json(found.compared, None))
    setting = farm_setting_of(plan, record, strategies_of(plan))
    rivers = rivers_of(setting)
    asked = season_question(setting, rivers, strategy=0, area_ha=AREA_HA)
    decided = json.loads(decide_json(asked, setting, rivers))
    outlook = json.loads(outlook_json(odds_of_water(plan, record)))
    return paper, compared, decided, outlook


def _texts(value: Any) -> Iterator[str]:
    """Yield every text of a document; pictures are none."""
    if isinstance(value, str):
        yield plain(value)
    elif isinstance(value, dict):
        for key, inner in value.items():
            if key != "svg":
                yield from _texts(inner)
    elif isinstance(value, list):
        yield "\n".join(each for inner in value for each in _texts(inner))


def _in(frac: float) -> str:
    """Write a chance as a page does."""
    return times_in_100(frac, QUICK["sequences.count"])  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("event", "of_area", "on_paper", "on_ways"),
    [
        ("past_overdraft_limit", "past_limit", "Overdraft past its limit", "Overdraft past its"),
        ("payment_missed", "payment_missed", "A loan payment missed", "A loan payment missed"),
    ],
)
def test_trouble_when_it_stands_on_pages_files_and_paper_then_one_figure(
    surfaces: Surfaces, event: str, of_area: str, on_paper: str, on_ways: str
) -> None:
    """Over the limit, and a payment missed, some time in the run."""
    frac = surfaces.ours["whole_run"]["chances"][event]["value"]
    assert surfaces.area[of_area]["value"] == frac
    metric = rf"{on_paper}[^:\n]*: {re.escape(_in(frac))}"
    for view in ("this_season", "money"):
        assert re.search(metric, surfaces.pages[view]), (view, metric)
    assert re.search(
        rf"{on_paper}, (some time in the run|of \d+ due[^:]*): {re.escape(_in(frac))}",
        surfaces.paper,
    )
    (drawn,) = [each for each in surfaces.drawn["ways_compared"] if "data" in each]
    (trace,) = [trace for trace in drawn["data"] if trace.get("name") == OUR_CHOICE]
    row = next(at for at, label in enumerate(trace["y"]) if on_ways in label.replace("<br>", " "))
    assert trace["x"][row] == pytest.approx(100.0 * frac, abs=1e-9)


def test_over_the_limit_when_it_heads_the_page_of_money_then_it_is_that_figure(
    surfaces: Surfaces,
) -> None:
    """The answer of Money."""
    frac = surfaces.ours["whole_run"]["chances"]["past_overdraft_limit"]["value"]
    assert f"Over the limit {_in(frac)};" in surfaces.pages["money"]


def test_finished_when_it_stands_on_the_page_and_in_the_files_then_one_figure(
    surfaces: Surfaces,
) -> None:
    """What is planted is watered to the end: of the answer, the line of areas and both files."""
    frac = surfaces.area["finished"]["value"]
    short = surfaces.ours["seasons"][0]["chances"]["ran_short"]["value"]
    assert frac == pytest.approx(1.0 - short, abs=1e-12)
    assert f"{AREA_HA:.0f} ha: finished {_in(frac)}." in surfaces.pages["this_season"]


def test_nothing_announced_when_it_stands_on_pages_files_and_paper_then_one_figure(
    surfaces: Surfaces,
) -> None:
    """Also where a page is of water alone."""
    frac = surfaces.outlook["seasons"][0]["chance_none"]["value"]
    assert surfaces.compared["nothing_announced_running"][0]["value"] == frac
    words = f"Nothing more announced in 2025-26: {_in(frac)}"
    assert any(words.replace(" ", "") in _title(each) for each in surfaces.drawn["today"])
    assert f"Nothing more announced in 2025-26\n{_in(frac)}" in surfaces.paper
    rows = "\n".join(surfaces.listed["how_it_has_done"])
    assert f"Nothing more announced in 2025-26,{of_100(frac)}" in rows


def test_limit_and_bales_when_on_two_pages_and_in_the_file_then_one_figure(
    surfaces: Surfaces,
) -> None:
    """The limit that holds 90 times in 100, and what is safe to sell forward."""
    reached = surfaces.decided["desk"]["reached"]
    limit = money(reached["limit_needed_aud"]["value"])
    assert f"Limit that holds 90 times in 100:** {limit}" in surfaces.pages["this_season"]
    assert f"limit that holds 90 times in 100:** {limit}" in surfaces.pages["money"]
    bales = f"{reached['bales']['value']:,.0f} bales, reached 90 times in 100"
    assert bales in surfaces.pages["this_season"]


def test_worth_when_on_page_files_and_paper_then_one_figure(surfaces: Surfaces) -> None:
    """What the run is worth at its end under our choice, on average and in the worst tenth."""
    worth = surfaces.ours["whole_run"]["standing_aud"]
    assert worth["mean"] == pytest.approx(surfaces.area["mean_aud"]["value"], rel=1e-12)
    assert worth["worst_tenth"] == pytest.approx(
        surfaces.area["worst_tenth_aud"]["value"], rel=1e-12
    )
    told = [thousands(worth[name]) for name in ("mean", "worst_tenth")]
    paper = surfaces.paper.split("\n")
    at = max(place for place, line in enumerate(paper) if line == OUR_CHOICE)
    assert paper[at + 1 : at + 3] == told


def test_bank_when_month_by_month_then_one_figure(surfaces: Surfaces) -> None:
    """The bands of This season and of Money, point by point."""
    bands = [
        [trace["y"] for trace in chart["data"] if "times in 100" in trace.get("name", "")]
        for view in ("this_season", "money")
        for chart in surfaces.drawn[view][:1]
    ]
    assert bands[0] == bands[1]
    assert len(bands[0]) == 5


def _title(figure: dict[str, Any]) -> str:
    """Read a chart's title without its line breaks."""
    return str(figure["layout"]["title"]["text"]).replace("<br>", "").replace(" ", "")
