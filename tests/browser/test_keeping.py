"""Is what a person wrote down still there: after a reload, beside another window, after a bad file?

Journeys, as a person goes. What the page says was saved is read back from the file it names.
"""

from __future__ import annotations

import re
import tomllib
from base64 import b64encode
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from tests.browser.steps import broken_rules, go_to, open_part, settle, shown, too_wide_px

ICON = Path(__file__).parents[2] / "dashboard" / "icon.png"
PARTS = {
    "Our valley": ("The rules", "The accounts", "What was announced"),
    "Plans and diary": ("Plans", "Diary"),
}


def _set(page: Page, label: str, value: str) -> None:
    """Type a figure of today and wait until the page counts it as not saved."""
    field = page.get_by_role("spinbutton", name=label).last
    field.fill(value)
    field.press("Enter")
    expect(page.locator(".st-key-strip")).to_contain_text("not saved")
    settle(page)


def _dam(page: Page) -> str:
    """Read the dam of today."""
    return page.get_by_role("spinbutton", name="Water in the dam, ML").last.input_value()


def _save_as(page: Page, name: str) -> Path:
    """Save under a name; give the file that the page says it wrote, and go back."""
    go_to(page, "Plans and diary")
    page.get_by_role("textbox", name="Name of a new plan").fill(name)
    page.get_by_role("button", name="Save as a new plan").click()
    said = page.get_by_text(re.compile(rf"^Saved as .*{name}\.toml\.$"))
    expect(said).to_be_visible()
    settle(page)
    path = Path(said.inner_text().removeprefix("Saved as ").removesuffix("."))
    go_to(page, "Today")
    return path


def _save(page: Page) -> None:
    """Save in place, on the page that keeps."""
    go_to(page, "Plans and diary")
    open_part(page, "This plan")
    page.locator(".st-key-save button").click()


def _opening(path: Path) -> dict[str, float]:
    opening: dict[str, float] = tomllib.loads(path.read_text("utf-8"))["opening"]
    return opening


def test_dam_when_changed_saved_and_reloaded_then_its_figure_is_still_there(open_page) -> None:
    """A saved figure stands in the file the page names, and on the page after a reload."""
    page = open_page(on="Today")
    _set(page, "Water in the dam, ML", "45000")
    path = _save_as(page, "going dry")
    assert _opening(path)["storage_ml"] == 45_000.0
    page.reload()
    shown(page, "Today")
    assert _dam(page) == "45000"
    expect(page.locator(".st-key-strip")).not_to_contain_text("not saved")
    _set(page, "Water in the dam, ML", "44000")
    page.reload()
    shown(page, "Today")
    assert _dam(page) == "44000"
    expect(page.locator(".st-key-strip")).to_contain_text("1 not saved")
    assert _opening(path)["storage_ml"] == 45_000.0


def test_save_when_two_windows_have_the_plan_then_neither_undoes_the_other(open_page) -> None:
    """The second window to save is told what the first changed, and can keep both."""
    first = open_page(on="Today")
    path = _save_as(first, "two windows")
    second = open_page(on="Plans and diary")
    open_part(second, "Plans")
    second.get_by_role("combobox", name="Plan", exact=True).click()
    second.get_by_role("option", name="two windows").click()
    second.get_by_role("button", name="Open this plan").click()
    expect(second.get_by_text("two windows is open.")).to_be_visible()
    settle(second)
    go_to(second, "Today")
    _set(first, "Water in the dam, ML", "50000")
    _save(first)
    expect(first.get_by_text(re.compile(r"^Saved to "))).to_be_visible()
    _set(second, "Water in the account, ML per share", "0.4")
    _save(second)
    expect(second.get_by_text("another window or program changed", exact=False)).to_be_visible()
    expect(second.get_by_role("table").first).to_contain_text("50,000")
    assert _opening(path)["account_ml_per_share"] == 0.17
    second.get_by_role("button", name="Keep both: apply my changes to the file").click()
    expect(second.locator(".st-key-strip")).to_contain_text("dam 50,000 ML")
    settle(second)
    _save(second)
    expect(second.get_by_text(re.compile(r"^Saved to "))).to_be_visible()
    opening = _opening(path)
    assert (opening["storage_ml"], opening["account_ml_per_share"]) == (50_000.0, 0.4)


