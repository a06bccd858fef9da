"""How long until the page shows what a moved control did? `python -m tests.benchmarks.redraw`.

A real browser, the page's own clock: from the key that moves a slider to the frame that paints the
new first chart, and the last chart of the page. Also from the command to the heading and to the
first chart, in a window that is open already, as the browser paints them. Needs Chromium, as the
browser tests do.
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
  note('chart', document.querySelector('.st-key-plant_cash .main-svg'));
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


def main() -> None:
    """Measure and print."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        starts = [started(browser) for _ in range(STARTS)]
        heading, chart = (statistics.median(times) for times in zip(*starts, strict=True))
        print(
            f"command to heading {heading:.2f} s (goal 2), first chart {chart:.2f} s (goal 4): "
            f"medians of {STARTS}"
        )
        every_first: list[float] = []
        every_last: list[float] = []
        with served() as dashboard:
            for control in CONTROLS:
                page = browser.new_page(viewport={"width": FULL_WIDTH, "height": FULL_HEIGHT})
                page.goto(dashboard.address)
                firsts, lasts = moved(page, control)
                every_first += firsts
                every_last += lasts
                print(
                    f"{control.page}, {control.said}: first chart "
                    f"{statistics.median(firsts):.0f} ms, whole page "
                    f"{statistics.median(lasts):.0f} ms (medians of {MOVES}; goal 200)"
                )
                page.close()
        print(
            f"all moves: first chart {statistics.median(every_first):.0f} ms, whole page "
            f"{statistics.median(every_last):.0f} ms (medians of {len(every_last)}; goal 200)"
        )
        browser.close()


def started(browser: Browser) -> tuple[float, float]:
    """Start the dashboard and go to it; give the times from the command to heading and chart, s."""
    page = browser.new_page(viewport={"width": FULL_WIDTH, "height": FULL_HEIGHT})
    page.add_init_script(PAINTED)
    with served() as dashboard:
        gone = time.monotonic() - dashboard.began
        page.goto(dashboard.address, wait_until="commit")
        page.wait_for_function("() => window.painted?.chart", timeout=PATIENCE_MS)
        painted = page.evaluate("() => window.painted")
        page.close()
    return gone + painted["heading"] / 1000, gone + painted["chart"] / 1000


def moved(page: Page, control: Control) -> tuple[list[float], list[float]]:
    """Move a slider many times; give the times to the first new chart and to the whole page, ms."""
    page.get_by_role("link", name=control.page, exact=True).click()
    _settled(page)
    if control.key == DAM:
        change(page)
    slider = page.locator(f".st-key-{control.key}").get_by_role("slider").first
    slider.wait_for(timeout=PATIENCE_MS)
    _settled(page)
    page.evaluate(WATCH)
    firsts, lasts = [], []
    for move in range(MOVES + WARMING):
        slider.press("ArrowRight" if move % 2 and not control.one_way else "ArrowLeft")
        page.wait_for_function("() => window.redraw.last !== null", timeout=PATIENCE_MS)
        redraw = page.evaluate("() => window.redraw")
        _settled(page)
        if move >= WARMING:
            firsts.append(redraw["first"])
            lasts.append(redraw["last"])
    return firsts, lasts


def _settled(page: Page) -> None:
    page.locator(".js-plotly-plot .main-svg").first.wait_for(timeout=PATIENCE_MS)
    page.wait_for_function(SETTLED, timeout=PATIENCE_MS)


if __name__ == "__main__":
    main()
