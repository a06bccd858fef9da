"""Do all pages open on any plan, answer each control, and keep people's numbers apart?

Pages run in this process, from the entrypoint, without a browser. Plans are the invented
demonstration with other figures; they stand in folders of their own.
"""

from __future__ import annotations

import base64
import json
import subprocess
import sys
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

import dashboard
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan
from model.say.cautions import CAUTION, FARM_CAUTION
from tests.dashboard.window import APP, fault_places, go, line, opened, start_on

DASHBOARD = Path(dashboard.__file__).parent
PAGES = ("this_season/Water ahead", "dry_years", "our_valley")
TODAY = "today"
PLANT, STRATEGIES, MONEY = FARM_PAGES = (
    "this_season/Season by season",
    "ways_compared",
    "money",
)
TRUST = "how_it_has_done"
PAPERS = "papers"
OF_A_FARM = (PAGES[0], PAGES[1], PLANT, STRATEGIES, MONEY, TRUST, PAPERS)
"""Pages under the cautions of a farm."""

CHARTS_OF = {
    TODAY: 1,
    "our_farm": 0,
    PAGES[1]: 1,
    PLANT: 0,
    STRATEGIES: 1,
    MONEY: 2,
    TRUST: 0,
    PAPERS: 0,
    PAGES[2]: 0,
    "record": 0,
    "plans_and_diary/Plans": 0,
    "plans_and_diary/Diary": 0,
    PAGES[0]: 1,
}
"""Every page, and how many charts it shows: a page that stops half-way shows fewer."""

MONTHS_PART = "Over the months"
NONE_PART = "Nothing announced"
FRONTIER_PART = "Hold back or plant less"
PARTS_OF = {
    PAGES[0]: ("water_part", {NONE_PART: 1, MONTHS_PART: 1, "What is set aside first": 1}),
    PAGES[1]: ("walk_part", {"What is set aside": 1}),
    PLANT: ("plant_part", {"The bank": 1, "The driest on record": 0, "One more megalitre": 1}),
    STRATEGIES: (
        "strategies_part",
        {"What may go wrong": 1, "Season by season": 1, "Run by run": 1, FRONTIER_PART: 0},
    ),
    MONEY: (
        "money_part",
        {"What may go wrong": 2, "What a lender asks for": 2, "If it turns against you": 2},
    ),
}
"""Pages in parts: their key, and how many charts the page shows with each part but the first."""

NO_FARM = {"farm": None, "strategies": None}
FEW = 200
"""Sequences of a plan in these tests: enough for a number to change, few enough to be quick."""

QUICK = {"sequences.count": FEW, "sequences.method": "blocks"}
RECORD_NAME = "observed.csv"
LIMITS = (
    "account_limit_ml_per_share",
    "carryover_limit_ml_per_share",
    "use_limit_1yr_ml_per_share",
    "use_limit_3yr_ml_per_share",
    "allocation_cap_ml_per_share",
)

OpenPages = Callable[..., AppTest]
Write = Callable[..., Path]


@pytest.fixture(name="write_plan")
def _write_plan(tmp_path: Path) -> Write:
    """Return a function that writes a plan and its record, and gives the plan's path."""
    written: list[Path] = []

    def write(changes: Mapping[str, Any] | None = None, record: str | None = None) -> Path:
        folder = tmp_path / str(len(written))
        folder.mkdir()
        demonstration = demonstration_plan()
        text = demonstration.read_text("utf-8")
        settings = {"record": RECORD_NAME, **QUICK, **(changes or {})}
        plan = folder / "plan.toml"
        plan.write_text(edit_plan(text, settings), "utf-8")
        observed = record or (demonstration.parent / "demonstration_record.csv").read_text("utf-8")
        (folder / RECORD_NAME).write_text(observed, "utf-8")
        written.append(plan)
        return plan

    return write


@pytest.fixture(name="open_pages")
def _open_pages(monkeypatch: pytest.MonkeyPatch, write_plan: Write, tmp_path: Path) -> OpenPages:
    """Return a function that writes a plan and opens a page on it, of odds of water or another."""
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))

    def open_pages(
        changes: Mapping[str, Any] | None = None,
        *,
        record: str | None = None,
        plan: Path | None = None,
        view: str = PAGES[0],
    ) -> AppTest:
        start_on(monkeypatch, plan or write_plan(changes, record))
        return opened(view)

    return open_pages


