"""What the browser tests share: a server on a free port, a Chromium, and a page that is watched.

Nothing is skipped: without a browser these tests fail and say what to install. Every page fails its
test on an error in the page, an error in the console, or a request to any other address.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    expect,
    sync_playwright,
)

from model.plan.shipped import demonstration_plan
from tests.browser.steps import address_of, shown
from tests.served import served

CHROMIUM = Path(os.environ.get("CHROMIUM", "/usr/bin/chromium"))
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
FAILURES = Path(__file__).parent / "failures"
PATIENCE_MS = 90_000
"""Long: two tests at once share the processor, and waiting ends as soon as the outcome is there."""

QUICK = {'method = "present" ': 'method = "blocks" ', "\ncount = 5_000\n": "\ncount = 400\n"}
"""What of the demonstration's text stands otherwise in the plan that is opened."""

FULL_WIDTH = 1280
FULL_HEIGHT = 900

OpenPage = Callable[..., Page]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder, so that `-m "not browser"` leaves it out."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """Keep each test's outcome where its page can see it."""
    report = yield
    if report.when == "call":
        item.stash[OUTCOME] = report.failed
    return report


OUTCOME = pytest.StashKey[bool]()


@pytest.fixture(scope="session", name="opened_plan")
def _opened_plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the demonstration with few sequences, drawn by the quickest method; give its file.

    What these tests ask of a page does not hang on how well the odds are known.
    """
    shipped = demonstration_plan()
    plan = tmp_path_factory.mktemp("opened") / shipped.name
    record = shipped.with_name("demonstration_record.csv")
    shutil.copy(record, plan.with_name(record.name))
    text = shipped.read_text("utf-8")
    for stated, instead in QUICK.items():
        assert text.count(stated) == 1
        text = text.replace(stated, instead)
    plan.write_text(text, "utf-8")
    return plan


@pytest.fixture(scope="session", name="server")
def _server(opened_plan: Path) -> Iterator[str]:
    """Start the dashboard on the plan of these tests; give its address."""
    with served("tests.browser.quick_dashboard", str(opened_plan)) as dashboard:
        yield dashboard.address


@pytest.fixture(scope="session", name="browser")
def _browser() -> Iterator[Browser]:
    """Start Chromium."""
    if not CHROMIUM.is_file():
        pytest.fail(
            f"no browser at {CHROMIUM}: install Chromium (Debian: apt-get install chromium), or "
            "name another Chromium with the environment variable CHROMIUM",
            pytrace=False,
        )
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture(name="open_page")
def _open_page(browser: Browser, server: str, request: pytest.FixtureRequest) -> Iterator[OpenPage]:
    """Return a function that opens a page in a window of its own, or beside another.

    Named by its link (`on`), a page is opened at its address and waited for: the first page, the
    longest to draw, is drawn where a test asks something of it.
    """
    pages: list[Page] = []
    wrong: list[str] = []
    sent: list[str] = []
    began = time.monotonic()

    def note_sent(frame: str | bytes) -> None:
        sent.append(f"{time.monotonic() - began:.3f} s: {len(frame)} bytes")

    def new_context(width: int, scheme: str) -> BrowserContext:
        return browser.new_context(
            viewport={"width": width, "height": FULL_HEIGHT},
            color_scheme="dark" if scheme == "dark" else "light",
            reduced_motion="reduce",
        )

    def open_page(
        *,
        on: str = "",
        width: int = FULL_WIDTH,
        scheme: str = "light",
        beside: Page | None = None,
        address: str = server,
    ) -> Page:
        context = beside.context if beside is not None else new_context(width, scheme)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        pages.append(page)
        _watch(page, server, wrong)
        page.on("websocket", lambda socket: socket.on("framesent", note_sent))
        page.goto(f"{server}/{address_of(on)}" if on else address)
        if on:
            shown(page, on)
        return page

    yield open_page
    if request.node.stash.get(OUTCOME, False) or wrong:
        sys.stdout.write("Sent to the server, of all windows:\n" + "\n".join(sent) + "\n")
        FAILURES.mkdir(exist_ok=True)
        name = re.sub(r"[^\w-]+", "-", request.node.name)
        for number, page in enumerate((page for page in pages if not page.is_closed()), start=1):
            page.screenshot(path=FAILURES / f"{name}-{number}.png", full_page=True)
    for page in pages:
        page.context.close()
    assert wrong == []


def _watch(page: Page, server: str, wrong: list[str]) -> None:
    """Note errors of a page, and requests that leave this computer's server."""

    def on_console(message: ConsoleMessage) -> None:
        if message.type == "error":
            wrong.append(f"console: {message.text} ({message.location.get('url')})")

    page.on("console", on_console)
    page.on("pageerror", lambda error: wrong.append(f"page: {error}"))
    own = (f"{server}/", server.replace("http", "ws", 1) + "/", "data:", "blob:")
    for event in ("request", "websocket"):
        page.on(
            event,
            lambda sent: None if sent.url.startswith(own) else wrong.append(f"sent to {sent.url}"),
        )
