"""What journeys in a browser have in common: waiting, and the rules that every page keeps."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

PARTS = {
    "Water ahead": {
        "Over the months": "announced_to_date_ml_per_share",
        "What is set aside first": "set_aside",
        "Nothing announced": "none",
    },
    "Month by month": {"What is set aside": "walk_set_aside"},
    "Plant or hold": {"The driest on record": "plant_cash", "One more megalitre": "worth"},
    "Strategies side by side": {
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
