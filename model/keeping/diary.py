"""What was decided, at what odds, and how did it turn out?

Each decision points to the file of its plan, which stays the truth of that plan, and keeps the
plan's text as it was on the day. A decision is never rewritten. How it turned out is added later,
and added to: an older note of an outcome stays in the file, the newest is shown.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

from model.errors import Fault, InputError
from model.files import defused
from model.keeping.database import connected

LONGEST_TEXT: Final = 10_000
"""Letters in a decision, its odds or its outcome."""

CSV_COLUMNS: Final = (
    "number",
    "decided_on",
    "decision",
    "odds",
    "outcome",
    "plan_title",
    "plan_path",
    "record_sha256",
    "written_at",
)


@dataclass(frozen=True, slots=True)
class Decision:
    """What is written down on the day.

    Attributes
    ----------
    decided_on
        The day.
    decision, odds
        What was decided, and at what odds, in the person's words.
    plan_path, plan_title, plan_text
        The plan's file, its title, and what it held that day.
    record_sha256
        Which record the odds came from.
    """

    decided_on: date
    decision: str
    odds: str
    plan_path: str
    plan_title: str
    plan_text: str
    record_sha256: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A decision as the diary holds it."""

    number: int
    written_at: str  # UTC, ISO 8601
    decision: Decision
    outcome: str  # the newest note; empty until there is one


@dataclass(frozen=True, slots=True)
class Diary:
    """What a diary holds."""

    entries: tuple[Entry, ...]  # the newest day first
    damaged: tuple[str, ...]  # rows that cannot be read, in words; they stay in the file


def append(path: Path, decision: Decision) -> int:
    """Write a decision down; return its number.

    Raises
    ------
    InputError
        The decision is empty or too long, or the diary cannot be used.
    """
    _check("what was decided", decision.decision)
    _check("the odds", decision.odds, may_be_empty=True)
    values = (
        _now(),
        decision.decided_on.isoformat(),
        decision.decision.strip(),
        decision.odds.strip(),
        decision.plan_path,
        decision.plan_title,
        decision.plan_text,
        decision.record_sha256,
    )
    with connected(path) as database:
        cursor = database.execute(
            "INSERT INTO decision (written_at, decided_on, decision, odds, plan_path, plan_title,"
            " plan_text, record_sha256) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            values,
        )
        return int(cursor.lastrowid or 0)


def amend_outcome(path: Path, number: int, outcome: str) -> None:
    """Note how a decision turned out; earlier notes stay in the file.

    Raises
    ------
    InputError
        There is no such decision, the outcome is empty or too long, or the diary cannot be used.
    """
    _check("how it turned out", outcome)
    with connected(path) as database:
        found = database.execute("SELECT 1 FROM decision WHERE number = ?", (number,)).fetchone()
        if found is None:
            fault = Fault(
                "decision", str(number), "there is none of this number", "one in the list"
            )
            raise InputError("diary", [fault])
        database.execute(
            "INSERT INTO outcome (decision, written_at, outcome) VALUES (?, ?, ?)",
            (number, _now(), outcome.strip()),
        )


def read_diary(path: Path) -> Diary:
    """List all decisions, the newest day first; rows that are damaged are set aside and named.

    Raises
    ------
    InputError
        The diary cannot be used.
    """
    if not path.exists():
        return Diary((), ())
    with connected(path) as database:
        database.text_factory = lambda data: data.decode("utf-8", "replace")
        rows = database.execute(
            "SELECT number, written_at, decided_on, decision, odds, plan_path, plan_title,"
            " plan_text, record_sha256, coalesce((SELECT outcome FROM outcome"
            " WHERE outcome.decision = decision.number ORDER BY outcome.number DESC LIMIT 1), '')"
            " FROM decision ORDER BY decided_on DESC, number DESC"
        ).fetchall()
    found = [_entry(row) for row in rows]
    return Diary(
        tuple(one for one in found if isinstance(one, Entry)),
        tuple(one for one in found if isinstance(one, str)),
    )


def _entry(row: tuple[object, ...]) -> Entry | str:
    """Return a row of the diary, or what is the matter with it."""
    number, written_at, day, *rest, outcome = row
    if not all(isinstance(cell, str) for cell in (written_at, day, *rest, outcome)):
        return f"decision {number} of {day}: a part of it is no text any more"
    try:
        decided_on = date.fromisoformat(str(day))
    except ValueError:
        return f"decision {number}: its day ({str(day)[:20]}) is no date any more"
    decision = Decision(decided_on, *(str(cell) for cell in rest))
    return Entry(int(str(number)), str(written_at), decision, str(outcome))


def plan_moved(path: Path, before: Path, after: Path) -> None:
    """Let decisions point to a plan's file under its new name.

    Raises
    ------
    InputError
        The diary cannot be used.
    """
    if path.exists():
        with connected(path) as database:
            database.execute(
                "UPDATE decision SET plan_path = ? WHERE plan_path = ?", (str(after), str(before))
            )


def diary_csv(listed: Iterable[Entry]) -> str:
    """Write entries as CSV text; text that a spreadsheet would run as a formula is defused."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(CSV_COLUMNS)
    for entry in listed:
        decision = entry.decision
        words = (
            decision.decided_on.isoformat(),
            decision.decision,
            decision.odds,
            entry.outcome,
            decision.plan_title,
            decision.plan_path,
            decision.record_sha256,
            entry.written_at,
        )
        writer.writerow([entry.number, *(defused(word) for word in words)])
    return text.getvalue()


def _check(where: str, text: str, *, may_be_empty: bool = False) -> None:
    """Refuse an empty text, or one without end."""
    allowed = f"text of 1 to {LONGEST_TEXT:,} letters"
    if not text.strip() and not may_be_empty:
        raise InputError("diary", [Fault(where, "", "it is empty", allowed)])
    if len(text) > LONGEST_TEXT:
        raise InputError("diary", [Fault(where, "", f"it has {len(text):,} letters", allowed)])


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