def _opens(
    at: AppTest, other: Mapping[str, int] | None = None, *, every_part: bool = False
) -> None:
    """Check that every page opens, with its charts, no error and the cautions.

    `other` gives the pages that show another number of charts than most plans bring.
    """
    others = dict(other or {})
    for page, charts in (CHARTS_OF | others).items():
        go(at, page)
        _shows(at, page, charts)
        key, parts = PARTS_OF.get(page, ("", {}))
        for part, usual in parts.items() if charts and every_part else ():
            at.session_state[key] = part
            at.run()
            _shows(at, f"{page}, {part}", others.get(f"{page}, {part}", usual))
        captions = [caption.value for caption in at.main.caption]
        of_farm = page in OF_A_FARM and at.session_state.file_plan.farm
        assert captions[-1] == (FARM_CAUTION if of_farm else CAUTION), page
        text = " ".join([*captions, *(said.value for said in at.markdown)])
        assert text.count("not financial") == 1, page


def _shows(at: AppTest, page: str, charts: int) -> None:
    """Check that a page shows so many charts, and no error."""
    assert not at.exception, (page, [error.value for error in at.exception])
    assert not at.error, (page, [error.value for error in at.error])
    assert len(at.get("plotly_chart")) == charts, page


def _numbers(at: AppTest) -> list[float]:
    """Gather the numbers that the charts of a page draw."""
    found: list[float] = []

    def gather(values: Any) -> None:
        if isinstance(values, dict) and "bdata" in values:
            raw = base64.b64decode(values["bdata"])
            found.extend(np.frombuffer(raw, dtype=values["dtype"]).tolist())
        elif isinstance(values, dict):
            for key in ("x", "y", "array", "arrayminus", "error_x", "error_y"):
                gather(values.get(key))
        elif isinstance(values, list):
            found.extend(value for value in values if isinstance(value, int | float))

    for chart in at.get("plotly_chart"):
        for trace in json.loads(chart.proto.spec)["data"]:
            gather(trace)
    return found


def _unfolded(at: AppTest) -> AppTest:
    """Unfold how sequences are drawn on the page of water ahead."""
    at.session_state["drawing"] = True
    return at.run()


def _open_part(at: AppTest, part: str) -> AppTest:
    """Open a part of the page of water ahead."""
    at.session_state[PARTS_OF[PAGES[0]][0]] = part
    return at.run()


def _widgets(at: AppTest) -> dict[str, Any]:
    """List the controls of a page that set a number, by key."""
    kinds = (at.text_input, at.slider, at.number_input, at.selectbox, at.segmented_control)
    return {widget.key: widget for kind in kinds for widget in kind}


def _faults(at: AppTest) -> list[str]:
    """Return the places of the faults that a page shows."""
    assert not at.exception, [error.value for error in at.exception]
    assert len(at.error) == 1
    return fault_places(at, 0)


SHARED_MOVES: dict[str, Any] = {
    "slider.opening.storage_ml": 120_000.0,
    "slider.opening.account_ml_per_share": 0.4,
    "line.opening.announced_to_date_ml_per_share": 0.3,
}
OF_THE_FARM = {"line.farm.opening.account_ml_per_share", "line.farm.money.bank_aud"}
MOVED_ELSEWHERE = {
    "plant_strategy",
    "plant_area",
    "plant_hold_back",
    "plant_hold_above",
    "money_strategy",
    *OF_THE_FARM,
}
"""Controls of the farm's choice: tests of the farm's pages move them."""

PARTS = {"plant_part", "water_part", "walk_part"}
"""What opens a part of a page."""

