"""Where are a person's plans, and how does no window undo another's work?

A plan is a TOML file, and that file is the truth. It is written whole or not at all. Whoever saves
says which text they began from: if the file holds another by now, nothing is written and both are
offered (`ChangedElsewhere`). A plan's record is copied beside it under a name that carries its
hash, so that a plan cannot come to rest on another record.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from model.errors import Fault, InputError, SeasonsError
from model.files import read_bytes, sync_folder, write_whole
from model.keeping.folder import make_private
from model.keeping.lock import locked
from model.plan.announced import rows_stated
from model.plan.first_edition import in_todays_words
from model.plan.text import edit_plan, inner_table, load_toml, parse_plan
from model.record.record import parse_record

LONGEST_NAME: Final = 80
"""Letters in a plan's name: a file name that every system takes."""

RECORD_SUFFIXES: Final = (".csv", ".xlsx", ".txt", ".tsv")
"""Of files that a record may be."""

_HASH_LETTERS: Final = 12
_HASHED_NAME = re.compile(rf"-[0-9a-f]{{{_HASH_LETTERS}}}$")
_RESERVED = re.compile(r"con|prn|aux|nul|com\d|lpt\d", re.IGNORECASE)
"""Names that Windows keeps for itself."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A plan file as it was when it was read or written.

    Attributes
    ----------
    path
        Where it stands.
    text
        What it held.
    sha256
        Hash of its bytes: what a later save compares with.
    """

    path: Path
    text: str
    sha256: str


class ChangedElsewhere(SeasonsError):  # noqa: N818 - it says what happened; nothing is wrong
    """A plan file changed since it was read; `current` is what it holds now."""

    def __init__(self, current: Kept) -> None:
        self.current = current
        super().__init__(f"{current.path.name} changed since it was read: nothing was written")


def read_kept(path: Path) -> Kept:
    """Read a plan file; its figures are not checked.

    Raises
    ------
    InputError
        It cannot be read.
    """
    return _kept(path, read_bytes(path, "plan"))


def with_record(kept: Kept, record: Path) -> Kept:
    """Return a plan that names no record as one that names this; the file stays as it is.

    Raises
    ------
    PlanError
        The text is not TOML.
    """
    if "record" in load_toml(kept.text.encode(), kept.path.name):
        return kept
    return replace(kept, text=edit_plan(kept.text, {"record": str(record)}))


def list_plans(folder: Path) -> list[Path]:
    """List the plan files of a folder by name."""
    return sorted(path for path in folder.glob("*.toml") if not path.name.startswith("."))


def plan_path(folder: Path, name: str) -> Path:
    """Return the file that a plan of this name has.

    Examples
    --------
    >>> plan_path(Path("plans"), "Home block, dry year").name
    'Home block, dry year.toml'

    Raises
    ------
    InputError
        No file can be called so.
    """
    stem = name.strip().removesuffix(".toml").strip()
    problem = _why_no_name(stem)
    if problem:
        allowed = "letters, digits, spaces, commas, dashes and underscores, such as dry year 2026"
        raise InputError("name", [Fault("name of the plan", name, problem, allowed)])
    return folder / f"{stem}.toml"


def save(kept: Kept, text: str) -> Kept:
    """Write a plan back to its file, unless the file changed since `kept` was read.

    Raises
    ------
    PlanError
        The text is no plan: nothing is written.
    ChangedElsewhere
        The file holds something else by now: nothing is written.
    """
    parse_plan(text.encode(), kept.path.name)
    with locked(kept.path.parent):
        if kept.path.exists():
            current = read_kept(kept.path)
            if current.sha256 != kept.sha256:
                raise ChangedElsewhere(current)
        write_whole(kept.path, text)
    return _kept(kept.path, text.encode())


def save_new(
    folder: Path,
    name: str,
    text: str,
    record: bytes,
    changes: Mapping[str, Any] | None = None,
    *,
    anew: bool = False,
) -> Kept:
    """Write a plan as a new file, with its record beside it.

    Parameters
    ----------
    folder, name
        Where it shall stand, and what it shall be called.
    text
        The plan's text; its `record` is made to name the copy.
    record
        The bytes of the record's file.
    changes
        Values to change on the way, as `edit_plan` takes them.
    anew
        Whether a file of this name is a fault even where it holds just this plan. Else it is the
        answer: a press that came twice, the first cut off once it had written, has what it asked
        for.

    Raises
    ------
    PlanError
        The text is no plan.
    InputError
        Another plan of this name is there already, or no file can be called so.
    """
    path = plan_path(folder, name)
    plan = parse_plan(edit_plan(text, changes or {}).encode(), path.name)
    copy = _hashed_name(plan.record, record)
    text = edit_plan(text, {**(changes or {}), "record": copy})
    make_private(folder)
    with locked(folder):
        if anew or not (path.is_file() and path.read_bytes() == text.encode()):
            _refuse_taken(path)
        keep_record(folder, plan.record, record)
        write_whole(path, text)
    return _kept(path, text.encode())


def alone(text: str, folder: Path) -> str:
    """Return a plan's text so that it can stand in any folder: what was announced is in it.

    Parameters
    ----------
    text
        The plan's text.
    folder
        That it stands in. A file of announced figures that it names there is laid into the text;
        where that cannot be read, the text stays as it is.
    """
    try:
        stated = parse_plan(text.encode(), "plan").announced
        if stated is None or stated.file is None:
            return text
        lists = rows_stated(stated, folder).lists()
    except InputError:
        return text
    known = stated.model_dump(exclude={"file"}, exclude_unset=True)
    return edit_plan(text, {"announced": known | lists})