def test_files_when_only_offered_then_none_is_fetched(open_page) -> None:
    """A page fetches no file before it is asked for: the server may have dropped it by then."""
    page = open_page()
    fetched: list[str] = []
    page.on("request", lambda sent: fetched.append(urlsplit(sent.url).path))
    shown(page, "This season")
    go_to(page, "Plans and diary")
    open_part(page, "Plans")
    expect(page.get_by_test_id("stDownloadButton").first).to_be_visible()
    go_to(page, "Today")
    assert [path for path in fetched if path.startswith("/media/")] == []
    icon = page.locator("link[rel~=icon]").first.get_attribute("href")
    assert icon == f"data:image/png;base64,{b64encode(ICON.read_bytes()).decode()}"


def test_record_when_a_bad_file_then_a_good_one_then_faults_by_row_and_the_good_one_is_used(
    open_page, tmp_path: Path
) -> None:
    """Faults of a CSV file stand in a table by row; the mended file is taken and described."""
    rows = [f"{1980 + m // 12}-{m % 12 + 1:02d},{9_000 + m}" for m in range(300)]
    good, bad = tmp_path / "mine.csv", tmp_path / "mistyped.csv"
    good.write_text("\n".join(["month,inflow_ml", *rows, ""]))
    rows[6], rows[9] = "1980-07,-12", "1980-10,about a flood"
    bad.write_text("\n".join(["month,inflow_ml", *rows, ""]))
    page = open_page(on="Record")
    drop = page.locator(".st-key-record_file input[type=file]")
    drop.set_input_files(bad)
    expect(page.get_by_text("mistyped.csv: 2 problems to fix. It is not used.")).to_be_visible()
    faults = page.get_by_role("table").filter(has_text="row 8, column inflow_ml")
    expect(faults).to_contain_text("about a flood")
    expect(page.get_by_role("button", name="Use this record in the plan")).to_have_count(0)
    settle(page)
    drop.set_input_files(good)
    expect(page.get_by_text("mine.csv can be used: 300 months", exact=False)).to_be_visible()
    page.get_by_role("button", name="Use this record in the plan").click()
    expect(page.get_by_text(re.compile(r"^mine-[0-9a-f]{12}\.csv$"))).to_be_visible()
    expect(page.get_by_role("table").first).to_contain_text("Hurst's K")
    settle(page)


def test_decision_when_written_down_then_it_is_in_the_diary_of_every_window(
    open_page, opened_plan: Path
) -> None:
    """A decision keeps its odds and a copy of its plan, and another window lists it."""
    page = open_page(on="Plans and diary")
    open_part(page, "Diary")
    page.get_by_role("textbox", name="What we decided").fill("Prepare 120 ha, hold 0.1")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_text("Saved to the diary.")).to_be_visible()
    other = open_page(on="Plans and diary")
    open_part(other, "Diary")
    other.get_by_text("Prepare 120 ha, hold 0.1").first.click()
    expect(other.get_by_role("textbox", name="How it turned out")).to_be_visible()
    settle(other)
    with other.expect_download() as download:
        other.get_by_role("button", name="The plan as it was, TOML").click()
    taken = Path(download.value.path()).read_text("utf-8")
    assert taken == opened_plan.read_text("utf-8")
    other.get_by_role("textbox", name="How it turned out").fill("0.3 announced by January")
    other.get_by_role("button", name="Note it").click()
    expect(other.get_by_text("Saved to the diary.")).to_be_visible()
    settle(other)


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_pages_that_keep_when_checked_by_axe_then_no_wcag_rule_is_broken(
    open_page, width: int, scheme: str
) -> None:
    """The pages that keep things keep the machine-checkable WCAG rules, and fit the window."""
    page = open_page(on="Today", width=width, scheme=scheme)
    for name in ("Today", "Our farm", "Record", "Plans and diary", "Our valley"):
        if name != "Today":
            go_to(page, name)
        _check(page, name)
        for part in PARTS.get(name, ()):
            open_part(page, part)
            _check(page, part)


def _check(page: Page, name: str) -> None:
    """Check a page as it stands."""
    assert broken_rules(page) == [], name
    assert too_wide_px(page) <= 0, name
