"""Is a window that is open told from one that is closed, and is nothing mixed between two?

Windows are given sessions of their own here, connected or not as the test says. What a real server
says of them is tested in `tests/browser/test_windows.py`.
"""

from __future__ import annotations

from pathlib import Path
from unittest.mock import MagicMock

import pytest
from streamlit.runtime import Runtime
from streamlit.testing.v1 import AppTest

from dashboard import state
from model.keeping.folder import database_path
from model.keeping.plans import Kept
from model.keeping.sittings import keep_sitting, sittings_of
from model.plan.shipped import demonstration_plan
from tests.dashboard.window import keep_home, start_on, token_of, unopened

RECORD = demonstration_plan().with_name("demonstration_record.csv").read_bytes()
QUICK = {"sequences.count": 100, "sequences.seasons": 1, "sequences.method": "blocks"}
DAM = "field.opening.storage_ml"


class Desk:
    """Windows of one person: which are connected, and which is being used."""

    def __init__(self) -> None:
        self.connected: set[str] = set()
        self.used = ""

    def open(self, name: str, token: str = "") -> AppTest:
        """Open a window, on the address that another has if a token is given."""
        self.connected.add(name)
        window = self.run(name, unopened(token))
        return self.run(name, window.switch_page("views/today.py"))

    def run(self, name: str, window: AppTest) -> AppTest:
        """Run the page of a window as the server would."""
        self.used = name
        window.run()
        assert not window.exception
        return window

    def set_dam(self, name: str, window: AppTest, storage_ml: float) -> AppTest:
        """Type the water in the dam into a window."""
        window.number_input(key=DAM).set_value(storage_ml)
        return self.run(name, window)


@pytest.fixture(name="desk")
def _desk(monkeypatch: pytest.MonkeyPatch) -> Desk:
    """Return a desk with no window open."""
    desk = Desk()
    monkeypatch.setattr(state, "_session", lambda: desk.used)
    monkeypatch.setattr(state, "_connected", lambda session: session in desk.connected)
    monkeypatch.setattr(state, "_WINDOWS", state.Windows())
    return desk


@pytest.fixture(name="home")
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kept:
    """Return a kept plan that the dashboard is opened on."""
    return keep_home(tmp_path, monkeypatch, QUICK)


def _offered(window: AppTest) -> list[str]:
    return [option for box in window.selectbox if box.key == "left" for option in box.options]


def _said(window: AppTest) -> str:
    """Read what the page says of other windows that are open."""
    return " ".join(info.value for info in window.info if "is open in" in info.value)


def test_today_when_another_window_is_open_then_it_is_said_and_offered_once_closed(
    home: Kept, desk: Desk
) -> None:
    """What an open window has is not left; once it is closed its figures are offered."""
    first = desk.set_dam("first", desk.open("first"), 41_000.0)
    second = desk.open("second")
    assert _offered(second) == []
    assert "open in another window too" in _said(second)
    assert "not saved there (1 figure) does not count here" in _said(second)
    desk.connected.remove("first")
    desk.run("second", second)
    assert _said(second) == ""
    assert [words.split(", ")[0] for words in _offered(second)] == ["home: 1 figure not saved"]
    next(button for button in second.button if button.label == "Go on with it").click()
    assert desk.run("second", second).number_input(key=DAM).value == 41_000.0
    assert first.number_input(key=DAM).value == 41_000.0


def test_today_when_a_tab_is_copied_then_each_keeps_its_own_figures(home: Kept, desk: Desk) -> None:
    """The copy has the same figures under a token of its own; what differs later is not mixed."""
    first = desk.set_dam("first", desk.open("first"), 42_000.0)
    copy = desk.open("copy", token_of(first))
    assert copy.number_input(key=DAM).value == 42_000.0
    assert token_of(copy) != token_of(first)
    assert "not saved there" not in _said(copy)
    desk.set_dam("copy", copy, 43_000.0)
    desk.run("first", first)
    assert "not saved there (1 figure)" in _said(first)
    assert first.number_input(key=DAM).value == 42_000.0
    kept = sittings_of(database_path(home.path.parent.parent), [token_of(first), token_of(copy)])
    assert [each.changes["opening.storage_ml"] for each in kept] == [43_000.0, 42_000.0]
    desk.set_dam("first", first, 44_000.0)
    desk.connected.remove("first")
    assert len(_offered(desk.run("copy", copy))) == 1


def test_today_when_a_window_is_reloaded_then_its_own_past_is_not_offered(
    home: Kept, desk: Desk
) -> None:
    """What a window began from is not left by another, also when its figures move on."""
    first = desk.set_dam("first", desk.open("first"), 42_000.0)
    desk.connected.remove("first")
    again = desk.open("again", token_of(first))
    desk.set_dam("again", again, 43_000.0)
    assert _offered(again) == []
    assert _said(again) == ""
    assert len(_offered(desk.open("fresh"))) == 1


def test_today_when_windows_show_the_demonstration_alone_then_nothing_is_said(
    home: Kept, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The demonstration is not saved to: another window on it matters once it has figures."""
    start_on(monkeypatch, demonstration_plan())
    first, second = desk.open("first"), desk.open("second")
    assert _said(second) == ""
    desk.set_dam("first", first, 41_000.0)
    assert "not saved there (1 figure)" in _said(desk.run("second", second))
    assert "saves second" not in _said(second)


def test_today_when_another_window_has_another_plan_then_nothing_is_said(
    home: Kept, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two windows on two plans have nothing to do with each other."""
    desk.set_dam("first", desk.open("first"), 41_000.0)
    start_on(monkeypatch, demonstration_plan())
    second = desk.open("second")
    assert _said(second) == ""
    assert _offered(second) == []


def test_open_elsewhere_when_there_is_no_server_then_none_and_no_fault(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Outside a page and without a server nothing is known to be open."""
    monkeypatch.setattr(state, "_WINDOWS", state.Windows())
    state.note_window("mine")
    assert state.open_elsewhere() == frozenset()
    assert not state._connected("any")


def test_connected_when_the_server_is_a_stand_in_then_only_its_plain_yes_counts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A stand-in that answers anything else, as in tests of pages, is not taken for a yes."""
    server = MagicMock(spec=Runtime)
    monkeypatch.setattr(Runtime, "_instance", server)
    assert not state._connected("any")
    server.is_active_session.return_value = True
    assert state._connected("any")


def test_windows_when_a_session_moves_on_then_its_last_token_stands() -> None:
    """A window that takes a new token leaves its old one behind."""
    known = state.Windows()
    known.note("first", "a")
    known.note("second", "b")
    known.note("first", "c")
    assert known.tokens() == {"second": "b", "first": "c"}


def test_windows_when_there_are_too_many_then_those_used_longest_ago_are_forgotten(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A server that runs for weeks does not gather sessions for ever."""
    monkeypatch.setattr(state, "MOST_KNOWN", 2)
    known = state.Windows()
    for session in ("first", "second", "first", "third"):
        known.note(session, "token")
    assert list(known.tokens()) == ["first", "third"]


def test_sittings_of_when_asked_for_some_then_those_that_are_there(tmp_path: Path) -> None:
    """Sittings are found by their tokens, whichever were kept last."""
    path = tmp_path / "diary.sqlite"
    assert sittings_of(path, ["one"]) == ()
    for token in ("one", "two", "three"):
        keep_sitting(path, token, Path("home.toml"), "hash", {})
    assert {each.token for each in sittings_of(path, {"one", "three", "none"})} == {"one", "three"}
    assert sittings_of(path, ()) == ()
