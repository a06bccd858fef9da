"""Can a person state a view of the season and a moved climate, and do the odds say so?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from tests.dashboard.window import keep_home, opened, sound

QUICK = {"sequences.count": 200, "sequences.seasons": 1, "sequences.method": "blocks"}
VIEW = "sequences.view"


def test_view_when_stated_on_the_page_then_the_odds_are_marked_and_the_plan_holds_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It begins at about the record's own thirds; a drier one is taken in and marked."""
    keep_home(tmp_path, monkeypatch, QUICK)
    window = opened("this_season/Water ahead")
    window.session_state["drawing"] = True
    window.run()
    _box(window, VIEW).check().run()
    sound(window)
    before = [each.value for each in window.metric]
    _field(window, f"{VIEW}.thirds").set_value("0.6 0.3 0.1").run()
    _field(window, f"{VIEW}.belief").set_value(1.0).run()
    sound(window)
    assert [each.value for each in window.metric] != before
    assert window.session_state.changes[VIEW]["thirds"] == [0.6, 0.3, 0.1]
    assert any("These odds follow a view of inflow_ml" in each.value for each in window.caption)


def test_climate_when_moved_on_the_page_then_it_begins_as_observed_and_is_marked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twelve factors begin at 1; one that is moved is said beside the odds."""
    keep_home(tmp_path, monkeypatch, QUICK)
    window = opened("this_season/Water ahead")
    window.session_state["drawing"] = True
    window.run()
    _box(window, "sequences.drying").check().run()
    assert window.session_state.changes["sequences.drying"]["flow"] == [1.0] * 12
    _field(window, "sequences.drying.flow.4").set_value(0.7).run()
    sound(window)
    flow = window.session_state.changes["sequences.drying"]["flow"]
    assert flow == [1.0, 1.0, 1.0, 0.7, *[1.0] * 8]
    said = [each.value for each in window.caption]
    assert any("flow moved month by month (times 0.70 to 1.00)" in each for each in said)


def _box(window: AppTest, key: str) -> Any:
    """Find the box that says whether a table or a list is there."""
    return next(each for each in window.checkbox if (each.key or "").endswith(f"{key}.given"))


def _field(window: AppTest, key: str) -> Any:
    """Find the field of a figure."""
    both = (*window.text_input, *window.number_input)
    return next(each for each in both if (each.key or "").endswith(key))
