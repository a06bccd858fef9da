"""How does a result reach the disk: whole, or not at all, and with the files it belongs to?

A file is written beside its place under a temporary name, given to the disk to keep, and then
renamed over its place: a run that is stopped, a full disk or a power cut leaves the old file or the
new one. A file that a link names is written where the link leads.

Files of one run belong together. Its document names the SHA-256 of each of its tables, and has a
mark of its own, which a file that people open by itself may carry in its properties. The old
document is taken away before the first table is put in place and the new one is put in place last,
so that a document never stands beside another run's tables; `check_run` refuses them where somebody
put them so. `plain` turns results into what JSON holds, `read_plain` turns them back.
"""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import json
import math
import os
import re
import secrets
import signal
import sys
import threading
import types
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal, get_args, get_origin, get_type_hints

import numpy as np

from model.errors import Fault, InputError

Content = str | bytes | Iterable[str] | Iterable[bytes]
"""Text (written as UTF-8, lines ended by a line feed), bytes, or either in pieces."""

FILES_KEY: Final = "files"
"""In a run's document: its other files by name, with the SHA-256 of each."""

RUN_KEY: Final = "run_mark"
"""In a run's document: its own mark."""

_MARK_LETTERS: Final = 16
_NOT_OF_THE_RUN: Final = ("version", RUN_KEY, FILES_KEY)
"""What of a document its mark leaves out."""

_TEMPORARY: Final = re.compile(r"\..+\.(\d+)-[0-9a-f]{8}\.part")
_LONGEST_NAME: Final = 60


@dataclass(frozen=True, slots=True)
class _Written:
    """A file that stands beside its place under a temporary name."""

    place: Path
    temporary: Path
    sha256: str


def write_whole(path: Path, content: Content) -> None:
    """Write a file in one step; missing folders are made.

    Raises
    ------
    InputError
        The place cannot be written to.
    """
    write_all({path: content})


def write_all(contents: Mapping[Path, Content]) -> None:
    """Write several files: all of them, or none; see `write_whole`."""
    _write(contents, None, "")


def write_run(document_path: Path, document: str, tables: Mapping[Path, Content]) -> list[Path]:
    """Write the files of a run: all of them, or none.

    Parameters
    ----------
    document_path
        Where the run's document shall stand.
    document
        It, as JSON text; the names and hashes of the tables are added to it.
    tables
        The run's other files, by where they shall stand.

    Returns
    -------
    list of Path
        What was written, the document first.

    Raises
    ------
    InputError
        A place cannot be written to.
    """
    _write(tables, document_path, document)
    return [document_path, *tables]


