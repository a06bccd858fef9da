"""Is a chart drawn once when a control is moved, and does it follow a page that turns dark?

The library that draws is asked anew for a chart more often than the chart changes; what counts is
whether anything in its picture was touched.
"""

from __future__ import annotations

import itertools

import pytest
from playwright.sync_api import Page, expect

from dashboard.charts.look import DARK, LIGHT
from tests.browser.steps import PARTS, settle

PAGES = {
    "Water ahead": ("How likely is it that nothing is announced?", "reached"),
    "Month by month": ("One run of seasons, month by month", "walk"),
    "Plant or hold": ("Plant, or hold?", "plant_cash"),
    "Strategies side by side": ("Which way of running the farm?", "standing"),
    "Money": ("Does the money hold out?", "money_bank"),
}
"""Pages on which the dam moves: a heading of each, and the chart that is open at first."""

COUNT_DRAWS = """() => {
    window.draws = {};
    const ask = (window.asked ??= window.Plotly.react);
    window.Plotly.react = function (chart, ...how) {
        let touched = 0;
        const watch = new MutationObserver((records) => { touched += records.length; });
        watch.observe(chart, {subtree: true, childList: true, attributes: true});
        return ask.call(this, chart, ...how).then((drawn) => {
            touched += watch.takeRecords().length;
            watch.disconnect();
            const key = [...chart.closest('[class*=st-key-]').classList].find(
                (name) => name.startsWith('st-key-'));
            window.draws[key] ??= [];
            window.draws[key].push(touched > 0);
            return drawn;
        });
    };
}"""
"""Notes, for each time that a chart is asked for, whether its picture was touched."""


def _go_to(page: Page, name: str) -> None:
    heading, chart = PAGES[name]
    page.get_by_role("link", name=name, exact=True).click()
    expect(page.get_by_role("heading", name=heading)).to_be_attached()
    _shown(page, chart)


def _shown(page: Page, chart: str) -> None:
    expect(page.locator(f".st-key-{chart}[data-stale=false] .gtitle")).to_have_count(1)
    settle(page)


def _draws_when_the_dam_is_moved(page: Page, to: str, chart: str) -> dict[str, int]:
    """Move the dam to an end by a key; count how often each chart asked for was drawn."""
    page.evaluate(COUNT_DRAWS)
    page.locator(".st-key-slider-opening-storage_ml").get_by_role("slider").press(to)
    page.wait_for_function(f"() => (window.draws['st-key-{chart}'] || []).length > 1")
    settle(page)
    return {key: sum(touched) for key, touched in page.evaluate("() => window.draws").items()}


def test_charts_when_a_control_is_moved_then_each_is_drawn_once(open_page) -> None:
    """On every page whose charts follow the dam, each of them is drawn once when it is moved."""
    page = open_page()
    ends = itertools.cycle(("Home", "End"))
    for name, (_, first) in PAGES.items():
        _go_to(page, name)
        assert _draws_when_the_dam_is_moved(page, next(ends), first) == {f"st-key-{first}": 1}
        for part, chart in PARTS.get(name, {}).items():
            page.get_by_role("tab", name=part).click()
            _shown(page, chart)
            draws = _draws_when_the_dam_is_moved(page, next(ends), chart)
            assert set(draws.values()) == {1}, (name, part, draws)


@pytest.mark.parametrize("opened", ["light", "dark"])
def test_charts_when_the_page_turns_then_their_words_turn_with_it(open_page, opened: str) -> None:
    """A page that turns light or dark while it is open has its charts drawn in its colours."""
    page = open_page(scheme=opened)
    title = page.locator(".st-key-today_none[data-stale=false] .gtitle")
    schemes = {"light": LIGHT, "dark": DARK}
    other = "light" if opened == "dark" else "dark"
    for scheme in (opened, other, opened):
        page.emulate_media(color_scheme=scheme)
        colour = schemes[scheme].text
        rgb = ", ".join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5))
        expect(title).to_have_css("fill", f"rgb({rgb})")
        settle(page)
