"""The page of the papers: made on asking, and never those of other figures."""

import datetime as dt
import io
import json
import tomllib
from pathlib import Path

import openpyxl
import pytest
import streamlit as st
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

from dashboard import cached
from model.evidence.choosers import choosers_of
from model.evidence.hindcast import FEWEST_DRAWS, Hindcast, hindcast
from model.outlook.setting import Progress
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan, edit_plan
from model.record.record import Record, read_record
from model.say.evidence import headline_of
from tests.a_verdict import a_verdict
from tests.dashboard.window import RECORD, go, opened, start_on

PAGE, NAME = "papers", "plan.toml"
QUICK = {"sequences.count": 200, "sequences.method": "blocks"}
"""Few sequences, most of them alike: what is tested here is not the odds."""


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """Open the page of the papers on the demonstration with few sequences."""
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))
    plan = tmp_path / NAME
    plan.write_text(edit_plan(demonstration_plan().read_text("utf-8"), QUICK), "utf-8")
    (tmp_path / RECORD.name).write_bytes(RECORD.read_bytes())
    start_on(monkeypatch, plan)
    st.cache_resource.clear()
    return opened(PAGE)


def downloads(page: AppTest) -> set[str]:
    """Return the labels of what may be taken away."""
    return {button.proto.label for button in page.get("download_button")}


def test_papers_when_asked_for_then_both_may_be_taken_until_a_figure_changes(page: AppTest) -> None:
    """Papers of other figures than those on the page are not offered."""
    assert not downloads(page) & {"Take the brief (PDF)", "Take the workbook (XLSX)"}
    page.button(key="make_papers").click().run()
    assert not page.exception
    assert {"Take the brief (PDF)", "Take the workbook (XLSX)"} <= downloads(page)
    page.selectbox(key="paper_strategy").set_value("Plant on the odds").run()
    assert not downloads(page) & {"Take the brief (PDF)", "Take the workbook (XLSX)"}


def test_papers_when_made_then_they_open_and_name_the_strategy() -> None:
    """The brief reads as a PDF of a few pages, the workbook as a spreadsheet."""
    path = demonstration_plan()
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["sequences"] |= {"count": 400, "method": "blocks"}
    record = read_record(path.with_name(raw["record"]))
    plan = check_plan(raw, "demonstration")
    brief, workbook, figures = cached.papers(
        plan,
        record,
        "Some on trust",
        a_verdict(),
        dt.date(2026, 11, 25),
        plan_file="dry year.toml, with 1 figure not saved in it",
    )
    pages = PdfReader(io.BytesIO(brief)).pages
    assert 4 <= len(pages) <= 7
    words = " ".join("".join(page.extract_text() for page in pages).split())
    assert "Some on trust" in words
    assert "the band of 80 times in 100 held in 40 of 50 years" in words
    assert "Plan file: dry year.toml, with 1 figure not saved in it." in words
    assert len(openpyxl.load_workbook(io.BytesIO(workbook)).sheetnames) == 8
    assert json.loads(figures)["strategy"] == "Some on trust"


def test_papers_when_figures_are_not_saved_then_the_files_name_is_given_with_that(
    page: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The brief is asked for with the name of the plan's file, and what is not saved in it."""
    asked = []

    def papers(*given: object) -> tuple[bytes, bytes, bytes]:
        asked.append(given[-1])
        return b"%PDF-", b"PK", b"{}"

    monkeypatch.setattr(cached, "papers", papers)
    page.button(key="make_papers").click().run()
    page.session_state.changes = {"opening.storage_ml": 60_000.0}
    page.run()
    page.button(key="make_papers").click().run()
    assert not page.exception
    assert asked[0] == NAME
    assert asked[-1] == f"{NAME}, with 1 figure not saved in it"
    assert f"File: {NAME}" in [said.value for said in page.sidebar.caption]


def test_papers_when_odds_are_tried_first_then_their_verdict_goes_in_and_is_not_asked_again(
    page: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The button runs the trial once, year by year; after it this page and that of trust know."""
    told, asked = [], []

    def fewer(plan: Plan, record: Record, *, progress: Progress) -> Hindcast:
        def count(done: int, total: int) -> None:
            told.append((done, total))
            progress(done, total)

        own = choosers_of(plan.sequences, [plan.sequences.method])
        return hindcast(plan, record, choosers=own, draws_each=FEWEST_DRAWS, progress=count)

    def papers(*given: object) -> tuple[bytes, bytes, bytes]:
        asked.append(given[3])
        return b"%PDF-", b"PK", b"{}"

    monkeypatch.setattr("model.evidence.hindcast.hindcast", fewer)
    monkeypatch.setattr(cached, "papers", papers)
    page.button(key="make_papers").click().run()
    assert asked
    assert set(asked) == {None}
    assert told == []
    assert any("were not tried" in said.value for said in page.markdown)
    page.button(key="evidence_button").click().run()
    assert not page.exception
    assert not downloads(page)  # those made before do not carry the verdict
    page.button(key="make_papers").click().run()
    assert not page.exception
    years = len(told)
    assert told == [(year + 1, years) for year in range(years)]
    assert asked[-1].seasons[0].none.cases > 5
    assert asked[-1].seasons[0].band.cases > 5
    assert "evidence_button" not in {button.key for button in page.button}
    carried = next(m.value for m in page.markdown if m.value.startswith("The verdict these"))
    assert carried == f"The verdict these papers carry: {headline_of(asked[-1])}."
    assert any("The odds have been tried" in caption.value for caption in page.caption)
    page.button(key="make_papers").click().run()
    assert len(told) == years
    go(page, "how_it_has_done")
    assert len(page.get("plotly_chart")) >= 3
    assert len(told) == years


def test_papers_when_there_is_no_farm_then_says_what_to_add(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan of water alone is told what the papers need, and is offered no button."""
    raw = tomllib.loads(demonstration_plan().read_text(encoding="utf-8"))
    path = tmp_path / "water.toml"
    text = demonstration_plan().read_text(encoding="utf-8")
    path.write_text(text[: text.index("[farm]")], encoding="utf-8")
    record = demonstration_plan().with_name(raw["record"])
    (tmp_path / raw["record"]).write_bytes(record.read_bytes())
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))
    start_on(monkeypatch, path)
    page = opened(PAGE)
    assert not page.exception
    assert "add a [farm] table" in page.info[0].value
    assert "make_papers" not in {button.key for button in page.button}
