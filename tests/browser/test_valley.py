"""Does a cell of the dam's tables, changed by keyboard, reach the plan and the odds?

The tables are drawn on a canvas: the grid is focused, the cell reached by arrow keys, and a number
typed. What was changed is read back from the plan that the page gives away.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect
from playwright.sync_api import TimeoutError as TooLateError

from model.plan.plan import Plan
from model.plan.text import parse_plan, read_plan
from tests.browser.steps import chart, go_to, open_part, settle

TABLES = ("surface", "monthly")
"""In their order on the page."""

PRESSES, MOMENT_MS = 5, 3_000


def _odds(page: Page) -> tuple[str, str]:
    """Read on This season the chance that nothing is announced, and what is set aside today."""
    open_part(page, "Water ahead")
    open_part(page, "What is set aside first", "set_aside")
    chance = page.get_by_text(re.compile(r"^The record supports \d")).first.inner_text()
    return chance, chart(page, "set_aside").text_content() or ""


def _the_dam(page: Page) -> None:
    """Wait for the tables of the dam."""
    expect(page.get_by_role("heading", name="Surface of the lake")).to_be_visible()
    settle(page)


def _focus(table: Locator) -> None:
    """Focus a table, as tabbing to it does: its first cell is then the one to change."""
    canvas = table.get_by_test_id("data-grid-canvas")
    expect(canvas).to_be_visible()
    canvas.focus()


def _type_into(table: Locator, steps: Sequence[str], text: str) -> None:
    """Go from the first cell by arrow keys, and type over the cell that is reached."""
    _focus(table)
    page = table.page
    for step in steps:
        page.keyboard.press(step)
    page.keyboard.press("Enter")
    cell = page.locator("#portal input")
    expect(cell).to_be_focused()
    cell.fill(text)
    page.keyboard.press("Enter")
    expect(cell).to_have_count(0)


def _use(page: Page, form: int, outcome: Locator) -> None:
    """Use the figures of a form, as often as it takes: a table tells its edits a moment later."""
    button = page.get_by_test_id("stForm").nth(form)
    button = button.get_by_role("button", name="Use these figures")
    for _ in range(PRESSES):
        button.press("Enter")
        try:
            outcome.wait_for(state="attached", timeout=MOMENT_MS)
        except TooLateError:
            continue
        break
    expect(outcome).to_be_attached()
    settle(page)


def _taken(page: Page) -> Plan:
    """Take the plan away as it stands on the page."""
    go_to(page, "Plans and diary")
    open_part(page, "Plans")
    with page.expect_download() as download:
        page.get_by_role("button", name="Plan with the figures on the page, TOML").click()
    return parse_plan(Path(download.value.path()).read_bytes(), "plan.toml")


def _changed(opened: Path, name: str, place: int, value: float) -> Plan:
    """Return the plan that was opened, with one figure of a list changed."""
    plan = read_plan(opened)
    figures = list(getattr(plan.valley, name))
    figures[place] = value
    return plan.model_copy(update={"valley": plan.valley.model_copy(update={name: tuple(figures)})})


@pytest.mark.parametrize(
    ("table", "steps", "name", "place", "value"),
    [
        # of the lake at 150,000 ML, a wider surface
        ("surface", ["ArrowRight", *["ArrowDown"] * 3], "surface_area_ha", 3, 2_900.0),
        # towns need far more in October; the month's name comes first
        ("monthly", ["ArrowRight"] * 3 + ["ArrowDown"] * 3, "essential_ml", 3, 9_000.0),
    ],
)
def test_table_when_a_cell_is_typed_over_then_plan_and_odds_change(
    open_page, opened_plan: Path, table: str, steps: list[str], name: str, place: int, value: float
) -> None:
    """One cell of the plan changes, and with it the chance of none and what is set aside."""
    page = open_page(on="This season")
    before = _odds(page)
    go_to(page, "Our valley")
    _the_dam(page)
    number = TABLES.index(table)
    grid = page.get_by_test_id("stDataFrame").nth(number)
    _type_into(grid, steps, f"{value:.0f}")
    _use(page, number, page.locator(".st-key-strip").get_by_text("1 not saved", exact=True))
    go_to(page, "This season")
    after = _odds(page)
    assert after[0] != before[0]
    assert after[1] != before[1]
    assert _taken(page) == _changed(opened_plan, name, place, value)


def test_table_when_a_cell_is_emptied_then_nothing_is_changed_and_it_is_said(
    open_page, opened_plan: Path
) -> None:
    """A blank cell is refused; the plan stays as it was."""
    page = open_page(on="Our valley")
    _the_dam(page)
    grid = page.get_by_test_id("stDataFrame").nth(0)
    _focus(grid)
    for key in ("ArrowRight", "ArrowDown", "Delete"):
        page.keyboard.press(key)
    _use(page, 0, page.get_by_text("A cell is blank", exact=False))
    expect(page.locator(".st-key-strip")).not_to_contain_text("not saved")
    assert _taken(page) == read_plan(opened_plan)
