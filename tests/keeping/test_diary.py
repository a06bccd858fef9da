"""Decisions stay as they were written; a bad or newer database is left alone and said kindly.

Checks against something outside the project: the diary's file read with the sqlite3 library alone,
and its own integrity check.
"""

from __future__ import annotations

import csv
import io
import sqlite3
import threading
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from model.errors import InputError
from model.keeping import database
from model.keeping.diary import (
    Decision,
    amend_outcome,
    append,
    diary_csv,
    plan_moved,
    read_diary,
)
from model.keeping.sittings import MOST_SITTINGS, keep_sitting, last_sittings, sitting

DECISION = Decision(
    decided_on=date(2025, 9, 1),
    decision="Prepare 120 ha, hold 0.1 ML per share",
    odds="about 4 in 10 that nothing is announced",
    plan_path="/plans/home.toml",
    plan_title="Home block",
    plan_text="# mine\ntitle = 'Home block'\n",
    record_sha256="ab12",
)


@pytest.fixture
def diary(tmp_path: Path) -> Path:
    """Return the place of a diary that is not there yet."""
    return tmp_path / "deep" / "diary.sqlite"


def test_append_when_a_decision_is_written_then_it_is_listed_with_its_snapshot(diary: Path) -> None:
    """A decision comes back as it was written, plan and all."""
    number = append(diary, DECISION)
    (entry,) = read_diary(diary).entries
    assert (entry.number, entry.decision, entry.outcome) == (number, DECISION, "")


def test_entries_when_there_is_no_diary_then_none_and_no_file_is_made(diary: Path) -> None:
    """Looking makes no file."""
    assert read_diary(diary).entries == ()
    assert not diary.exists()


def test_entries_when_several_then_newest_day_first(diary: Path) -> None:
    """The list begins with the last day."""
    for day in (3, 1, 2):
        append(diary, replace(DECISION, decided_on=date(2025, 9, day)))
    assert [entry.decision.decided_on.day for entry in read_diary(diary).entries] == [3, 2, 1]


def test_amend_outcome_when_twice_then_the_newest_is_shown_and_both_are_kept(diary: Path) -> None:
    """A later note takes the earlier one's place in the list, not in the file."""
    number = append(diary, DECISION)
    amend_outcome(diary, number, "0.2 announced in November")
    amend_outcome(diary, number, "0.5 by March")
    assert read_diary(diary).entries[0].outcome == "0.5 by March"
    with closing(sqlite3.connect(diary)) as plain:
        notes = plain.execute("SELECT outcome FROM outcome ORDER BY number").fetchall()
        assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert plain.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert notes == [("0.2 announced in November",), ("0.5 by March",)]


def test_amend_outcome_when_no_such_decision_then_refused(diary: Path) -> None:
    """An outcome belongs to a decision."""
    append(diary, DECISION)
    with pytest.raises(InputError, match="there is none of this number"):
        amend_outcome(diary, 99, "good")


@pytest.mark.parametrize("words", ["", "   ", "x" * 10_001])
def test_append_when_the_decision_is_empty_or_endless_then_refused(diary: Path, words: str) -> None:
    """A decision has words, but not without end."""
    with pytest.raises(InputError, match="what was decided"):
        append(diary, replace(DECISION, decision=words))
    assert read_diary(diary).entries == ()


def test_append_when_windows_write_at_once_then_each_is_kept(diary: Path) -> None:
    """Eight windows write at once, to a diary that is not there yet; all eight are listed."""
    start = threading.Barrier(8)

    def window(number: int) -> None:
        start.wait()
        append(diary, replace(DECISION, decision=f"window {number}"))

    threads = [threading.Thread(target=window, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    written = {entry.decision.decision for entry in read_diary(diary).entries}
    assert written == {f"window {number}" for number in range(8)}


@pytest.mark.parametrize("reads", [False, True], ids=["it writes", "it reads"])
def test_append_when_another_window_has_the_new_file_then_it_waits(
    diary: Path, reads: bool
) -> None:
    """Another window has the empty file open in the middle of its work: this one waits for it."""
    diary.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(diary, isolation_level=None, check_same_thread=False)) as other:
        other.execute("BEGIN" if reads else "BEGIN EXCLUSIVE")
        other.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        done = threading.Timer(0.4, other.execute, ["COMMIT"])
        done.start()
        append(diary, DECISION)
        done.join()
    assert [entry.decision for entry in read_diary(diary).entries] == [DECISION]


def test_plan_moved_when_a_plan_is_renamed_then_its_decisions_point_to_the_new_name(
    diary: Path,
) -> None:
    """Only decisions of that plan move."""
    append(diary, DECISION)
    append(diary, replace(DECISION, plan_path="/plans/other.toml"))
    plan_moved(diary, Path("/plans/home.toml"), Path("/plans/river.toml"))
    paths = {entry.decision.plan_path for entry in read_diary(diary).entries}
    assert paths == {"/plans/river.toml", "/plans/other.toml"}


def test_diary_csv_when_text_begins_like_a_formula_then_it_is_defused(diary: Path) -> None:
    """The CSV holds every entry, and nothing that a spreadsheet would run."""
    append(diary, replace(DECISION, decision='=HYPERLINK("x")', odds="one,\ntwo"))
    rows = list(csv.DictReader(io.StringIO(diary_csv(read_diary(diary).entries))))
    assert rows[0]["decision"] == '\'=HYPERLINK("x")'
    assert rows[0]["odds"] == "one,\ntwo"
    assert rows[0]["decided_on"] == "2025-09-01"


def _change(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as plain:
        plain.execute(statement)
        plain.commit()


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("PRAGMA user_version = 99", "a newer release wrote it"),
        ("PRAGMA application_id = 7", "another program's database"),
    ],
)
def test_diary_when_newer_or_foreign_then_said_kindly_and_left_alone(
    diary: Path, statement: str, said: str
) -> None:
    """A database that this release does not know is not changed by a byte."""
    append(diary, DECISION)
    _change(diary, statement)
    before = diary.read_bytes()
    for use in (lambda: read_diary(diary).entries, lambda: append(diary, DECISION)):
        with pytest.raises(InputError, match=said):
            use()
    assert diary.read_bytes() == before