FIRST_PAGE_MOVES = SHARED_MOVES | {
    "field.sequences.method": "historical",
    "field.sequences.seasons": 2,
    "field.sequences.count": 1_000,
    "slider.sequences.flow_factor": 0.8,
    "measure": "account_ml_per_share",
    "banded": "storage_end_ml",
}
TODAY_MOVES: dict[str, Any] = {
    "opening.month": "2025-11",
    "opening.storage_ml": 120_000.0,
    "opening.account_ml_per_share": 0.4,
    "opening.carried_ml_per_share": 0.0,
    "opening.announced_to_date_ml_per_share": 0.3,
    "opening.used_this_year_ml_per_share": 0.9,
    "opening.used_last_year_ml_per_share": 1.5,
    "opening.used_year_before_ml_per_share": 2.2,
    "opening.high_security_used_ml": 9_000.0,
    "opening.high_security_allocation_frac": 0.4,
}
STATES_THAT_MATTER: dict[str, dict[str, Any]] = {
    # carried water differs from other water only where a spill takes it first
    "opening.carried_ml_per_share": {
        "opening.storage_ml": 280_000.0,
        "valley.accounts.spill_rule": "carried_first",
    },
    # a dam that is not nearly empty gives high security its full allocation at once
    "opening.high_security_allocation_frac": {"opening.storage_ml": 20_000.0},
}
WALK_MOVES: dict[str, Any] = {"walk_kind": "an observed stretch", "run_number": 7}
STRETCH_MOVES: dict[str, Any] = {"stretch_from": "July 1933 to June 1934", "stretch_years": 2}


def test_pages_when_opened_from_the_entrypoint_then_each_shows_the_mark_and_cautions(
    open_pages: OpenPages,
) -> None:
    """Every page opens without error, marks the data as invented and shows the cautions."""
    at = open_pages()
    assert len(at.title) == 1
    assert len(at.metric) == 3
    _opens(at, every_part=True)
    for page in PAGES:
        go(at, page)
        assert "invented example" in line(at)


def test_pages_of_odds_when_flow_is_scaled_then_each_warns_and_else_says_it_is_not(
    open_pages: OpenPages,
) -> None:
    """A drier river than the record is warned of on every page of odds, or said."""
    drier = "This counts on a river drier than the record: all flow times 0.9."
    observed = "Flow is as observed: this does not count on a drier river than the record."
    for factor, words in ((0.9, drier), (1.0, observed)):
        at = open_pages({"sequences.flow_factor": factor})
        for page in (TODAY, PAGES[1], PLANT, STRATEGIES, MONEY, PAPERS):
            go(at, page)
            told = at.warning if factor < 1.0 else at.caption
            assert [each.value for each in told].count(words) == 1, page
        for page in (PAGES[0], TRUST):
            go(at, page)
            said = [*at.caption, *at.markdown]
            assert any(words in each.value for each in said), page


def test_mark_when_the_plan_is_a_persons_own_then_it_is_not_shown(open_pages: OpenPages) -> None:
    """A plan that does not say its data are invented is not marked so."""
    at = open_pages({"invented": False})
    assert "invented example" not in line(at)


def test_first_page_when_listed_then_every_control_is_moved_by_a_test(
    open_pages: OpenPages,
) -> None:
    """No control of the pages is without a move in these tests."""
    at = _unfolded(open_pages())
    seen = set(_widgets(at))
    seen |= set(_widgets(_open_part(at, MONTHS_PART)))
    assert seen - MOVED_ELSEWHERE - PARTS == set(FIRST_PAGE_MOVES)
    go(at, PAGES[1])
    assert set(_widgets(at)) - PARTS - MOVED_ELSEWHERE == set(SHARED_MOVES | WALK_MOVES)
    at.segmented_control(key="walk_kind").set_value("an observed stretch").run()
    assert set(_widgets(at)) - PARTS - MOVED_ELSEWHERE == set(
        SHARED_MOVES | STRETCH_MOVES | {"walk_kind": ""}
    )


@pytest.mark.parametrize("key", FIRST_PAGE_MOVES)
def test_first_page_when_a_control_is_moved_then_a_number_of_a_chart_changes(
    open_pages: OpenPages, key: str
) -> None:
    """Each control of the first page changes the numbers that its charts draw.

    The plan has no farm: the odds are drawn by the same lines, and no farm is run for each.
    """
    at = _unfolded(open_pages(NO_FARM | STATES_THAT_MATTER.get(key, {})))
    if key != "measure":
        _open_part(at, MONTHS_PART)
    before = _numbers(at)
    _widgets(at)[key].set_value(FIRST_PAGE_MOVES[key]).run()
    assert not at.exception
    assert not at.error
    assert len(before) > (100 if key != "measure" else 20)
    assert _numbers(at) != before


