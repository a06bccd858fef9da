"""Is a chart drawn once when a control is moved, and does it follow a page that turns dark?

The library that draws is asked anew for a chart more often than the chart changes; what counts is
whether anything in its picture was touched.
"""

from __future__ import annotations

import itertools

import pytest
from playwright.sync_api import Page, expect

from dashboard.charts.look import DARK, LIGHT
from tests.browser.steps import CHARTS, PARTS, change, go_to, open_part, settle, shown

FOLLOW_THE_DAM = {name: key for name, key in CHARTS.items() if name != "Today"}

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
    shown(page, "This season")
    change(page)
    ends = itertools.cycle(("Home", "End"))
    for name, first in FOLLOW_THE_DAM.items():
        if name != "This season":
            go_to(page, name)
            change(page)
        assert _draws_when_the_dam_is_moved(page, next(ends), first) == {f"st-key-{first}": 1}
        for part, key in PARTS.get(name, {}).items():
            page.keyboard.press("Escape")
            open_part(page, part, key)
            change(page)
            draws = _draws_when_the_dam_is_moved(page, next(ends), key)
            assert set(draws.values()) == {1}, (name, part, draws)


@pytest.mark.parametrize("opened", ["light", "dark"])
def test_charts_when_the_page_turns_then_their_words_turn_with_it(open_page, opened: str) -> None:
    """A page that turns light or dark while it is open has its charts drawn in its colours."""
    page = open_page(on="Today", scheme=opened)
    title = page.locator(".st-key-today_none[data-stale=false] .gtitle")
    schemes = {"light": LIGHT, "dark": DARK}
    other = "light" if opened == "dark" else "dark"
    for scheme in (opened, other, opened):
        page.emulate_media(color_scheme=scheme)
        colour = schemes[scheme].text
        rgb = ", ".join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5))
        expect(title).to_have_css("fill", f"rgb({rgb})")
        settle(page)
