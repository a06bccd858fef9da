"""Does a person get from today to a decision? Journeys through the pages of the farm."""

from __future__ import annotations

import re

from playwright.sync_api import Locator, Page, expect

from tests.browser.steps import FINISHED, go_to, open_part, settle, shown
from tests.browser.test_keeping import _save_as as save_as
from tests.browser.test_keeping import _set as set_figure


def _slider(page: Page, key: str) -> Locator:
    return page.locator(f".st-key-{key}").get_by_role("slider").first


def _title(page: Page, key: str) -> Locator:
    """Find the title of a chart in its newest state."""
    return page.locator(f".st-key-{key}[data-stale=false] .gtitle")


def test_dry_cycle_when_dam_area_and_hold_back_move_then_the_chance_follows_and_is_kept(
    open_page,
) -> None:
    """Lower the dam, choose area and hold-back, read the chance, note it, save, come back."""
    page = open_page(on="Today")
    set_figure(page, "Water in the dam, ML", "60000")
    go_to(page, "This season")
    finding = page.get_by_role("heading", name=FINISHED)
    said = finding.inner_text()
    _slider(page, "plant_area").press("ArrowRight")
    expect(finding).not_to_have_text(said)
    settle(page)
    open_part(page, "The bank", "plant_cash")
    chosen, later = finding.inner_text(), page.get_by_text("Next season's water:").inner_text()
    assert int(chosen.split(" ")[0]) == int(said.split(" ")[0]) + 5
    assert re.search(r"finished (\d+ times|once|less than once|more than|in none|in all)", chosen)
    for _ in range(4):
        _slider(page, "plant_hold_back").press("ArrowRight")
    cash = _title(page, "plant_cash")
    expect(page.locator(".st-key-plant_hold_back")).to_contain_text("0.25")
    settle(page)
    assert finding.inner_text() == chosen  # held back at later plantings only
    assert page.get_by_text("Next season's water:").inner_text() == later
    expect(cash).to_have_count(1)
    page.get_by_role("button", name="Write this choice in the diary").click()
    expect(page.get_by_text("Saved to the diary")).to_be_visible()
    save_as(page, "dry cycle")
    page.reload()
    shown(page, "Today")
    field = page.get_by_role("spinbutton", name="Water in the dam, ML").last
    assert field.input_value() == "60000"
    go_to(page, "This season")
    expect(finding).to_have_text(chosen)
    expect(page.locator(".st-key-plant_hold_back")).to_contain_text("0.25")
    settle(page)
    go_to(page, "Plans and diary")
    open_part(page, "Diary")
    expect(page.get_by_text(re.compile(r"Plant \d+ ha of cotton next")).first).to_be_visible()


def test_strategies_when_two_are_compared_then_a_finding_is_read_off(open_page) -> None:
    """Two strategies on the same runs: who ends best, how far ahead, and which ways are beaten."""
    page = open_page(on="Ways compared")
    picked = page.locator(".st-key-strategies_chosen").get_by_role("button")
    names = picked.all_inner_texts()
    assert len(names) == 4
    legend = page.locator(".st-key-standing[data-stale=false] .legendtext")
    for left, name in ((3, names[3]), (2, names[0])):
        picked.filter(has_text=name).click()
        expect(legend).to_have_count(left)
    settle(page)
    said = (_title(page, "standing").text_content() or "").replace(" ", "")
    best = re.match(r"(.+?)endsbestonaverage\(([−]?\$[\d,.]+)", said)
    assert best is not None, said
    assert best[1] in [name.replace(" ", "") for name in names[1:3]]
    thousands = best[2].replace("$", "").removesuffix(",000")
    expect(page.get_by_role("table").filter(has_text="Worst 10 in 100")).to_contain_text(thousands)
    page.get_by_role("radio", name="Run by run").click()
    expect(_title(page, "ahead")).to_have_text(re.compile(r"\d"))
    settle(page)
    page.get_by_role("radio", name="Hold back or plant less").click()
    page.get_by_text(re.compile("^Try 100 ways")).click()
    expect(_title(page, "frontier")).to_have_count(1)
    settle(page)
    expect(
        page.locator(".st-key-frontier[data-stale=false] .legendtext").filter(
            has_text="another way"
        )
    ).to_have_count(1)
