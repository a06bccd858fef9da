"""A window of the dashboard as tests open and use it: the one place that drives its pages.

The frame runs as the server runs it, page by page, with no browser; what a browser does is tested
in `tests/browser`.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from model.keeping.folder import plans_folder
from model.keeping.plans import Kept, save_new
from model.plan.shipped import demonstration_plan

APP = Path(__file__).parents[2] / "dashboard" / "app.py"
RECORD = demonstration_plan().with_name("demonstration_record.csv")
LONGEST_S = 180
FEW_RUNS: Mapping[str, Any] = {"sequences.count": 200, "sequences.method": "blocks"}
"""How the plan that tests keep draws: what is asked of its pages hangs on no odds well known."""

UNSEEN = dict.fromkeys(map(ord, "\u200b\u2060"))
"""Characters of no width: they let a word break, or keep an address from being a link."""

ESCAPED = re.compile(r"\\([!-/:-@\[-`{-~])")
"""A mark that markdown shows as it stands."""


def start_on(monkeypatch: pytest.MonkeyPatch, plan: Path) -> None:
    """Start the dashboard on a plan: windows opened from now on find it."""
    monkeypatch.setattr(sys, "argv", [str(APP), "--plan", str(plan)])


def keep_home(folder: Path, monkeypatch: pytest.MonkeyPatch, changes: Mapping[str, Any]) -> Kept:
    """Keep the demonstration with other figures in a data folder of the test's own; start on it.

    It draws few sequences by the quickest method, where the changes do not say otherwise.
    """
    monkeypatch.setenv("SEASONS_DATA", str(folder))
    text = demonstration_plan().read_text("utf-8")
    kept = save_new(
        plans_folder(folder), "home", text, RECORD.read_bytes(), {**FEW_RUNS, **changes}
    )
    start_on(monkeypatch, kept.path)
    return kept


def unopened(token: str = "") -> AppTest:
    """Make a window, on the address of another if a token is given; nothing has run in it yet."""
    window = AppTest.from_file(str(APP), default_timeout=LONGEST_S)
    if token:
        window.query_params["sitting"] = token
    return window


def opened(view: str = "", token: str = "") -> AppTest:
    """Open a window on the first page, or on another if one is named: by its address, at once."""
    window = unopened(token)
    return go(window, view) if view else window.run()


FIRST = "this_season"
PART_KEYS = {"this_season": "plant_part", "plans_and_diary": "keeping_part"}
"""What keeps which part of a page is open."""


def go(window: AppTest, view: str) -> AppTest:
    """Go to a page by its view, to a part of it after a slash; check that it runs to its end."""
    view, _, part = view.partition("/")
    if part:
        window.session_state[PART_KEYS[view]] = part
    if view != FIRST or "kept" in window.session_state:  # a window opens on the first page
        window.switch_page(f"views/{view}.py")
    return sound(window.run())


def press(window: AppTest, label: str) -> AppTest:
    """Press the first button of a label; check that the page runs to its end."""
    next(button for button in window.button if button.label == label).click()
    return sound(window.run())


def sound(window: AppTest) -> AppTest:
    """Check that a page ran to its end, where the caution stands."""
    assert [error.value for error in window.exception] == []
    assert any("not financial" in caption.value for caption in window.caption)
    return window


def clean(window: AppTest) -> AppTest:
    """Check that a page ran to its end and found no fault."""
    assert [error.value for error in window.error] == []
    return sound(window)


def token_of(window: AppTest) -> str:
    """Read the token in a window's address."""
    token = window.query_params["sitting"]
    return str(token[0] if isinstance(token, list) else token)


def figures(window: AppTest) -> list[dict[str, Any]]:
    """Read the charts of a page as they are drawn."""
    return [json.loads(chart.proto.spec) for chart in window.get("plotly_chart")]


def line(window: AppTest) -> str:
    """Read the line over a page: where things stand."""
    bodies = (str(html.proto.body) for html in window.get("html"))
    return re.sub(r"<[^>]+>", " ", next(body for body in bodies if body.startswith("<p>")))


def said(window: AppTest) -> str:
    """Gather the text of a page."""
    kinds = (
        window.title,
        window.header,
        window.markdown,
        window.caption,
        window.success,
        window.warning,
        window.info,
    )
    return "\n".join(plain(block.value) for kind in kinds for block in kind)


def plain(text: object) -> str:
    """Read a text as a person sees it: no places to break at, no marks that make markup plain."""
    return ESCAPED.sub(r"\1", str(text).translate(UNSEEN))


def tables(window: AppTest) -> list[pd.DataFrame]:
    """Read the tables of a page as a person sees them."""
    return [
        table.value.rename(index=_plain_cell, columns=_plain_cell).map(_plain_cell)
        for table in window.table
    ]


def _plain_cell(cell: object) -> object:
    return plain(cell) if isinstance(cell, str) else cell


def fault_places(window: AppTest, table: int = -1) -> list[str]:
    """Read the places of the faults that a table of a page shows."""
    return [str(place) for place in tables(window)[table].index]