@pytest.mark.parametrize("key", TODAY_MOVES)
def test_today_when_a_figure_is_changed_then_the_odds_ahead_change(
    open_pages: OpenPages, key: str
) -> None:
    """Each figure of today changes the numbers that the odds' charts draw; see above."""
    at = open_pages(NO_FARM | STATES_THAT_MATTER.get(key, {}))
    before = _numbers(_open_part(at, MONTHS_PART))
    go(at, TODAY)
    _widgets(at)[f"field.{key}"].set_value(TODAY_MOVES[key]).run()
    _open_part(go(at, PAGES[0]), MONTHS_PART)
    assert not at.exception
    assert not at.error
    assert len(before) > 100
    assert _numbers(at) != before


@pytest.mark.parametrize("moves", [WALK_MOVES, STRETCH_MOVES], ids=["possible", "observed"])
def test_month_by_month_when_a_control_is_moved_then_a_number_changes(
    open_pages: OpenPages, moves: Mapping[str, Any]
) -> None:
    """Each control of the walk changes the months it shows."""
    for key, value in moves.items():
        at = open_pages(view=PAGES[1])
        if moves is STRETCH_MOVES:
            at.segmented_control(key="walk_kind").set_value("an observed stretch").run()
        before = _numbers(at)
        _widgets(at)[key].set_value(value).run()
        assert not at.exception
        assert _numbers(at) != before


def test_page_controls_when_pages_are_switched_then_they_stay_as_set(
    open_pages: OpenPages,
) -> None:
    """What a person set on a page is still set when they come back to it.

    The browser is told so: it takes the same control on another page for a new one.
    """
    at = open_pages()
    at.segmented_control(key="measure").set_value("usable_ml_per_share").run()
    at.slider(key="slider.opening.storage_ml").set_value(150_000.0).run()
    go(at, PAGES[1])
    assert list(at.slider(key="slider.opening.storage_ml").proto.value) == [150_000.0]
    at.number_input(key="run_number").set_value(33).run()
    go(at, PAGES[2])
    go(at, PAGES[1])
    assert at.number_input(key="run_number").value == 33
    go(at, PAGES[0])
    assert at.segmented_control(key="measure").value == "usable_ml_per_share"
    assert at.slider(key="slider.opening.storage_ml").value == 150_000.0


def test_run_number_when_fewer_runs_are_drawn_then_the_walk_still_opens(
    open_pages: OpenPages,
) -> None:
    """Asking for fewer runs than the number being walked breaks nothing."""
    at = open_pages({"sequences.count": 2_000}, view=PAGES[1])
    at.number_input(key="run_number").set_value(1_900).run()
    _unfolded(go(at, PAGES[0]))
    at.selectbox(key="field.sequences.count").set_value(1_000).run()
    go(at, PAGES[1])
    assert not at.exception
    assert at.number_input(key="run_number").value <= 1_000


def test_account_when_lowered_below_the_carried_part_then_that_goes_down_with_it(
    open_pages: OpenPages,
) -> None:
    """The account can be lowered without a fault: it cannot hold less than its carried part."""
    at = open_pages()
    at.slider(key="slider.opening.account_ml_per_share").set_value(0.05).run()
    assert not at.error
    go(at, TODAY)
    assert at.number_input(key="field.opening.carried_ml_per_share").value == 0.05


def test_page_when_the_plan_has_bad_figures_then_a_table_of_all_faults_shows(
    open_pages: OpenPages,
) -> None:
    """All faults of a plan stand in one table, and nothing else is run."""
    at = open_pages({"opening.storage_ml": -5.0, "valley.delivery_loss_frac": 1.5})
    assert _faults(at) == ["valley.delivery_loss_frac", "opening.storage_ml"]
    assert not at.get("plotly_chart")
    assert CAUTION in [caption.value for caption in at.caption]