def marked(document: str, sha256_by_name: Mapping[str, str]) -> str:
    """Return a run's document with the mark of the files that belong to it.

    Examples
    --------
    >>> print(marked('{"count": 2}', {"sequences.csv": "4f..."}), end="")
    {
     "count": 2,
     "run_mark": "50b5ac2e2dca781a",
     "files": {
      "sequences.csv": "4f..."
     }
    }
    """
    marks = {RUN_KEY: run_mark(document), FILES_KEY: dict(sha256_by_name)}
    fields = json.loads(document) | marks
    return json.dumps(fields, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def run_mark(document: str) -> str:
    """Return the mark of a run: the same inputs and seed give the same, whatever the release.

    A file that people open by itself, a PDF or a workbook, carries it in its properties, so that
    anybody can see which document it belongs to.

    Parameters
    ----------
    document
        The run's document, as JSON text.
    """
    fields = {
        key: value for key, value in json.loads(document).items() if key not in _NOT_OF_THE_RUN
    }
    text = json.dumps(fields, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:_MARK_LETTERS]


def defused(text: str) -> str:
    """Return a name as a table may hold it: no spreadsheet takes it for a formula.

    Examples
    --------
    >>> defused("=1+1"), defused("cautious")
    ("'=1+1", 'cautious')
    """
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text


def check_run(document_path: Path, document: Mapping[str, Any]) -> None:
    """Refuse a document beside whose name files of another run stand.

    Raises
    ------
    InputError
        With each file that is not of its run.
    """
    marks = document.get(FILES_KEY)
    faults = []
    for name, sha256 in (marks if isinstance(marks, dict) else {}).items():
        path = document_path.with_name(Path(str(name)).name)
        if path.is_file() and _sha256(path) != sha256:
            problem = f"it is not of the run that wrote {document_path.name}"
            faults.append(Fault("file", str(path), problem, "files of one run: run it again"))
    if faults:
        raise InputError(document_path.name, faults)


def clear_leftovers(folder: Path) -> None:
    """Take away temporary files in a folder whose program has ended."""
    with contextlib.suppress(OSError):
        for path in folder.iterdir():
            match = _TEMPORARY.fullmatch(path.name)
            if match and not is_running(int(match[1])):
                path.unlink(missing_ok=True)


def read_bytes(path: Path, what: str) -> bytes:
    """Read a file that a person named.

    Raises
    ------
    InputError
        There is no such file, or it cannot be read.
    """
    try:
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is not the name of a file"
        if isinstance(error, FileNotFoundError):
            reason = "there is no such file"
        fault = Fault(what, str(path), reason, "the path of a file that can be read")
        raise InputError(what, [fault]) from error


def _write(contents: Mapping[Path, Content], document_path: Path | None, document: str) -> None:
    """Write files beside their places, then put all in place, a run's document last."""
    written: list[_Written] = []
    made: list[Path] = []
    path = document_path or next(iter(contents))
    try:
        for path in [*contents, *([document_path] if document_path else [])]:
            place = Path(os.path.realpath(path))
            _refuse_folder(place)
            made += _make_folders(place.parent)
            clear_leftovers(place.parent)
            if path == document_path:
                names = [table.name for table in contents]
                hashes = {name: table.sha256 for name, table in zip(names, written, strict=True)}
                written.append(_write_beside(place, marked(document, hashes)))
            else:
                written.append(_write_beside(place, contents[path]))
        with _to_the_end():
            _put_in_place(written, has_document=document_path is not None and len(written) > 1)
    except OSError as error:
        _undo(written, made)
        raise _unwritable(path, error.strerror or str(error)) from error
    except BaseException:
        _undo(written, made)
        raise


@contextlib.contextmanager
def _to_the_end() -> Iterator[None]:
    """Let nobody's Ctrl-C fall between two renames: what takes a millisecond comes to its end."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _put_in_place(written: Sequence[_Written], *, has_document: bool) -> None:
    """Rename files to their places; a run's document goes first and comes last."""
    document = written[-1]
    aside = document.temporary.with_name(f".old{document.temporary.name}")
    had_one = has_document and document.place.exists()
    placed: list[_Written] = []
    if had_one:
        document.place.replace(aside)
        sync_folder(aside.parent)
    try:
        for file in written:
            if has_document and file is document:
                sync_folder(file.place.parent)
            file.temporary.replace(file.place)
            placed.append(file)
    except BaseException:
        if had_one and not placed:
            aside.replace(document.place)
        raise
    finally:
        aside.unlink(missing_ok=True)
    for folder in {file.place.parent for file in written}:
        sync_folder(folder)


def _write_beside(place: Path, content: Content) -> _Written:
    """Write under a temporary name in the same folder, and give it to the disk to keep."""
    token = f"{os.getpid()}-{secrets.token_hex(4)}"
    temporary = place.with_name(f".{place.name[:_LONGEST_NAME]}.{token}.part")
    digest = hashlib.sha256()
    pieces: Iterable[str | bytes] = [content] if isinstance(content, str | bytes) else content
    try:
        with open(temporary, "xb") as file:
            for piece in pieces:
                data = piece.encode("utf-8") if isinstance(piece, str) else piece
                digest.update(data)
                file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if place.exists():  # who may read the old file may read the new one, and nobody else
            temporary.chmod(place.stat().st_mode & 0o777)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return _Written(place, temporary, digest.hexdigest())


def sync_folder(folder: Path) -> None:
    """Flush a folder's names to the disk, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError:  # some network folders cannot
        pass
    finally:
        os.close(handle)


def _make_folders(folder: Path) -> list[Path]:
    """Make a folder and those above it that are missing; return the ones made, the deepest last."""
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    return missing[::-1]


def _refuse_folder(path: Path) -> None:
    """Refuse a place where a folder stands."""
    if path.is_dir():
        raise _unwritable(path, "it is a folder")


def _undo(written: Iterable[_Written], made: Sequence[Path]) -> None:
    """Take away what a failed write left: temporary files, and folders made for it."""
    for file in written:
        file.temporary.unlink(missing_ok=True)
    for folder in reversed(made):
        with contextlib.suppress(OSError):  # something else is in it by now: it stays
            folder.rmdir()


def _sha256(path: Path) -> str:
    """Return the hash of a file's bytes, read in pieces."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _unwritable(path: Path, reason: str) -> InputError:
    """Return the error of a place that cannot be written to."""
    fault = Fault("--out", str(path), f"it cannot be written ({reason})", "a place to write to")
    return InputError("output", [fault])


def plain(value: Any) -> Any:
    """Turn dataclasses, mappings, arrays and numbers into what JSON holds.

    Examples
    --------
    >>> plain({"shares": np.array([0.5, np.nan]), "years": (1, 2)})
    {'shares': [0.5, None], 'years': [1, 2]}
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, str | bool | int | None):
        return value
    if isinstance(value, np.ndarray | list | tuple):
        return [plain(item) for item in value]
    number = float(value)
    return number if math.isfinite(number) else None


def read_plain(kind: Any, value: Any) -> Any:
    """Turn what JSON holds back into a dataclass that `plain` wrote.

    Parameters
    ----------
    kind
        The dataclass, or the type of one of its fields.
    value
        What JSON holds.

    Raises
    ------
    ValueError
        The value is not of that kind.

    Examples
    --------
    >>> read_plain(tuple[float, ...], [0.5, None])
    (0.5, nan)
    """
    origin, parts = get_origin(kind), get_args(kind)
    if isinstance(kind, type) and dataclasses.is_dataclass(kind) and isinstance(value, Mapping):
        hints = get_type_hints(kind)
        names = [field.name for field in dataclasses.fields(kind)]
        if set(names) != set(value):
            raise ValueError(f"{kind} has {names}, not {list(value)}")
        return kind(**{name: read_plain(hints[name], value[name]) for name in names})
    if origin is tuple and isinstance(value, list):
        kinds = [parts[0]] * len(value) if parts[1:] == (...,) else parts
        return tuple(read_plain(k, v) for k, v in zip(kinds, value, strict=True))
    if origin is not None and _is_mapping(origin) and isinstance(value, Mapping):
        return {name: read_plain(parts[1], item) for name, item in value.items()}
    if origin is types.UnionType and value is not None:
        return read_plain(next(part for part in parts if part is not types.NoneType), value)
    if kind is float and not isinstance(value, str | bool):
        return math.nan if value is None else float(value)
    fits = value in parts if origin is Literal else origin is types.UnionType or type(value) is kind
    if not fits:
        raise ValueError(f"{value!r} is not {kind}")
    return value


def _is_mapping(kind: Any) -> bool:
    """Return whether a type is a mapping."""
    return isinstance(kind, type) and issubclass(kind, Mapping)


def is_running(number: int) -> bool:
    """Return whether a process of this number runs; true where it cannot be told.

    Examples
    --------
    >>> is_running(os.getpid())
    True
    """
    if sys.platform == "win32":
        import ctypes

        asks_only = 0x1000  # PROCESS_QUERY_LIMITED_INFORMATION
        handle = ctypes.windll.kernel32.OpenProcess(asks_only, False, number)
        if handle:
            ctypes.windll.kernel32.CloseHandle(handle)
        return bool(handle)
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
