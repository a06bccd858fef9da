"""How a result reaches the disk: whole, or not at all.

A file is written beside its place under a temporary name and then renamed over it, so that a run
which is stopped, or a full disk, never leaves half a file where a whole one stood.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from model.errors import Fault, InputError


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file in one step.

    Parameters
    ----------
    path
        Where it shall stand; missing folders are made.
    content
        Text (written as UTF-8, lines ended by a line feed) or bytes.

    Raises
    ------
    InputError
        The place cannot be written to.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_dir():
            raise IsADirectoryError(f"{path} is a folder")
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            _give_usual_permissions(Path(temporary))
            Path(temporary).replace(path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        reason = error.strerror or str(error)
        fault = Fault("--out", str(path), f"it cannot be written ({reason})", "a place to write to")
        raise InputError("output", [fault]) from error


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