def test_page_when_the_plan_is_no_toml_then_the_fault_shows(
    open_pages: OpenPages, tmp_path: Path
) -> None:
    """A file that is no plan at all is a fault to read, not a traceback."""
    path = tmp_path / "notes.toml"
    path.write_text("this is not a plan\n", "utf-8")
    assert _faults(open_pages(plan=path)) == ["the file"]


def test_page_when_plan_or_record_is_missing_then_the_fault_shows(
    open_pages: OpenPages, tmp_path: Path
) -> None:
    """A missing plan or record is said in the table."""
    assert _faults(open_pages(plan=tmp_path / "none.toml")) == ["plan"]
    assert _faults(open_pages({"record": "none.csv"})) == ["record"]


def test_page_when_the_record_has_bad_cells_then_every_one_shows(open_pages: OpenPages) -> None:
    """Bad cells of a record are listed by row and column: alike faults stand on one line."""
    good = (demonstration_plan().parent / "demonstration_record.csv").read_text("utf-8")
    lines = good.splitlines()
    for row in (3, 10):
        month, _, rest = lines[row].split(",", 2)
        lines[row] = f"{month},wet,{rest}"
    places = _faults(open_pages(record="\n".join(lines) + "\n"))
    assert places == ["rows 4, 11, column inflow_ml"]


@pytest.mark.parametrize("text", ["2025-13", "", "next spring", "2025-9"])
def test_month_when_typed_wrong_then_fault_table_shows_and_mending_brings_the_page_back(
    open_pages: OpenPages, text: str
) -> None:
    """A wrong month is a fault in a table; the right one again brings the same numbers back."""
    at = open_pages(view=TODAY)
    before = _numbers(at)
    assert before
    at.text_input(key="field.opening.month").set_value(text).run()
    assert _faults(at) == ["opening.month"]
    assert not at.get("plotly_chart")
    go(at, PAGES[0])
    assert _faults(at) == ["opening.month"]
    assert not at.get("plotly_chart")
    go(at, TODAY)
    at.text_input(key="field.opening.month").set_value("2025-09").run()
    assert not at.error
    assert _numbers(at) == before


@pytest.mark.parametrize("month", ["0000-01", "9999-12"])
def test_month_when_far_from_the_record_then_pages_still_open(
    open_pages: OpenPages, month: str
) -> None:
    """Any year opens: the record gives the weather, the plan the calendar."""
    _opens(open_pages({"opening.month": month, "farm.money.forward_sales": None}))


def test_forward_sale_when_no_season_of_the_run_has_it_then_the_fault_shows(
    open_pages: OpenPages,
) -> None:
    """A crop sold ahead in a season the run does not reach is to be mended, not left out."""
    at = open_pages({"opening.month": "1995-09"})
    for page in FARM_PAGES:
        go(at, page)
        assert "forward_sales" in " ".join(_faults(at)), page


EXTREMES: dict[str, dict[str, Any]] = {
    "dam and account empty": {
        "opening.storage_ml": 0.0,
        "opening.account_ml_per_share": 0.0,
        "opening.carried_ml_per_share": 0.0,
    },
    "dam full": {"opening.storage_ml": 300_000.0},
    "one season": {"sequences.seasons": 1},
    "one sequence": {"sequences.count": 1},
    "historical": {"sequences.method": "historical"},
    "independent years": {"sequences.kind": "independent"},
    "planting past": {"opening.month": "2026-02"},
    "planting past and one season": {"opening.month": "2026-02", "sequences.seasons": 1},
    "only June left": {"opening.month": "2026-06", "sequences.seasons": 1},
    "a new water year": {"opening.month": "2026-07"},
    "no access rule and no limits": {
        "valley.access": None,
        **{f"valley.accounts.{name}": None for name in LIMITS},
    },
    "a large account without limit": {
        "valley.accounts.account_limit_ml_per_share": None,
        "opening.account_ml_per_share": 5.0,
    },
    "much drier than the record": {"sequences.flow_factor": 0.1},
    "much wetter than the record": {"sequences.flow_factor": 3.0},
    "no high security": {
        "valley.high_security.shares_ml": 0.0,
        "opening.high_security_used_ml": 0.0,
    },
    "a tiny dam": {
        "valley.capacity_ml": 300.0,
        "valley.dead_storage_ml": 30.0,
        "opening.storage_ml": 90.0,
    },
    "defaults for drawing": {"sequences": None, "outlook": None},
}


