"""Does the dashboard work for a person in a real browser?

Journeys, as a person goes: look, move the dam, walk through months, mistype and mend, take the
plan away. Then who can use it (accessibility rules of WCAG, checked by axe-core) and who cannot
reach it.
Elements are found by key or by what a person reads; each step waits for its outcome.
"""

from __future__ import annotations

import re
import socket
import statistics
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from model.plan.text import parse_plan, read_plan
from model.say.cautions import FARM_CAUTION
from tests.browser.steps import (
    HEADINGS,
    PARTS,
    WATER_PARTS,
    broken_rules,
    change,
    chart,
    go_to,
    open_part,
    settle,
    shown,
    too_wide_px,
)

TO_READ = ("This season", "Ways compared", "Money", "Dry years again", "Papers", "How it has done")
"""The pages to read: the others, which keep things, have a test of their own."""

STEPS_OF_THE_DAM = 4
"""Key presses whose redraw is measured: the median of few is steady enough to compare."""

ADDED_ROOM = """() => Object.fromEntries(
    [...document.querySelectorAll('.js-plotly-plot')].flatMap((chart, number) =>
        ['l', 'r', 't', 'b'].map((side) => [
            `${number} ${side}`,
            Math.round(chart._fullLayout._size[side] - chart.layout.margin[side]),
        ])))"""
"""Room beside each chart's axes that the browser had to add, px."""

WATCH_REDRAW = """(before) => {
    window.redraw = new Promise((done) => {
        let pressed = 0;
        document.addEventListener('keydown', () => { pressed = performance.now(); },
            {once: true, capture: true});
        const look = () => {
            const title = document.querySelector('.st-key-set_aside[data-stale=false] .gtitle');
            const text = title ? title.textContent : before;
            if (pressed && text !== before) {
                requestAnimationFrame(() => done(performance.now() - pressed));
            } else {
                requestAnimationFrame(look);
            }
        };
        look();
    });
}"""


def _said(page: Page, key: str) -> str:
    """Read the title of a chart; its lines follow each other without a space."""
    return chart(page, key).text_content() or ""


def _water(page: Page) -> None:
    """Go to the odds of water."""
    shown(page, "This season")
    open_part(page, "Water ahead", "reached")


def _described(page: Page, key: str) -> None:
    """Check that a chart's description is its title."""
    title = _said(page, key)
    described = page.locator(f".st-key-{key} [role=figure]").get_attribute("aria-label")
    assert described
    assert re.sub(r"\s", "", described) == re.sub(r"\s", "", title)


def _chance(page: Page) -> str:
    """Read the chance that nothing is announced, with its ranges."""
    return page.get_by_text(re.compile(r"^The record supports \d")).first.inner_text()


def _least(said: str) -> float:
    """Return the lower end of the range that a chance is said with, times in 100."""
    found = re.match(r"The record supports ([\d.]+)", said)
    assert found, said
    return float(found[1])


def test_first_visit_when_opened_then_odds_charts_and_the_invented_mark_show(open_page) -> None:
    """The first page says that all is invented, gives the odds, and describes each chart."""
    page = open_page()
    _water(page)
    expect(page.get_by_text("invented example")).to_be_visible()
    expect(page.get_by_text("Nothing more announced in 2025-26", exact=True).first).to_be_visible()
    expect(page.get_by_test_id("stMetric").first).to_contain_text(re.compile("times in 100"))
    for key in ("reached",):
        _described(page, key)
    expect(page.get_by_text(FARM_CAUTION)).to_be_visible()
    for part, key in reversed(WATER_PARTS.items()):
        open_part(page, part, key)
        _described(page, key)
    for amount, key in (
        ("Water in the account", "account_ml_per_share"),
        ("Water in the dam", "storage_end_ml"),
    ):
        page.locator(".st-key-banded").get_by_role("radio", name=amount).click()
        expect(chart(page, key)).to_have_count(1)
        settle(page)


def test_charts_when_drawn_at_full_width_then_none_needed_more_room(open_page) -> None:
    """The room left for axes and legend is enough, else the browser draws a chart twice."""
    page = open_page()
    for name in ("Money", "Today"):
        go_to(page, name)
        expect(page.locator(".js-plotly-plot .main-svg").first).to_be_visible()
        settle(page)
        added_px = page.evaluate(ADDED_ROOM)
        assert added_px
        assert set(added_px.values()) == {0}, (name, added_px)


