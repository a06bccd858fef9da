"""Are the papers made, taken away and opened, and can a long trial be stopped?

Journeys on the demonstration. Both files are opened with other programs' readers.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import openpyxl
import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.brief_words import words_of
from tests.browser.steps import broken_rules, settle, too_wide_px

TITLE = "Demonstration: Plovermere Dam, Sandlark River (invented)"


def _make(page: Page) -> None:
    """Ask for the papers."""
    page.get_by_role("button", name="Make the papers").click()


def _take(page: Page, button: str) -> bytes:
    """Take a file away and read it."""
    with page.expect_download() as download:
        page.get_by_role("button", name=button).click()
    return Path(download.value.path()).read_bytes()


def test_papers_when_made_and_taken_then_both_open_with_title_finding_and_units(open_page) -> None:
    """The brief opens with title and finding, the workbook with sheets, units and no formula."""
    page = open_page(on="Papers")
    _make(page)
    expect(page.get_by_role("button", name="Take the brief (PDF)")).to_be_visible()
    expect(page.get_by_text("The odds were not tried", exact=False)).to_be_visible()
    brief = _take(page, "Take the brief (PDF)")
    words = words_of(brief)
    assert TITLE in words
    assert re.search(r"By June 2026, .{,60} or more is announced 50 times in 100", words)
    assert re.search(r"covers interest and principal (only )?\d\.\d\d times", words)
    pages = len(PdfReader(io.BytesIO(brief)).pages)
    assert 2 <= pages <= 4
    assert f"page {pages} of {pages}" in words
    book = openpyxl.load_workbook(io.BytesIO(_take(page, "Take the workbook (XLSX)")))
    sheets = ["inputs", "seasons", "months", "strategies", "stress", "break-evens"]
    assert book.sheetnames == sheets
    header = [cell.value for cell in book["months"][1]]
    assert header[4] == "bank_aud q50 [$]"
    units = {row[2] for row in book["inputs"].iter_rows(min_row=2, values_only=True)}
    assert {"ML", "ML a share", "$", "fraction", "ha", "mm"} <= units
    cells = {cell.data_type for sheet in book.worksheets for row in sheet for cell in row}
    assert cells <= {"s", "n"}


def test_trial_when_stopped_then_nothing_is_left_running_and_none_is_carried(open_page) -> None:
    """A trial shows how far it is and is stopped by its button; papers are made without it."""
    page = open_page(on="Papers")
    button = page.locator(".st-key-evidence_button button")
    expect(button).to_have_text(re.compile("^Try the odds on the observed years first"))
    button.press("Enter")
    running = page.get_by_text(
        re.compile(r"Standing in every observed year: [1-9]\d* of \d+ years")
    )
    expect(running).to_be_visible()
    expect(button).to_have_text("Stop")
    button.press("Enter")
    expect(page.get_by_text(re.compile(r"^Stopped after \d+ of \d+ years"))).to_be_visible()
    expect(running).to_have_count(0)
    expect(page.get_by_text("Uncaught", exact=False)).to_have_count(0)
    settle(page)
    expect(page.get_by_role("button", name="Take the brief (PDF)")).to_have_count(0)
    _make(page)
    expect(page.get_by_text("The odds were not tried", exact=False)).to_be_visible()
    settle(page)


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_papers_page_when_checked_by_axe_then_no_wcag_rule_is_broken(
    open_page, width: int, scheme: str
) -> None:
    """With the papers ready to take, the page keeps the machine-checkable WCAG rules and fits."""
    page = open_page(on="Papers", width=width, scheme=scheme)
    _make(page)
    expect(page.get_by_role("button", name="Take the workbook (XLSX)")).to_be_visible()
    settle(page)
    assert broken_rules(page) == []
    assert too_wide_px(page) <= 0
