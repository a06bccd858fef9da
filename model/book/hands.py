"""Who plays the farms: this program, processes on the cores of this computer, or a cluster?

The work is the same piece by piece, so the results are the same to the bit.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from typing import Final

from model.book.part import Task, play_task
from model.outlook.setting import keep_dropped_memory

AHEAD: Final = 2
"""Tasks handed out for each process: one it works on, one that waits."""


def by_itself(tasks: Iterable[Task]) -> Iterator[tuple[Task, bytes]]:
    """Play tasks one after the other in this program."""
    return ((task, play_task(task)) for task in tasks)


def on_all_cores(tasks: Iterable[Task], cores: int | None = None) -> Iterator[tuple[Task, bytes]]:
    """Play tasks in processes of this computer, one a core."""
    cores = cores or os.cpu_count() or 1
    if cores == 1:
        yield from by_itself(tasks)
        return
    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("fork" if "fork" in methods else None)
    pool = ProcessPoolExecutor(cores, mp_context=context, initializer=_begin)
    waiting: dict[Future[bytes], Task] = {}
    try:
        for task in tasks:
            waiting[pool.submit(play_task, task)] = task
            if len(waiting) == AHEAD * cores:
                yield from _done_of(waiting)
        while waiting:
            yield from _done_of(waiting)
    finally:
        if waiting:
            for process in list((pool._processes or {}).values()):
                process.terminate()
        pool.shutdown(wait=not waiting, cancel_futures=True)


def _done_of(waiting: dict[Future[bytes], Task]) -> Iterator[tuple[Task, bytes]]:
    """Wait for one or more tasks, and take them off the list."""
    for done in wait(waiting, return_when=FIRST_COMPLETED).done:
        yield waiting.pop(done), done.result()


def _begin() -> None:
    """Prepare a process that plays: whoever shares out the work ends it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    keep_dropped_memory()
