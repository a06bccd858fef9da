"""How does the process keep memory that was given back, instead of asking the system for it anew?

A run makes and drops arrays of a few hundred kilobytes every month. The C library of Linux gives
such memory back at once, and fetching it again, page by page, was measured to take a fifth of a
run. It learns to keep what is dropped from the largest piece dropped so far: so one large piece is
dropped first. Elsewhere this does nothing.
"""

from __future__ import annotations

from typing import Final

LARGEST_LEARNT_BYTES: Final = 31 * 2**20
"""Just below the 32 MiB from which the library learns nothing (mallopt(3), M_MMAP_THRESHOLD)."""


def keep_dropped_memory() -> None:
    """Drop one large piece of memory, never written to, so that smaller ones are kept."""
    bytearray(LARGEST_LEARNT_BYTES)
