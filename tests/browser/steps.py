"""What journeys in a browser have in common: waiting, and the rules that every page keeps."""

from __future__ import annotations

import re

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, expect

FINISHED = re.compile(r"^With the example's figures: .*ha.*: finished .*If no more water comes")
"""The answer of This season with the demonstration's plan, under its heading."""

HEADINGS: dict[str, str | re.Pattern[str]] = {
    "This season": "Example farm",
    "Ways compared": re.compile(r"ends best on average|All end alike"),
    "Money": re.compile(r"^Over the limit .*in 100"),
    "Dry years again": re.compile(r"finished in .*the bank falls to"),
    "Papers": "On paper, for a partner or a lender",
    "How it has done": re.compile("^(Not tried yet|Tried) on the observed years"),
    "Today": "Where things stand today",
    "Our farm": "Our farm",
    "Our valley": "Our valley",
    "Record": re.compile(r"^Record$"),
    "Plans and diary": "Plans and diary",
}
"""Every page by its link, and the heading that is its answer."""

CHARTS = {
    "Ways compared": "standing",
    "Money": "money_bank",
    "Dry years again": "walk",
    "Today": "today_none",
}
"""Pages that open with a chart, and its key."""

PARTS = {
    "This season": {
        "The bank": "plant_cash",
        "One more megalitre": "worth",
        "Water ahead": "reached",
    },
    "Dry years again": {"What is set aside": "walk_set_aside"},
    "Ways compared": {
        "What may go wrong": "went_wrong",
        "Season by season": "season_amount_chart",
        "Run by run": "ahead",
    },
    "Money": {
        "What may go wrong": "money_chances",
        "What a lender asks for": "money_measure_chart",
        "If it turns against you": "money_stress",
    },
}
"""Parts of pages that are folded away at first, and a chart that is there when each is open."""

WATER_PARTS = {
    "Over the months": "announced_to_date_ml_per_share",
    "What is set aside first": "set_aside",
    "Nothing announced": "none",
}
"""The same, of the part Water ahead."""

NARROW_PX = 700

SETTLED = """() => {
    const app = document.querySelector('[data-testid="stApp"]');
    return app && app.dataset.testScriptState === 'notRunning'
        && app.dataset.testConnectionState === 'CONNECTED'
        && !document.querySelector('[data-testid="stSkeleton"],[data-stale="true"]');
}"""

TOO_WIDE = """() => Math.max(...['html', '[data-testid="stMain"]'].map((place) => {
    const element = document.querySelector(place);
    return element.scrollWidth - element.clientWidth;
}))"""


def settle(page: Page) -> None:
    """Wait until nothing is being run or drawn: after the outcome, never instead of it."""
    page.wait_for_function(SETTLED)


def go_to(page: Page, name: str) -> None:
    """Follow a link of the menu, folded away on a narrow page, and wait for all of its page."""
    narrow = page.viewport_size is not None and page.viewport_size["width"] < NARROW_PX
    if narrow:
        page.get_by_test_id("stExpandSidebarButton").click()
    page.locator(".st-key-pages").get_by_role("link", name=name, exact=True).click()
    if narrow:
        page.get_by_test_id("stSidebarCollapseButton").get_by_role("button").click()
        expect(page.get_by_test_id("stExpandSidebarButton")).to_be_visible()
    shown(page, name)


def address_of(name: str) -> str:
    """Name a page in its address, from its link: the first has none."""
    return "" if name == "This season" else name.lower().replace(" ", "_")


def shown(page: Page, name: str) -> None:
    """Wait until a page is whole."""
    expect(page.get_by_role("heading", name=HEADINGS[name], level=1)).to_be_visible()
    if name in CHARTS:
        expect(chart(page, CHARTS[name])).to_have_count(1)
    settle(page)


def chart(page: Page, key: str) -> Locator:
    """Find the title of a chart in its newest state."""
    return page.locator(f".st-key-{key}[data-stale=false] .gtitle")


def open_part(page: Page, name: str, key: str = "") -> None:
    """Open a part of a page; wait for its chart, if it has one."""
    page.get_by_role("radio", name=name, exact=True).click()
    expect(page.get_by_role("radio", name=name, exact=True)).to_be_checked()
    if key:
        expect(chart(page, key)).to_have_count(1)
    settle(page)


def change(page: Page) -> None:
    """Open what changes most, over the page."""
    page.locator(".st-key-change button").first.click()
    expect(page.locator(".st-key-slider-opening-storage_ml")).to_be_visible()


def broken_rules(page: Page) -> list[str]:
    """List the WCAG rules that axe-core finds broken, each with a place."""
    return [
        f"{rule['id']}: {rule['nodes'][0]['html']}"
        for rule in Axe().run(page).response["violations"]
        if any(tag.startswith("wcag") for tag in rule["tags"])
    ]


def too_wide_px(page: Page) -> int:
    """Measure how far a page reaches beyond its window sideways."""
    return int(page.evaluate(TOO_WIDE))
