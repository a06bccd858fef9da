"""How is the diary's database opened, and how does it grow from one release to the next?

One SQLite file in the data folder, with a write-ahead log: a program that stops leaves the whole of
a piece of work in it, or nothing of it. Its layout has a number (`user_version`); each migration
below takes it one further, all of them in one transaction. A file from a newer release, or one that
is no diary, is never touched.
"""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from model.errors import Fault, InputError
from model.keeping.folder import OTHERS, PRIVATE_FILE, make_private

APPLICATION_ID: Final = 0x53494E48
"""Marks the file as ours: the letters SINH."""

WAIT_S: Final = 20.0
"""How long one window waits for others' writes: on a slow disk each takes long, and turns are by
chance."""

MIGRATIONS: Final[tuple[tuple[str, ...], ...]] = (
    (
        """CREATE TABLE decision (
            number INTEGER PRIMARY KEY,
            written_at TEXT NOT NULL,
            decided_on TEXT NOT NULL,
            decision TEXT NOT NULL,
            odds TEXT NOT NULL,
            plan_path TEXT NOT NULL,
            plan_title TEXT NOT NULL,
            plan_text TEXT NOT NULL,
            record_sha256 TEXT NOT NULL
        )""",
        """CREATE TABLE outcome (
            number INTEGER PRIMARY KEY,
            decision INTEGER NOT NULL REFERENCES decision (number),
            written_at TEXT NOT NULL,
            outcome TEXT NOT NULL
        )""",
    ),
    (
        """CREATE TABLE sitting (
            token TEXT PRIMARY KEY,
            written_at TEXT NOT NULL,
            plan_path TEXT NOT NULL,
            plan_sha256 TEXT NOT NULL,
            changes TEXT NOT NULL
        )""",
    ),
    ("ALTER TABLE sitting ADD COLUMN choices TEXT NOT NULL DEFAULT '{}'",),
)
"""What each version adds: 1 the diary, 2 what each window has open, 3 what is chosen in it."""


_MOVE_AWAY: Final = (
    "a diary of this release or an older one; move this file away, do not delete it, and a new one "
    "is begun"
)
_PRIMARY: Final = 0xFF
"""The part of the database's error codes that tells their kinds apart."""

_FORBIDDEN: Final = (errno.EACCES, errno.EPERM, errno.EROFS)
_SQLITE_FORBIDDEN: Final = (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN)


@contextmanager
def connected(path: Path) -> Iterator[sqlite3.Connection]:
    """Open the database for one piece of work: all of it is kept, or none.

    Raises
    ------
    InputError
        The file is no diary, is from a newer release, is damaged, is held by another program,
        cannot be written to, or the disk is full.
    """
    try:
        make_private(path.parent)
        _make_private_file(path)
        with closing(sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)) as connection:
            connection.execute("PRAGMA synchronous = FULL")
            _bring_up_to_date(connection, path)
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            finally:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
    except UnicodeDecodeError as error:  # the database's own message quotes a damaged name
        raise _unusable(path, "it is damaged, or no diary", _MOVE_AWAY) from error
    except (sqlite3.Error, OSError) as error:
        raise _unusable(path, *_why(error)) from error


def _make_private_file(path: Path) -> None:
    """Make the file if it is not there; its owner alone may read it, and what it logs."""
    os.close(os.open(path, os.O_CREAT | os.O_RDONLY, PRIVATE_FILE))
    if os.name == "posix" and path.stat().st_mode & OTHERS:
        path.chmod(PRIVATE_FILE)


def _why(error: sqlite3.Error | OSError) -> tuple[str, str]:
    """Return what is the matter and what to do about it."""
    if isinstance(error, OSError):
        full, forbidden = error.errno == errno.ENOSPC, error.errno in _FORBIDDEN
        damaged, held, words = False, False, str(error.strerror)
    else:
        code = getattr(error, "sqlite_errorcode", 0) & _PRIMARY
        full, forbidden = code == sqlite3.SQLITE_FULL, code in _SQLITE_FORBIDDEN
        damaged = code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
        held, words = code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED), str(error)
    if full:
        return "the disk is full", "free some space and do it again; the diary is as it was"
    if held:
        return "another program holds it", "close that program, or try again in a moment"
    if forbidden:
        return "it may not be written to", "a file and a folder that you may write to"
    if damaged:
        return f"it is damaged, or no diary ({words})", _MOVE_AWAY
    return f"it cannot be used ({words})", "try again; if it stays so, start the computer anew"


def _bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    """Take the layout to the newest version."""
    version = _version(connection)
    if version == len(MIGRATIONS) and _number(connection, "application_id") == APPLICATION_ID:
        return
    if version > len(MIGRATIONS):
        raise _unusable(path, f"a newer release wrote it (layout {version})", _MOVE_AWAY)
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if tables and _number(connection, "application_id") != APPLICATION_ID:
        raise _unusable(path, "it is another program's database", _MOVE_AWAY)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("BEGIN IMMEDIATE")
    for migration in MIGRATIONS[_version(connection) :]:  # another window may have been first
        for statement in migration:
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
    connection.execute("COMMIT")


def _version(connection: sqlite3.Connection) -> int:
    return _number(connection, "user_version")


def _number(connection: sqlite3.Connection, pragma: str) -> int:
    return int(connection.execute(f"PRAGMA {pragma}").fetchone()[0])


def _unusable(path: Path, problem: str, allowed: str) -> InputError:
    return InputError("diary", [Fault("the diary's file", str(path), problem, allowed)])
