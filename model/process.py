"""What does a process ask of the system: to keep memory it gave back, and who else is running?

A run makes and drops arrays of a few hundred kilobytes every month. The C library of Linux gives
such memory back at once, and fetching it again, page by page, was measured to take a fifth of a
run. It learns to keep what is dropped from the largest piece dropped so far: so one large piece is
dropped first. Elsewhere this does nothing.
"""

from __future__ import annotations

import os
import sys
from typing import Final

LARGEST_LEARNT_BYTES: Final = 31 * 2**20
"""Just below the 32 MiB from which the library learns nothing (mallopt(3), M_MMAP_THRESHOLD)."""


def keep_dropped_memory() -> None:
    """Drop one large piece of memory, never written to, so that smaller ones are kept."""
    bytearray(LARGEST_LEARNT_BYTES)


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
