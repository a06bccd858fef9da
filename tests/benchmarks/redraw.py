"""How long until the page shows what a moved control did? `python -m tests.benchmarks.redraw`.

A real browser, the page's own clock: from the key that moves a slider to the frame that paints the
new first chart or picture, and until the page is whole. Also from the command to the heading and to
the first picture, in a window that is open already, as the browser paints them. Machines differ
twofold: beside each stands what the framework itself takes in the same run, on a bare page of one
slider and one chart of five lines (`bare_page.py`). Needs Chromium, as the browser tests do.
"""

from __future__ import annotations

import statistics
import time
from dataclasses import dataclass

from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.conftest import CHROMIUM, FLAGS, FULL_HEIGHT, FULL_WIDTH
from tests.browser.steps import SETTLED, change
from tests.served import served

MOVES = 25
WARMING = 5
STARTS = 5
PATIENCE_MS = 60_000

WATCH = """
() => {
  const charts = () => [...document.querySelectorAll('[data-stale="false"] .js-plotly-plot, '
      + '.js-plotly-plot:not([data-stale="true"] *)')]
    .filter(chart => !chart.closest('[data-stale="true"]') && chart.querySelector('.main-svg'));
  const drawn = () => charts().map(chart => JSON.stringify(chart.data.map(
    trace => [Array.from(trace.x?._inputArray || trace.x || []),
              Array.from(trace.y?._inputArray || trace.y || [])])));
  window.redraw = {first: null, last: null};
  document.addEventListener('keydown', () => {
    const before = new Set(drawn());
    const began = performance.now();
    window.redraw = {first: null, last: null, began};
    const look = () => {
      const now = drawn();
      const fresh = now.filter(one => !before.has(one)).length;
      if (fresh && window.redraw.first === null) window.redraw.first = performance.now() - began;
      const app = document.querySelector('[data-testid="stApp"]');
      const still = document.querySelector('[data-stale="true"]');
      if (window.redraw.first !== null && app.dataset.testScriptState === 'notRunning' && !still)
        window.redraw.last = performance.now() - began;
      else if (performance.now() - began < 20000) requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  }, true);
}
"""


PAINTED = """
window.painted = {};
const look = () => {
  const note = (name, found) => { if (found) window.painted[name] ??= performance.now(); };
  note('heading', document.querySelector('h1'));
  note('chart', document.querySelector('.st-key-areas svg, .st-key-bare .main-svg'));
  requestAnimationFrame(look);
};
requestAnimationFrame(look);
"""
"""Notes by the page's own clock, which begins as it is gone to, in which frame each is painted."""


@dataclass(frozen=True, slots=True)
class Control:
    """A slider of a page."""

    page: str
    key: str  # of the control
    said: str
    one_way: bool = False  # going back would show a result that was kept, not a new one


DAM = "slider-opening-storage_ml"
CONTROLS = (
    Control("Dry years again", DAM, "the dam", one_way=True),
    Control("This season", "plant_area", "the area"),
    Control("This season", "plant_hold_back", "the hold-back"),
    Control("This season", DAM, "the dam", one_way=True),
    Control("Ways compared", DAM, "the dam", one_way=True),
    Control("Money", DAM, "the dam", one_way=True),
)
"""On the first three little is worked out anew; on the last three the whole farm is."""


BARE = ("tests.benchmarks.bare_page",)
"""What serves the bare page."""


def main() -> None:
    """Measure and print."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        bare_start = _start(browser, *BARE)
        heading, chart = _start(browser)
        print(
            f"command to heading {heading:.2f} s, {heading / bare_start[0]:.1f} times the bare "
            f"page's {bare_start[0]:.2f} (goal 1.5); first picture {chart:.2f} s, "
            f"{chart / bare_start[0]:.1f} times (goal 2): medians of {STARTS}"
        )
        with served(*BARE) as dashboard:
            page = _opened(browser, dashboard.address)
            bare_ms, _ = (statistics.median(times) for times in pressed(page, "slider", False))
            page.close()
        print(f"the bare page redraws in {bare_ms:.0f} ms (median of {MOVES})")
        with served() as dashboard:
            for control in CONTROLS:
                page = _opened(browser, dashboard.address)
                first, last = (statistics.median(times) for times in moved(page, control))
                print(
                    f"{control.page}, {control.said}: first new picture {first:.0f} ms, "
                    f"{first / bare_ms:.1f} times (goal 1.5); whole page {last:.0f} ms, "
                    f"{last / bare_ms:.1f} times (goal 1.7)"
                )
                page.close()
        browser.close()


def _opened(browser: Browser, address: str) -> Page:
    page = browser.new_page(viewport={"width": FULL_WIDTH, "height": FULL_HEIGHT})
    page.goto(address)
    return page


def _start(browser: Browser, *command: str) -> tuple[float, float]:
    """Start a page some times; return the median times to heading and to its first picture, s."""
    starts = [started(browser, *command) for _ in range(STARTS)]
    heading, chart = (statistics.median(times) for times in zip(*starts, strict=True))
    return heading, chart


def started(browser: Browser, *command: str) -> tuple[float, float]:
    """Start a dashboard, go to it; return the times from the command to heading and picture, s."""
    page = browser.new_page(viewport={"width": FULL_WIDTH, "height": FULL_HEIGHT})
    page.add_init_script(PAINTED)
    with served(*command) as dashboard:
        gone = time.monotonic() - dashboard.began
        page.goto(dashboard.address, wait_until="commit")
        page.wait_for_function("() => window.painted?.chart", timeout=PATIENCE_MS)
        painted = page.evaluate("() => window.painted")
        page.close()
    return gone + painted["heading"] / 1000, gone + painted["chart"] / 1000


def moved(page: Page, control: Control) -> tuple[list[float], list[float]]:
    """Go to a control's page and move it many times; see `pressed`."""
    page.get_by_role("link", name=control.page, exact=True).click()
    _settled(page)
    if control.key == DAM:
        change(page)
    return pressed(page, control.key, control.one_way)


def pressed(page: Page, key: str, one_way: bool) -> tuple[list[float], list[float]]:
    """Move a slider many times; return the times to the first new picture and to all, ms."""
    slider = page.locator(f".st-key-{key}").get_by_role("slider").first
    slider.wait_for(timeout=PATIENCE_MS)
    _settled(page)
    page.evaluate(WATCH)
    firsts, lasts = [], []
    for move in range(MOVES + WARMING):
        slider.press("ArrowRight" if move % 2 and not one_way else "ArrowLeft")
        page.wait_for_function("() => window.redraw.last !== null", timeout=PATIENCE_MS)
        redraw = page.evaluate("() => window.redraw")
        _settled(page)
        if move >= WARMING:
            firsts.append(redraw["first"])
            lasts.append(redraw["last"])
    return firsts, lasts


def _settled(page: Page) -> None:
    page.locator(".js-plotly-plot .main-svg, svg.picture").first.wait_for(timeout=PATIENCE_MS)
    page.wait_for_function(SETTLED, timeout=PATIENCE_MS)


if __name__ == "__main__":
    main()
