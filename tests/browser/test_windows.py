"""What do two windows of one browser see of each other, while both are open and once one is closed?

Journeys with two pages of one context, as a person has them: a second window, a copied tab. What a
closed window left is offered; what an open one has is not, and nothing of the two is mixed.
"""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.browser.steps import go_to, open_part, settle, shown
from tests.browser.test_keeping import _dam, _save_as, _set

PLAN = "two at once"
OPEN_TOO = "This plan is open in another window too."


def _offered(page: Page) -> list[str]:
    """Read the plans that closed windows are said to have left."""
    box = page.get_by_role("combobox", name="Left", exact=True)
    if box.count() == 0:
        return []
    box.click()
    options = page.get_by_role("option").all_inner_texts()
    assert options
    page.keyboard.press("Escape")
    return options


def _ours(page: Page) -> list[str]:
    """Read what is offered of this test's plan, without the time it was kept."""
    return [text.split(", ")[0] for text in _offered(page) if text.startswith(f"{PLAN}: ")]


def test_second_window_when_the_first_is_open_then_it_is_offered_only_once_closed(
    open_page,
) -> None:
    """A window that is open is told of, not offered; closed, what it left can be gone on with."""
    first = open_page(on="Today")
    _save_as(first, PLAN)
    _set(first, "Water in the dam, ML", "41000")
    second = open_page(on="Today", beside=first)
    assert _ours(second) == []
    go_to(second, "Plans and diary")
    open_part(second, "Plans")
    second.get_by_role("combobox", name="Plan", exact=True).click()
    second.get_by_role("option", name=PLAN).click()
    second.get_by_role("button", name="Open this plan").click()
    expect(second.get_by_text(f"{PLAN} is open.")).to_be_visible()
    settle(second)
    go_to(second, "Today")
    expect(second.get_by_text(OPEN_TOO, exact=False)).to_contain_text("(1 figure)")
    assert _ours(second) == []
    first.close()
    second.reload()
    shown(second, "Today")
    expect(second.get_by_text(OPEN_TOO, exact=False)).to_have_count(0)
    assert _ours(second) == [f"{PLAN}: 1 figure not saved"]
    second.get_by_role("combobox", name="Left", exact=True).click()
    second.get_by_role("option", name=f"{PLAN}: 1 figure").click()
    second.get_by_role("button", name="Go on with it").click()
    expect(second.locator(".st-key-strip")).to_contain_text("dam 41,000 ML")
    settle(second)
    assert _dam(second) == "41000"


def test_copied_tab_when_both_are_changed_then_each_keeps_its_own_figures(open_page) -> None:
    """A tab opened on another's address has its figures, then its own, also after a reload."""
    first = open_page(on="Today")
    _set(first, "Water in the dam, ML", "42000")
    copied = first.url
    copy = open_page(beside=first, address=copied)
    shown(copy, "Today")
    assert _dam(copy) == "42000"
    assert copy.url != copied
    _set(copy, "Water in the dam, ML", "43000")
    for page, kept in ((first, "42000"), (copy, "43000")):
        page.reload()
        shown(page, "Today")
        assert _dam(page) == kept
        expect(page.locator(".st-key-strip")).to_contain_text("1 not saved")
        expect(page.get_by_text(OPEN_TOO, exact=False)).to_contain_text("(1 figure)")
