"""How is work shared out to processes of this computer, one a core?"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from typing import Final, TypeVar

from model.outlook.setting import keep_dropped_memory

AHEAD: Final = 2
"""Pieces handed out for each process: one it works on, one that waits."""

Piece = TypeVar("Piece")
Result = TypeVar("Result")


def cores_of(asked: int | None) -> int:
    """Return how many cores are used: those asked for, or all."""
    return asked or os.cpu_count() or 1


@contextmanager
def processes(cores: int) -> Iterator[ProcessPoolExecutor]:
    """Run processes; what is left undone inside the block is dropped, and they are ended."""
    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("fork" if "fork" in methods else None)
    pool = ProcessPoolExecutor(cores, mp_context=context, initializer=_begin)
    try:
        yield pool
    except BaseException:
        for process in list((pool._processes or {}).values()):
            process.terminate()
        pool.shutdown(wait=False, cancel_futures=True)
        raise
    pool.shutdown()


def in_order(
    work: Callable[[Piece], Result], pieces: Iterable[Piece], cores: int
) -> Iterator[Result]:
    """Do work piece by piece, results in the order of the pieces."""
    if cores == 1:
        yield from map(work, pieces)
        return
    with processes(cores) as pool:
        waiting: deque[Future[Result]] = deque()
        for piece in pieces:
            waiting.append(pool.submit(work, piece))
            if len(waiting) > AHEAD * cores:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def _begin() -> None:
    """Prepare a process: whoever shares out the work ends it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    keep_dropped_memory()