@pytest.mark.parametrize("state", EXTREMES)
def test_pages_when_the_state_is_extreme_then_all_open(open_pages: OpenPages, state: str) -> None:
    """The pages open at the ends of what a plan may say, all with their charts.

    Where only June is left the farm runs a season more, so that a whole decision lies ahead.
    """
    _opens(open_pages(EXTREMES[state]))


def test_pages_when_the_plan_has_no_farm_then_all_open_and_the_farm_pages_say_what_to_add(
    open_pages: OpenPages,
) -> None:
    """A plan for water alone opens everywhere; the pages of the farm say what they miss."""
    at = open_pages(NO_FARM)
    _opens(at, {**dict.fromkeys(FARM_PAGES, 0), PLANT: 1})
    for page in (*FARM_PAGES, PAPERS):
        go(at, page)
        assert any("[farm]" in note.value for note in at.info), page


def test_pages_when_the_river_is_dry_then_nothing_is_sure(open_pages: OpenPages) -> None:
    """A record of zeros opens, warns, and leaves no chance of water."""
    good = (demonstration_plan().parent / "demonstration_record.csv").read_text("utf-8")
    header, *rows = good.splitlines()
    dry = [",".join([row.split(",")[0], "0", "0", *row.split(",")[3:]]) for row in rows]
    at = open_pages(record="\n".join([header, *dry]) + "\n")
    assert {metric.value for metric in at.metric} == {"in all of the 200 drawn"}
    _opens(at)
    go(at, "record")
    assert any("no inflow" in warning.value for warning in at.warning)


def test_pages_when_planting_is_past_then_only_later_seasons_have_a_planting_point(
    open_pages: OpenPages,
) -> None:
    """After planting month the season that has begun has no number at planting."""
    at = open_pages({"opening.month": "2026-02"})
    spec = json.loads(at.get("plotly_chart")[-1].proto.spec)
    water_years = {trace["name"]: trace["x"] for trace in spec["data"]}
    assert water_years["At planting (October)"] == ["2026-27", "2027-28"]
    assert water_years["At season's end (June)"] == ["2025-26", "2026-27", "2027-28"]


