"""A diary that cannot be used is called what it is, damaged rows are set aside, locks end.

The faults are the database's and the system's own, brought about here, not messages made up.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from model.commands.shared import trials_folder
from model.errors import InputError
from model.keeping import database, lock
from model.keeping.database import connected
from model.keeping.diary import Decision, append, read_diary
from model.keeping.folder import FOLDER_NAME, OVERRIDE, make_private
from model.keeping.lock import locked
from model.keeping.sittings import keep_sitting, last_sittings, sitting

DECISION = Decision(date(2025, 9, 1), "Plant 80 ha", "26 in 100", "home.toml", "Home", "x", "hash")

POSIX_ONLY = pytest.mark.skipif(os.name != "posix", reason="permissions of this kind are POSIX's")


@pytest.fixture
def diary(tmp_path: Path) -> Path:
    """Return the place of a diary with one decision in it."""
    path = tmp_path / "data" / "diary.sqlite"
    append(path, DECISION)
    return path


def opened_with(monkeypatch: pytest.MonkeyPatch, *pragmas: str, read_only: bool = False) -> None:
    """Let the diary be opened under conditions of the system's."""
    real = sqlite3.connect

    def connect(path: Path, **settings: object) -> sqlite3.Connection:
        name = f"file:{path}?mode=ro" if read_only else str(path)
        connection = real(name, uri=read_only, **settings)  # type: ignore[call-overload]
        for pragma in pragmas:
            connection.execute(f"PRAGMA {pragma}")
        return connection

    monkeypatch.setattr(database.sqlite3, "connect", connect)


def said_of(diary: Path) -> str:
    """Return what is said when a decision cannot be written down."""
    with pytest.raises(InputError) as refused:
        append(diary, replace(DECISION, plan_text="x" * 3_000_000))
    assert "Traceback" not in str(refused.value)
    return str(refused.value)


def test_diary_when_another_program_holds_it_then_that_is_said(
    diary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A locked diary is sound: nobody is told to move it away."""
    monkeypatch.setattr(database, "WAIT_S", 0.05)
    with closing(sqlite3.connect(diary, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        said = said_of(diary)
    assert "another program holds it" in said
    assert "move" not in said
    assert len(read_diary(diary).entries) == 1


def test_diary_when_the_disk_is_full_then_that_is_said_and_nothing_is_lost(
    diary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The database's own error at its last page; what stood there before stands there after."""
    with monkeypatch.context() as full:
        opened_with(full, "max_page_count = 20")
        said = said_of(diary)
    assert "the disk is full" in said
    assert "move" not in said
    assert [entry.decision for entry in read_diary(diary).entries] == [DECISION]


def test_diary_when_read_only_then_that_is_said(
    diary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that may not be written to is called that."""
    opened_with(monkeypatch, read_only=True)
    said = said_of(diary)
    assert "may not be written to" in said
    assert "move" not in said


def test_diary_when_damaged_then_it_is_to_be_moved_away_not_deleted(diary: Path) -> None:
    """Only a file that cannot be read any more is to make room for a new one."""
    diary.write_bytes(b"my shopping list" * 500)
    said = said_of(diary)
    assert "damaged, or no diary" in said
    assert "move this file away, do not delete it" in said


def test_diary_when_the_name_of_a_column_is_damaged_then_that_is_said(diary: Path) -> None:
    """The database's own message then quotes bytes that are no text; found by broken inputs."""
    broken = b"CREATE TABLE decision (number INTEGER NOT NUL\xff\xfeL)".hex()
    with closing(sqlite3.connect(diary)) as plain:
        plain.execute("PRAGMA writable_schema = ON")
        changed = f"UPDATE sqlite_schema SET sql = CAST(x'{broken}' AS TEXT)"
        plain.execute(f"{changed} WHERE name = 'decision'")
        plain.commit()
    assert "damaged, or no diary" in said_of(diary)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE decision SET decided_on = 'yesterday' WHERE number = 2", "its day (yesterday)"),
        ("UPDATE decision SET odds = x'00ff' WHERE number = 2", "is no text any more"),
        ("UPDATE decision SET written_at = 7.5 WHERE number = 2", ""),
    ],
)
def test_diary_when_a_row_is_damaged_then_it_is_named_and_the_others_are_read(
    diary: Path, statement: str, said: str
) -> None:
    """One bad row never hides the others, and stays in the file."""
    append(diary, replace(DECISION, decision="Hold"))
    append(diary, replace(DECISION, decision="Sell"))
    with closing(sqlite3.connect(diary)) as plain:
        plain.execute(statement)
        plain.commit()
    read = read_diary(diary)
    found = {entry.number for entry in read.entries}
    assert {1, 3} <= found
    assert len(read.damaged) == (1 if said else 0)
    assert all("decision 2" in damaged and said in damaged for damaged in read.damaged)
    with connected(diary) as plain:
        assert plain.execute("SELECT count(*) FROM decision").fetchone() == (3,)


