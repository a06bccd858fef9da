"""Can a person stop long work, and begin it again?

A record of sixty years stands in, brought in as a person brings theirs: thirty years to try.
"""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Page, expect

from model.plan.shipped import demonstration_plan
from tests.browser.steps import broken_rules, change, go_to, settle

YEARS = 60
BUTTON = ".st-key-evidence_button button"
ASK = re.compile("^Try the odds on the observed years")
PROGRESS = re.compile(r"Standing in every observed year: (\d+) of (\d+) years")
LONG_MS = 120_000


def _short_record(folder: Path) -> Path:
    """Write the last years of the demonstration's record."""
    whole = demonstration_plan().with_name("demonstration_record.csv")
    header, *rows = whole.read_text("utf-8").splitlines()
    path = folder / "sixty_years.csv"
    path.write_text("\n".join([header, *rows[-12 * YEARS :]]) + "\n", "utf-8")
    return path


def _bring_in(page: Page, record: Path) -> None:
    """Let the plan rest on another record, from the page of the record."""
    page.locator(".st-key-record_file input[type=file]").set_input_files(record)
    page.get_by_role("button", name="Use this record in the plan").click()
    expect(page.get_by_text(f"The plan now rests on {record.name}", exact=False)).to_be_visible()
    settle(page)


def test_hindcast_when_stopped_by_keyboard_then_it_ends_and_can_be_begun_again(
    open_page, tmp_path: Path
) -> None:
    """Begun, stopped with a count, still after a while, begun again and done to its end."""
    page = open_page(on="Record")
    _bring_in(page, _short_record(tmp_path))
    go_to(page, "How it has done")
    button = page.locator(BUTTON)
    expect(button).to_have_text(ASK)
    button.press("Enter")
    expect(page.get_by_text(PROGRESS)).to_be_visible()
    expect(button).to_have_text("Stop")
    expect(button).to_be_focused()
    button.press("Enter")
    stopped = page.get_by_text(re.compile(r"^Stopped (after|before)"))
    expect(stopped).to_be_visible()
    settle(page)
    expect(button).to_have_text(ASK)
    expect(page.get_by_text(PROGRESS)).to_have_count(0)
    expect(page.locator(".js-plotly-plot")).to_have_count(0)
    said = stopped.inner_text()
    done = re.match(r"Stopped after (\d+) of (\d+) years\. Nothing of it is kept\.$", said)
    assert done is None or int(done[1]) < int(done[2]), said
    button.press("Enter")
    expect(page.get_by_text(PROGRESS)).to_be_visible()
    expect(page.locator(".js-plotly-plot")).to_have_count(5, timeout=LONG_MS)
    settle(page)
    expect(button).to_have_count(0)
    expect(stopped).to_have_count(0)
    expect(page.get_by_text(re.compile(r"80 times in 100 held in \d+ of"))).to_have_count(4)
    assert broken_rules(page) == []


def test_hindcast_when_the_page_is_left_then_it_is_stopped_and_that_is_said(
    open_page, tmp_path: Path
) -> None:
    """Leaving the page ends the work too; on coming back the page says so."""
    page = open_page(on="Record")
    change(page)
    announced = page.get_by_role("spinbutton", name="Announced this water year, ML per share")
    announced.fill("0.07")  # so that no other test's result is there already
    announced.press("Enter")
    expect(page.locator(".st-key-strip")).to_contain_text("1 not saved")
    page.keyboard.press("Escape")
    _bring_in(page, _short_record(tmp_path))
    go_to(page, "How it has done")
    page.locator(BUTTON).click()
    expect(page.get_by_text(PROGRESS)).to_be_visible()
    go_to(page, "Plans and diary")
    go_to(page, "How it has done")
    expect(page.get_by_text(re.compile(r"^Stopped (after|before)"))).to_be_visible()
    expect(page.locator(BUTTON)).to_have_text(ASK)