def test_sessions_when_plans_differ_then_neither_sees_the_others_numbers(
    open_pages: OpenPages, write_plan: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two people with plans that differ in one figure keep their own numbers, turn by turn."""
    low, high = (write_plan({"opening.storage_ml": volume}) for volume in (60_000.0, 200_000.0))
    first, second = open_pages(plan=low), open_pages(plan=high)
    of_low, of_high = _numbers(first), _numbers(second)
    assert of_low != of_high
    for page in PAGES[:2]:
        seen = []
        for at, path in ((first, low), (second, high), (first, low), (second, high)):
            start_on(monkeypatch, path)
            go(at, page)
            seen.append(_numbers(at))
        assert seen[0] == seen[2] != seen[1] == seen[3]
    for at, path, expected in ((first, low, of_low), (second, high, of_high)):
        start_on(monkeypatch, path)
        go(at, PAGES[0])
        assert _numbers(at) == expected


def test_sessions_when_one_moves_a_slider_then_the_other_stays(open_pages: OpenPages) -> None:
    """A figure set in one session does not reach another session on the same plan."""
    first = open_pages()
    second = open_pages()
    before = _numbers(second)
    first.slider(key="slider.opening.storage_ml").set_value(250_000.0).run()
    second.run()
    assert second.slider(key="slider.opening.storage_ml").value == 90_000.0
    assert _numbers(second) == before != _numbers(first)


def test_record_when_its_file_changes_then_the_page_follows(
    open_pages: OpenPages, write_plan: Write
) -> None:
    """The same path with other contents gives other numbers: results are kept by contents."""
    plan = write_plan()
    at = open_pages(plan=plan)
    before = _numbers(at)
    path = plan.parent / RECORD_NAME
    header, *rows = path.read_text("utf-8").splitlines()
    cells = [row.split(",") for row in rows]
    doubled = [",".join([c[0], f"{2 * float(c[1]):.1f}", *c[2:]]) for c in cells]
    path.write_text("\n".join([header, *doubled]) + "\n", "utf-8")
    at.run()
    assert not at.exception
    assert _numbers(at) != before


def test_first_page_when_run_then_slow_libraries_are_not_imported() -> None:
    """The first page needs no statistics package: its import would double the time to open."""
    code = (
        "import sys\n"
        "from streamlit.testing.v1 import AppTest\n"
        f"at = AppTest.from_file({str(APP)!r}, default_timeout=180).run()\n"
        "assert not at.exception and len(at.title) == 1\n"
        "slow = ('statsmodels', 'scipy.stats', 'arch', 'matplotlib')\n"
        "print([name for name in slow if name in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=False,
        cwd=DASHBOARD.parent,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"


def test_settings_when_read_then_they_keep_the_dashboard_on_this_computer() -> None:
    """The settings file listens on this computer only, refuses other host names, sends nothing."""
    settings = tomllib.loads((DASHBOARD / ".streamlit" / "config.toml").read_text("utf-8"))
    server = settings["server"]
    assert server["address"] == "127.0.0.1"
    assert server["allowedHosts"] == ["localhost", "127.0.0.1"]
    assert server["maxUploadSize"] <= 20
    assert {path.suffix for path in (DASHBOARD / "static").iterdir()} == {".woff2", ".txt"}
    assert server.get("enableXsrfProtection", True)
    assert server.get("enableCORS", True)
    assert settings["browser"]["gatherUsageStats"] is False
    assert settings["client"]["showErrorDetails"] == "type"
    assert settings["client"]["disableDataExport"] is True


def test_pages_when_measured_then_they_stay_short() -> None:
    """A page only shows: at most 300 lines, and the frame at most 100."""
    lengths = {
        path.name: len(path.read_text("utf-8").splitlines())
        for path in (DASHBOARD / "views").glob("*.py")
    }
    listed = {view.partition("/")[0] for view in CHARTS_OF}
    assert {Path(name).stem for name in lengths} == listed | {"many_farms"}  # only with a book
    assert max(lengths.values()) <= 300, lengths
    assert len(APP.read_text("utf-8").splitlines()) <= 100


def test_pages_when_read_then_they_write_no_markup_of_their_own() -> None:
    """No page writes raw HTML, and only the caching module caches, each cache with a bound."""
    for path in DASHBOARD.rglob("*.py"):
        text = path.read_text("utf-8")
        assert "unsafe_allow_html" not in text, path
        for each in text.splitlines():
            if each.startswith("@st.cache"):
                assert path.name == "cached.py"
                assert "max_entries=" in each, each


@pytest.mark.parametrize(
    ("method", "said"),
    [("neighbours", "followed a year like the present one"), ("regimes", "dry and wet states")],
)
def test_pages_when_the_method_knows_the_present_then_all_open_and_it_is_said(
    open_pages: OpenPages, method: str, said: str
) -> None:
    """Methods beside the default draw on every page, and are named where sequences are."""
    at = open_pages({"sequences.method": method, "sequences.flow_factor": 0.9})
    _opens(at)
    shown = " ".join(str(block.value) for block in (*at.markdown, *at.caption))
    assert said in shown
    assert "all flow times 0.9." in shown


def test_page_when_neighbours_do_not_know_the_present_then_the_fault_shows(
    open_pages: OpenPages,
) -> None:
    """A run that opens years after the record: what is missing is named, nothing is run."""
    at = open_pages({"sequences.method": "neighbours", "opening.month": "2031-09"})
    assert "sequences.last_twelve_months_inflow_ml" in " ".join(_faults(at))


def test_page_when_low_flow_is_cut_harder_and_the_factor_is_raised_then_the_fault_shows(
    open_pages: OpenPages,
) -> None:
    """An elasticity means nothing without a factor below 1."""
    at = open_pages({"sequences.flow_factor": 0.9, "sequences.flow_elasticity": 2.5})
    assert not _unfolded(at).error
    at.slider(key="slider.sequences.flow_factor").set_value(1.2).run()
    assert _faults(at) == ["sequences.flow_elasticity"]
