"""What does each window have open: which figures are not saved yet, and what is chosen?

A sitting is one window's work, known by a token that stands in its address. It is kept at every
change, so that closing or reloading a window loses nothing. A window that finds a token takes that
sitting up under a token of its own: two windows never write to one sitting.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from model.keeping.database import connected
from model.plan.first_edition import keys_of_today

MOST_SITTINGS: Final = 500
"""The oldest beyond these are forgotten."""

_COLUMNS = "token, written_at, plan_path, plan_sha256, changes, choices"


@dataclass(frozen=True, slots=True)
class Sitting:
    """What one window has open.

    Attributes
    ----------
    token
        Names it.
    written_at
        When it was last kept, UTC, ISO 8601.
    plan_path, plan_sha256
        The plan's file, and the hash of what it held.
    changes
        Figures not saved yet, by dotted key; None takes a key out.
    choices
        What is chosen on pages and is no figure of the plan, by the name of its control: a
        strategy's name, or an amount in the control's unit.
    """

    token: str
    written_at: str
    plan_path: str
    plan_sha256: str
    changes: Mapping[str, Any]
    choices: Mapping[str, str | float]


def new_token() -> str:
    """Make a name that no other window has and nobody guesses."""
    return secrets.token_urlsafe(12)


def keep_sitting(
    path: Path,
    token: str,
    plan_path: Path,
    plan_sha256: str,
    changes: Mapping[str, Any],
    choices: Mapping[str, str | float] | None = None,
) -> None:
    """Keep what a window has open, in place of what it had; see `Sitting`.

    Raises
    ------
    InputError
        The database cannot be used.
    """
    written_at = datetime.now(UTC).isoformat(timespec="milliseconds")
    texts = json.dumps(dict(changes)), json.dumps(dict(choices or {}))
    row = (token, written_at, str(plan_path), plan_sha256, *texts)
    places = ", ".join("?" * len(row))
    with connected(path) as database:
        database.execute(f"INSERT OR REPLACE INTO sitting ({_COLUMNS}) VALUES ({places})", row)
        database.execute(
            "DELETE FROM sitting WHERE token NOT IN"
            " (SELECT token FROM sitting ORDER BY written_at DESC LIMIT ?)",
            (MOST_SITTINGS,),
        )


def sitting(path: Path, token: str) -> Sitting | None:
    """Return the sitting of a token, None where there is none.

    Raises
    ------
    InputError
        The database cannot be used.
    """
    return next(iter(_found(path, "WHERE token = ?", (token,))), None)


def sittings_of(path: Path, tokens: Collection[str]) -> tuple[Sitting, ...]:
    """Return the sittings of some tokens, the newest first; tokens that have none are left out.

    Raises
    ------
    InputError
        The database cannot be used.
    """
    if not tokens:
        return ()
    places = ", ".join("?" * len(tokens))
    return _found(path, f"WHERE token IN ({places}) ORDER BY written_at DESC", tuple(tokens))


def last_sittings(path: Path, *, besides: str = "", most: int = 1) -> tuple[Sitting, ...]:
    """Return the sittings that were kept last, the newest first, but for one.

    Raises
    ------
    InputError
        The database cannot be used.
    """
    return _found(path, "WHERE token != ? ORDER BY written_at DESC LIMIT ?", (besides, most))


def _found(path: Path, condition: str, values: tuple[str | int, ...]) -> tuple[Sitting, ...]:
    if not path.exists():
        return ()
    with connected(path) as database:
        database.text_factory = lambda data: data.decode("utf-8", "replace")
        rows = database.execute(f"SELECT {_COLUMNS} FROM sitting {condition}", values).fetchall()
    return tuple(found for found in map(_sitting, rows) if found is not None)


def _sitting(row: tuple[object, ...]) -> Sitting | None:
    """Return a row as a sitting, None where it is damaged: then it is offered to nobody."""
    token, written_at, plan_path, plan_sha256, *texts = (str(cell) for cell in row)
    try:
        changes, choices = (json.loads(text) for text in texts)
    except (ValueError, RecursionError):
        return None
    if not (isinstance(changes, dict) and isinstance(choices, dict)):
        return None
    changes = keys_of_today(changes)  # 0.1 knew cotton alone
    return Sitting(token, written_at, plan_path, plan_sha256, changes, choices)
