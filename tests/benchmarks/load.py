"""Does the dashboard stay quick, and each window on its own plan, with twenty windows at once?

`python -m tests.benchmarks.load`: starts a server on loopback and opens twenty windows of a real
browser, each a session with a dam level of its own; in each round all are moved before any answer
is read. Every answer is checked: a page must say the level that its own session set. Prints answer
times, and the server's memory idle, with one session and with all; exits 1 if any session saw
another's figures.
"""

from __future__ import annotations

import re
import statistics
import sys
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import CHROMIUM, FLAGS
from tests.served import Served, served

SESSIONS = 20
ROUNDS = 3
PATIENCE_MS = 120_000


def main() -> int:
    """Run the load and print what it found."""
    with served() as dashboard:
        return _load(dashboard)


def _load(dashboard: Served) -> int:
    address, server = dashboard.address, dashboard.process_id
    print(f"server idle: {_memory_mb(server):.0f} MB")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        first = [_open(browser.new_page(), address)]
        print(f"one session: {_memory_mb(server):.0f} MB, opened in {first[0][1]:.1f} s")
        opened = first + [_open(browser.new_page(), address) for _ in range(SESSIONS - 1)]
        pages = [page for page, _ in opened]
        print(f"{SESSIONS} sessions: {_memory_mb(server):.0f} MB")
        times, crossed = [], 0
        for turn in range(ROUNDS):
            levels = [20_250 + 10_000 * at + 500 * turn for at in range(SESSIONS)]
            begun = time.monotonic()
            for page, level in zip(pages, levels, strict=True):  # all are sent before any is read
                field = page.get_by_role("spinbutton", name="Water in the dam, ML")
                field.fill(str(level))
                field.press("Enter")
            sent = time.monotonic()
            for page, level in zip(pages, levels, strict=True):
                page.get_by_text(f"dam {level:,} ML of", exact=False).wait_for()
                times.append(time.monotonic() - begun)
            print(f"round {turn + 1}: sent in {sent - begun:.1f} s, all answered {times[-1]:.1f} s")
            for page, level in zip(pages, levels, strict=True):
                page.get_by_role("table").filter(has_text=f"{level:,}").first.wait_for()
                said = page.locator("body").inner_text()
                shown = set(re.findall(r"[\d,]*\d", said))  # whole numbers, not parts of them
                crossed += any(f"{other:,}" in shown for other in levels if other != level)
        print(f"median of all answers, from the first key press: {statistics.median(times):.1f} s")
        print(f"server after {ROUNDS} rounds: {_memory_mb(server):.0f} MB")
        print(f"windows that showed another's figures: {crossed}")
        browser.close()
    return 1 if crossed else 0


def _open(page: Page, address: str) -> tuple[Page, float]:
    """Open a window; give it with the seconds to its first chart."""
    page.set_default_timeout(PATIENCE_MS)
    begun = time.monotonic()
    page.goto(address)
    page.locator(".st-key-today_none .gtitle").first.wait_for()
    return page, time.monotonic() - begun


def _memory_mb(process: int) -> float:
    """Return the resident memory of a process on Linux, MB."""
    status = Path(f"/proc/{process}/status").read_text()
    return int(next(line for line in status.splitlines() if "VmRSS" in line).split()[1]) / 1024


if __name__ == "__main__":
    sys.exit(main())
