"""How does one window or program at a time compare and write in a folder?

The lock is the system's own, on a file in the folder: it belongs to the process that took it and
goes when that process ends, however it ends and whatever the clock says. Nobody waits without end.
"""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from model.errors import Fault, InputError

LOCK_NAME: Final = ".saving"

WAIT_S: Final = 10.0
"""How long one waits for another: saving takes milliseconds, on a slow disk a second or two."""

_RETRY_S: Final = 0.01
_LONGEST_NUMBER: Final = 20
_NO_LOCKS: Final = (errno.ENOLCK, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS)
"""What a folder says whose system has no locks; then a plan's hash alone guards it."""


@contextmanager
def locked(folder: Path, wait_s: float | None = None) -> Iterator[None]:
    """Keep a folder's lock.

    Raises
    ------
    InputError
        Another program has held it all the while, or the folder cannot be written to.
    """
    path = folder / LOCK_NAME
    handle = _taken(path, WAIT_S if wait_s is None else wait_s)
    try:
        yield
    finally:
        with suppress(OSError):  # where an open file cannot go, the next one uses it again
            path.unlink(missing_ok=True)
        os.close(handle)


def _taken(path: Path, wait_s: float) -> int:
    """Return the lock's open file once it is held."""
    until = time.monotonic() + wait_s
    while True:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle = os.open(path, os.O_CREAT | os.O_RDWR, 0o600)
        except OSError as error:
            raise _refused(path, str(error.strerror), "a folder to write to") from error
        if _hold(handle) and _is_still(handle, path):
            os.truncate(handle, 0)
            os.write(handle, str(os.getpid()).encode())
            return handle
        os.close(handle)
        if time.monotonic() > until:
            problem = (
                f"another program (process {_holder(path)}) has been saving here all the while"
            )
            raise _refused(path, problem, "close it, or try again in a moment")
        time.sleep(_RETRY_S)


def _hold(handle: int) -> bool:
    """Take the system's lock if nobody has it; return whether it is held."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return error.errno in _NO_LOCKS
    return True


def _is_still(handle: int, path: Path) -> bool:
    """Return whether the open file is the one of that name: who had it before took it away."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except OSError:
        return False


def _holder(path: Path) -> str:
    """Return the number of the process that holds the lock."""
    try:
        return path.read_text(encoding="ascii", errors="replace")[:_LONGEST_NUMBER] or "unknown"
    except OSError:
        return "unknown"


def _refused(path: Path, problem: str, allowed: str) -> InputError:
    return InputError("plans", [Fault("folder", str(path.parent), problem, allowed)])