def bring_in(folder: Path, name: str, plan: bytes, record: bytes | None) -> Kept:
    """Write a plan that came from elsewhere as a new file, with its record.

    Parameters
    ----------
    folder, name
        Where it shall stand, and what it shall be called.
    plan
        The bytes of its file.
    record
        The bytes of its record; None where the folder has it, under the name that the plan gives
        or as the one copy kept of that name.

    Raises
    ------
    InputError
        Plan or record cannot be used, the record is missing, or the name is taken.
    """
    checked = parse_plan(plan, name)
    if record is None:
        record = _record_here(folder, checked.record, name).read_bytes()
    parse_record(
        record,
        checked.record,
        fill=checked.record_fill,
        missing_days_frac=checked.record_missing_days_frac,
        how=checked.how_to_read,
    )
    return save_new(folder, name, plan.decode("utf-8-sig"), record)


def _record_here(folder: Path, record: str, name: str) -> Path:
    """Find a record by the name that a plan gives it, or its one copy kept under a hashed name."""
    beside = folder / Path(record).name
    if beside.is_file():
        return beside
    copies = [] if _HASHED_NAME.search(beside.stem) else _copies(folder, record)
    if len(copies) == 1:
        return copies[0]
    problem = f"{len(copies)} that differ are kept of this name" if copies else "it is not here"
    raise InputError(name, [Fault("record", record, problem, "the record's CSV file too")])


def _copies(folder: Path, record: str) -> list[Path]:
    """List the copies of a record that are kept under its name and a hash."""
    plain = _plain_stem(record)
    return [
        path
        for path in sorted(folder.glob("*"))
        if path.suffix in RECORD_SUFFIXES
        and _HASHED_NAME.search(path.stem)
        and _plain_stem(path.name) == plain
    ]


def rename(kept: Kept, name: str) -> Kept:
    """Return a plan file another name in its folder.

    Raises
    ------
    InputError
        A plan of this name is there already, or no file can be called so.
    ChangedElsewhere
        The file holds something else by now: it keeps its name.
    """
    path = plan_path(kept.path.parent, name)
    with locked(kept.path.parent):
        _refuse_taken(path)
        current = read_kept(kept.path)
        if current.sha256 != kept.sha256:
            raise ChangedElsewhere(current)
        kept.path.rename(path)
        sync_folder(path.parent)
    return Kept(path, kept.text, kept.sha256)


def keep_record(folder: Path, name: str, data: bytes) -> str:
    """Copy a record into a folder under a name that carries its hash; give that name.

    A copy that is there already is left as it is: the hash says that it is the same.
    """
    hashed = _hashed_name(name, data)
    path = folder / hashed
    if not path.is_file() or path.read_bytes() != data:
        write_whole(path, data)
    return hashed


def _hashed_name(name: str, data: bytes) -> str:
    """Return the name that a copy of a record has: its own, made plain, and its hash."""
    suffix = Path(name).suffix.lower()
    suffix = suffix if suffix in RECORD_SUFFIXES else RECORD_SUFFIXES[0]
    return f"{_plain_stem(name)}-{hashlib.sha256(data).hexdigest()[:_HASH_LETTERS]}{suffix}"


def _plain_stem(name: str) -> str:
    """Return the part of a record's name that a copy keeps, without a hash that it has already."""
    stem = _HASHED_NAME.sub("", Path(name).stem)
    return re.sub(r"[^-\w]", "_", stem)[:LONGEST_NAME]


def with_changes(text: str, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Read a plan's text as nested tables, with some values changed; None takes a key out.

    Raises
    ------
    tomllib.TOMLDecodeError
        The text is not TOML.
    PlanError
        A key names a place that a list of the plan has not.
    """
    raw = in_todays_words(deepcopy(_read(text))).raw if changes else deepcopy(_read(text))
    for dotted, value in changes.items():
        *tables, key = dotted.split(".")
        table = raw
        for name in tables:
            table = inner_table(table, name, dotted, dict)
        if value is None:
            table.pop(key, None)
        else:
            table[key] = value
    return raw


@lru_cache(maxsize=8)
def _read(text: str) -> dict[str, Any]:
    """Read a plan's text once, however often a figure of it is changed; not to be written to."""
    return tomllib.loads(text.replace("\r\n", "\n"))


def _kept(path: Path, data: bytes) -> Kept:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        fault = Fault("the file", "", f"byte {error.start + 1:,} is not text in UTF-8", "UTF-8")
        raise InputError(path.name, [fault]) from error
    return Kept(path, text, hashlib.sha256(data).hexdigest())


def _refuse_taken(path: Path) -> None:
    """Refuse a name that another file has."""
    if path.exists():
        fault = Fault("name of the plan", path.stem, "there is a plan of this name", "another name")
        raise InputError("name", [fault])


def _why_no_name(stem: str) -> str:
    """Return why no file can be called so; empty where one can."""
    if not stem:
        return "it is empty"
    if len(stem) > LONGEST_NAME:
        return f"it has {len(stem)} letters, more than {LONGEST_NAME}"
    if not re.fullmatch(r"[\w(][-\w ,()]*", stem):
        return "it has letters that a file name may not have"
    return "the system keeps this name for itself" if _RESERVED.fullmatch(stem) else ""