def test_dry_cycle_when_the_dam_is_moved_by_keyboard_then_chances_follow(
    open_page, record_property: pytest.FixtureRequest
) -> None:
    """A lower dam raises the chance of nothing; each key press redraws the page."""
    page = open_page()
    _water(page)
    before, times = _chance(page), []
    open_part(page, "What is set aside first", "set_aside")
    change(page)
    dam = page.locator(".st-key-slider-opening-storage_ml").get_by_role("slider")
    dam.focus()
    for _ in range(STEPS_OF_THE_DAM):
        title = _said(page, "set_aside")
        page.evaluate(WATCH_REDRAW, title)
        page.keyboard.press("ArrowLeft")
        times.append(page.evaluate("() => window.redraw"))
        expect(chart(page, "set_aside")).not_to_have_text(title)
        settle(page)
    record_property("redraw_median_ms", round(statistics.median(times)))
    sys.stdout.write(f"redraw: median {statistics.median(times):.0f} ms of {len(times)}\n")
    page.keyboard.press("Home")
    expect(page.locator(".st-key-strip")).to_contain_text("dam 0 ML")
    settle(page)
    assert _least(_chance(page)) > _least(before) + 10.0
    page.keyboard.press("ArrowRight")
    expect(page.locator(".st-key-strip")).to_contain_text("dam 500 ML")
    page.keyboard.press("Escape")
    go_to(page, "Dry years again")
    expect(page.locator(".st-key-strip")).to_contain_text("dam 500 ML")


def test_month_by_month_when_walked_then_other_runs_and_observed_years_show(open_page) -> None:
    """Another run and an observed dry stretch give other months; coming back keeps the choice."""
    page = open_page()
    shown(page, "This season")
    go_to(page, "Dry years again")
    first = _said(page, "walk")
    number = page.get_by_role("spinbutton", name="Which possible sequence, 1 to 400")
    number.fill("17")
    number.press("Enter")
    expect(chart(page, "walk")).not_to_have_text(first)
    settle(page)
    second = _said(page, "walk")
    page.get_by_role("radio", name="an observed stretch").click()
    expect(page.get_by_text("in a replay that is hindsight", exact=False)).to_be_visible()
    expect(chart(page, "walk")).to_contain_text(re.compile(r"36\s*months"))
    years = page.get_by_role("combobox", name="From the observed year")
    years.click()
    years.press_sequentially("July 1933")
    page.get_by_role("option", name="July 1933 to June 1934").click()
    expect(chart(page, "walk")).to_contain_text(re.compile("193[3-6]"))
    settle(page)
    go_to(page, "Record")
    expect(page.get_by_role("table")).to_contain_text("Hurst's K")
    go_to(page, "Dry years again")
    expect(page.get_by_text("in a replay that is hindsight", exact=False)).to_be_visible()
    assert second != first


def test_bad_month_when_typed_then_what_to_mend_is_said_and_mending_brings_all_back(
    open_page,
) -> None:
    """A mistyped month shows where, what and what is allowed; no chart stays that might mislead."""
    page = open_page()
    shown(page, "This season")
    before = page.get_by_role("heading", level=1).inner_text()
    go_to(page, "Today")
    expect(page.locator(".js-plotly-plot")).to_have_count(1)
    month = page.get_by_role("textbox", name="Month, YYYY-MM")
    month.fill("2025-13")
    month.press("Enter")
    faults = page.get_by_role("table")
    expect(faults).to_contain_text("2025-13")
    expect(faults).to_contain_text("YYYY-MM, such as 2025-09")
    expect(page.locator(".js-plotly-plot")).to_have_count(0)
    month.fill("2025-09")
    month.press("Enter")
    expect(page.locator(".js-plotly-plot")).to_have_count(1)
    expect(faults).to_have_count(0)
    settle(page)
    go_to(page, "This season")
    assert page.get_by_role("heading", level=1).inner_text() == before