@pytest.mark.parametrize("changes", ["{not json", "[1]", "null", "[" * 5_000])
def test_sittings_when_one_is_damaged_then_the_others_are_offered(
    diary: Path, changes: str
) -> None:
    """What a window left is offered whole or not at all."""
    keep_sitting(diary, "bad", Path("p.toml"), "hash", {"a": 1})
    keep_sitting(diary, "good", Path("p.toml"), "hash", {"a": 1})
    with closing(sqlite3.connect(diary)) as plain:
        plain.execute("UPDATE sitting SET changes = ? WHERE token = 'bad'", (changes,))
        plain.commit()
    assert [found.token for found in last_sittings(diary, most=5)] == ["good"]
    assert sitting(diary, "bad") is None


@POSIX_ONLY
def test_diary_when_made_then_its_owner_alone_can_read_folder_and_files(diary: Path) -> None:
    """Decisions and debts are nobody else's."""
    with connected(diary) as database_:  # the log stands beside it while it is open
        database_.execute("UPDATE decision SET odds = 'x'")
        modes = {path.name: path.stat().st_mode & 0o777 for path in diary.parent.iterdir()}
    assert set(modes.values()) == {0o600}
    assert len(modes) > 1
    assert diary.parent.stat().st_mode & 0o777 == 0o700


@POSIX_ONLY
def test_diary_when_an_earlier_release_left_it_open_to_others_then_it_is_closed(
    diary: Path,
) -> None:
    """0.1 made folder and file as any other: they are made private at the next use."""
    usual = diary.parent / FOLDER_NAME
    for folder in (usual, usual / "plans"):
        folder.mkdir(mode=0o755)
        make_private(folder, environment={"XDG_DATA_HOME": str(diary.parent)})
        assert folder.stat().st_mode & 0o777 == 0o700
    diary.chmod(0o644)
    read_diary(diary)
    assert diary.stat().st_mode & 0o777 == 0o600


@POSIX_ONLY
def test_folders_when_made_on_the_way_then_those_of_the_data_are_private(tmp_path: Path) -> None:
    """The first thing kept may stand two folders deep: none of them is open to others."""
    home = tmp_path / "share"
    make_private(home / FOLDER_NAME / "trials", environment={"XDG_DATA_HOME": str(home)})
    for folder in (home / FOLDER_NAME, home / FOLDER_NAME / "trials"):
        assert folder.stat().st_mode & 0o777 == 0o700


def test_trials_when_the_data_folder_cannot_be_made_then_that_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A command without a method keeps a trial: a home that cannot be written to is named."""
    (tmp_path / "file").touch()
    monkeypatch.setenv(OVERRIDE, str(tmp_path / "file" / "data"))
    with pytest.raises(InputError, match=r"data folder.*\n.*cannot be made.*SEASONS_DATA"):
        trials_folder()


@POSIX_ONLY
def test_folder_when_it_is_the_persons_own_then_its_permissions_stay(tmp_path: Path) -> None:
    """Nobody's documents are closed to those they share them with."""
    tmp_path.chmod(0o755)
    make_private(tmp_path, environment={})
    make_private(tmp_path, environment={"SEASONS_DATA": str(tmp_path)})
    assert tmp_path.stat().st_mode & 0o777 == 0o755


def test_lock_when_its_program_ended_then_the_next_one_goes_on(tmp_path: Path) -> None:
    """A lock goes with its process, and a clock set back a year changes nothing."""
    program = (
        "import os; from pathlib import Path; from model.keeping.lock import locked\n"
        f"with locked(Path({str(tmp_path)!r})): os._exit(9)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 9
    left = tmp_path / lock.LOCK_NAME
    assert left.exists()
    for age_s in (0.0, 3e7, -3e7):
        left.touch()
        os.utime(left, (time.time() - age_s,) * 2)
        began = time.monotonic()
        with locked(tmp_path):
            pass
        assert time.monotonic() - began < 5.0


def test_lock_when_another_program_holds_it_then_its_process_is_named_and_waiting_ends(
    tmp_path: Path,
) -> None:
    """Nobody waits without end: after a while the other process is named."""
    program = (
        "import sys; from pathlib import Path; from model.keeping.lock import locked\n"
        f"with locked(Path({str(tmp_path)!r})): print('held', flush=True); sys.stdin.read()"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdout is not None
    assert other.stdout.readline() == "held\n"
    said = rf"process {other.pid}\) has been saving"
    with pytest.raises(InputError, match=said), locked(tmp_path, wait_s=0.1):
        pytest.fail("two programs held one lock")
    other.communicate()
    with locked(tmp_path):
        assert (tmp_path / lock.LOCK_NAME).exists()
    assert not (tmp_path / lock.LOCK_NAME).exists()