def test_diary_when_the_file_is_no_database_then_said_kindly_and_left_alone(diary: Path) -> None:
    """A file that is no database is named, and stays."""
    diary.parent.mkdir()
    diary.write_text("my shopping list, long enough to be looked at" * 50)
    with pytest.raises(InputError, match="it is damaged, or no diary"):
        append(diary, DECISION)
    assert diary.read_text().startswith("my shopping list")


def test_diary_when_from_the_first_layout_then_brought_up_to_date_and_nothing_is_lost(
    diary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A diary of the oldest layout keeps its decisions under the newest."""
    with monkeypatch.context() as old:
        old.setattr(database, "MIGRATIONS", database.MIGRATIONS[:1])
        append(diary, DECISION)
    keep_sitting(diary, "t", Path("p.toml"), "hash", {})
    assert read_diary(diary).entries[0].decision == DECISION
    with closing(sqlite3.connect(diary)) as plain:
        version = plain.execute("PRAGMA user_version").fetchone()
    assert version == (len(database.MIGRATIONS),)


def test_sitting_when_from_the_second_layout_then_its_figures_stay_and_nothing_is_chosen(
    diary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A window left under the release before comes back under the newest, and is written to."""
    with monkeypatch.context() as old:
        old.setattr(database, "MIGRATIONS", database.MIGRATIONS[:2])
        with database.connected(diary) as before:
            before.execute(
                "INSERT INTO sitting (token, written_at, plan_path, plan_sha256, changes)"
                """ VALUES ('old', '2025', 'home.toml', 'hash', '{"opening.storage_ml": 1.5}')"""
            )
    found = sitting(diary, "old")
    assert found is not None
    assert (found.changes, found.choices) == ({"opening.storage_ml": 1.5}, {})
    keep_sitting(diary, "old", Path("home.toml"), "hash", found.changes, {"plant_area": 60.0})
    again = sitting(diary, "old")
    assert again is not None
    assert (again.changes, again.choices) == (found.changes, {"plant_area": 60.0})


def test_sitting_when_kept_then_given_back_as_it_was(diary: Path) -> None:
    """Unsaved figures come back with their types and what is taken out; choices do too."""
    changes = {"opening.storage_ml": 1.5, "sequences.seasons": 2, "valley.access": None}
    choices = {"plant_strategy": "Plant on the odds", "plant_area": 60.0}
    keep_sitting(diary, "one", Path("home.toml"), "hash", changes, choices)
    found = sitting(diary, "one")
    assert found is not None
    assert (found.plan_path, found.plan_sha256, found.changes) == ("home.toml", "hash", changes)
    assert found.choices == choices
    assert sitting(diary, "two") is None


def test_last_sitting_when_asked_besides_one_then_the_newest_of_the_others(diary: Path) -> None:
    """A new window is told of the latest sitting that is not its own."""
    assert last_sittings(diary) == ()
    for token in ("one", "two", "three"):
        keep_sitting(diary, token, Path("home.toml"), "hash", {})
    _change(diary, "UPDATE sitting SET written_at = '2024' WHERE token = 'one'")
    _change(diary, "UPDATE sitting SET written_at = '2025' WHERE token = 'two'")
    found = next(iter(last_sittings(diary, besides="three")))
    assert found is not None
    assert found.token == "two"


def test_keep_sitting_when_there_are_too_many_then_the_oldest_are_forgotten(
    diary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sittings do not pile up for ever."""
    monkeypatch.setattr("model.keeping.sittings.MOST_SITTINGS", 3)
    assert MOST_SITTINGS > 3
    for number in range(5):
        keep_sitting(diary, f"{number}", Path("home.toml"), "hash", {})
        _change(diary, f"UPDATE sitting SET written_at = '{number}' WHERE token = '{number}'")
    keep_sitting(diary, "last", Path("home.toml"), "hash", {})
    assert [n for n in range(5) if sitting(diary, f"{n}")] == [3, 4]