def test_plan_when_taken_away_then_it_opens_as_the_page_stood(open_page, opened_plan: Path) -> None:
    """The plan file that the page gives holds the page's figures, and all comments of the old."""
    page = open_page()
    shown(page, "This season")
    change(page)
    page.locator(".st-key-slider-opening-storage_ml").get_by_role("slider").press("End")
    expect(page.locator(".st-key-strip")).to_contain_text("dam 300,000 ML, 100 %")
    page.locator(".st-key-slider-opening-account_ml_per_share").get_by_role("slider").press(
        "ArrowRight"
    )
    expect(page.locator(".st-key-strip")).to_contain_text("0.18 ML a share")
    settle(page)
    page.keyboard.press("Escape")
    go_to(page, "Plans and diary")
    open_part(page, "Plans")
    with page.expect_download() as download:
        page.get_by_role("button", name="Plan with the figures on the page, TOML").click()
    taken = Path(download.value.path()).read_bytes()
    old = read_plan(opened_plan)
    opening = old.opening.model_copy(update={"storage_ml": 300_000.0, "account_ml_per_share": 0.18})
    assert parse_plan(taken, "plan.toml") == old.model_copy(update={"opening": opening})
    comments = re.compile(r"#.*")
    original = opened_plan.read_text("utf-8")
    assert comments.findall(taken.decode("utf-8")) == comments.findall(original)


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_pages_to_read_when_checked_by_axe_then_no_wcag_rule_is_broken(
    open_page, width: int, scheme: str
) -> None:
    """The pages to read keep the machine-checkable WCAG rules, and fit the window.

    With the pages that keep things, which have a test of their own, these are all there are.
    """
    page = open_page(width=width, scheme=scheme)
    shown(page, "This season")
    links = page.locator(".st-key-pages").get_by_role("link")
    assert links.all_text_contents() == list(HEADINGS)
    for name in TO_READ:
        if name != "This season":
            go_to(page, name)
        for part, key in [("", ""), *PARTS.get(name, {}).items()]:
            if part:
                open_part(page, part, key)
            assert broken_rules(page) == [], (name, part)
            assert too_wide_px(page) <= 0, (name, part)


def test_server_when_asked_under_another_name_then_it_refuses(server: str) -> None:
    """A page elsewhere that points its own name at this computer gets no session.

    All that pages show passes through the session's stream; without it there is an empty frame.
    """
    stream = "/_stcore/stream"
    assert _status(server, stream, "evil.example", "evil.example") == 403
    assert _status(server, stream, urlsplit(server).netloc, "evil.example") == 403
    assert _status(server, stream, urlsplit(server).netloc, urlsplit(server).netloc) == 101


def test_server_when_running_then_it_listens_on_this_computer_only(server: str) -> None:
    """The port answers on 127.0.0.1 and on no other address of this computer."""
    port = urlsplit(server).port
    assert port is not None
    with socket.socket() as probe:
        probe.settimeout(2)
        assert probe.connect_ex(("127.0.0.2", port)) != 0
    assert _listens_on(port) == {"0100007F"}  # 127.0.0.1, its last byte first


def _status(server: str, path: str, host: str, origin: str) -> int:
    """Ask for a stream under a host name, from a page of an origin; give the answer's status."""
    at = urlsplit(server)
    lines = (
        f"GET {path} HTTP/1.1",
        f"Host: {host}",
        f"Origin: http://{origin}",
        "Connection: Upgrade",
        "Upgrade: websocket",
        "Sec-WebSocket-Version: 13",
        "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==",
    )
    with socket.create_connection((str(at.hostname), int(at.port or 0)), timeout=10) as line:
        line.sendall("\r\n".join([*lines, "", ""]).encode())
        return int(line.recv(64).split()[1])


def _listens_on(port: int) -> set[str]:
    """Return the addresses on which something listens at a port, as the kernel lists them."""
    listening = "0A"
    rows = [
        line.split()
        for table in ("/proc/net/tcp", "/proc/net/tcp6")
        for line in Path(table).read_text().splitlines()[1:]
    ]
    at = [row[1].split(":") for row in rows if row[3] == listening]
    return {address for address, where in at if int(where, 16) == port}
