"""How does a result reach the disk: whole, or not at all?

A file is written beside its place under a temporary name and then renamed over it, so that a run
which is stopped, or a full disk, never leaves half a file where a whole one stood. `plain` turns
results into what JSON holds.
"""

from __future__ import annotations

import contextlib
import dataclasses
import math
import os
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from model.errors import Fault, InputError


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file in one step; see `write_all_whole`."""
    write_all_whole({path: content})


def write_all_whole(contents: Mapping[Path, str | bytes]) -> None:
    """Write several files that belong together: all of them, or none.

    Parameters
    ----------
    contents
        Text (written as UTF-8, lines ended by a line feed) or bytes, by where it shall stand;
        missing folders are made.

    Raises
    ------
    InputError
        A place cannot be written to.
    """
    temporaries: dict[Path, Path] = {}
    made: list[Path] = []
    try:
        for path, content in contents.items():
            made += _make_folders(path.parent)
            _refuse_folder(path)
            temporaries[path] = _write_beside(path, content)
        for path, temporary in temporaries.items():
            temporary.replace(path)
    except OSError as error:
        _undo(temporaries.values(), made)
        raise _unwritable(path, error.strerror or str(error)) from error
    except BaseException:
        _undo(temporaries.values(), made)
        raise


def _write_beside(path: Path, content: str | bytes) -> Path:
    """Write under a temporary name in the same folder, and give that name."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:60]}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode("utf-8") if isinstance(content, str) else content)
        _give_usual_permissions(Path(name))
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return Path(name)


def _make_folders(folder: Path) -> list[Path]:
    """Make a folder and those above it that are missing; give the ones made, the deepest last."""
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    return missing[::-1]


def _refuse_folder(path: Path) -> None:
    """Refuse a place where a folder stands."""
    if path.is_dir():
        raise _unwritable(path, "it is a folder")


def _undo(temporaries: Iterable[Path], made: Sequence[Path]) -> None:
    """Take away what a failed write left: temporary files, and folders made for it."""
    for temporary in temporaries:
        temporary.unlink(missing_ok=True)
    for folder in reversed(made):
        with contextlib.suppress(OSError):  # something else is in it by now: it stays
            folder.rmdir()


def _unwritable(path: Path, reason: str) -> InputError:
    """Say that a place cannot be written to."""
    fault = Fault("--out", str(path), f"it cannot be written ({reason})", "a place to write to")
    return InputError("output", [fault])


def read_bytes(path: Path, what: str) -> bytes:
    """Read a file that a person named.

    Raises
    ------
    InputError
        There is no such file, or it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        reason = "there is no such file" if isinstance(error, FileNotFoundError) else error.strerror
        fault = Fault(what, str(path), str(reason), "the path of a file that can be read")
        raise InputError(what, [fault]) from error


def _give_usual_permissions(path: Path) -> None:
    """Let the file be read as any other new file would be (temporary files are private)."""
    mask = os.umask(0)
    os.umask(mask)
    path.chmod(0o666 & ~mask)


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
