"""The page of the papers: made on asking, and never those of other figures."""

import datetime as dt
import io
import sys
import tomllib
from pathlib import Path

import openpyxl
import pytest
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

import dashboard
from dashboard import cached
from model.demonstration import demonstration_plan
from model.plan_file import check_plan
from model.record import read_record

APP = Path(dashboard.__file__).parent / "app.py"
PAGE = "views/papers.py"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """Open the page of the papers on the demonstration."""
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))
    monkeypatch.setattr(sys, "argv", [str(APP), "--plan", str(demonstration_plan())])
    return AppTest.from_file(str(APP), default_timeout=120).run().switch_page(PAGE).run()


def downloads(page: AppTest) -> set[str]:
    """Give the labels of what may be taken away."""
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
    """The brief reads as a PDF of at most four pages, the workbook as a spreadsheet."""
    path = demonstration_plan()
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["sequences"]["count"] = 400
    record = read_record(path.with_name(raw["record"]))
    plan = check_plan(raw, "demonstration")
    brief, workbook = cached.papers(plan, record, "Some on trust", dt.date(2026, 11, 25))
    pages = PdfReader(io.BytesIO(brief)).pages
    assert 2 <= len(pages) <= 4
    assert "Some on trust" in "".join(page.extract_text() for page in pages)
    assert len(openpyxl.load_workbook(io.BytesIO(workbook)).sheetnames) == 6
