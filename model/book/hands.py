"""Who plays the farms: this program, processes on the cores of this computer, or a cluster?

The work is the same piece by piece, so the results are the same to the bit.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from importlib.metadata import version
from typing import TYPE_CHECKING, Any, Final

from model.book.cores import AHEAD, cores_of, processes
from model.book.part import Task, play_task
from model.errors import Fault, InputError

if TYPE_CHECKING:
    from model.book.book import Hands

TRIES: Final = 3
"""How often a task is handed out again when the worker that had it is gone."""


def by_itself(tasks: Iterable[Task]) -> Iterator[tuple[Task, bytes]]:
    """Play tasks one after the other in this program."""
    return ((task, play_task(task)) for task in tasks)


def on_all_cores(tasks: Iterable[Task], cores: int | None = None) -> Iterator[tuple[Task, bytes]]:
    """Play tasks in processes of this computer, one a core."""
    used = cores_of(cores)
    if used == 1:
        yield from by_itself(tasks)
        return
    waiting: dict[Future[bytes], Task] = {}
    with processes(used) as pool:
        for task in tasks:
            waiting[pool.submit(play_task, task)] = task
            if len(waiting) == AHEAD * used:
                yield from _done_of(waiting)
        while waiting:
            yield from _done_of(waiting)


def _done_of(waiting: dict[Future[bytes], Task]) -> Iterator[tuple[Task, bytes]]:
    """Wait for one or more tasks, and take them off the list."""
    for done in wait(waiting, return_when=FIRST_COMPLETED).done:
        yield waiting.pop(done), done.result()


def on_cluster(address: str) -> Hands:
    """Return the hands of a Dask scheduler that runs already.

    Tasks of a worker that goes away are handed to another.

    Parameters
    ----------
    address
        Of the scheduler, such as tcp://127.0.0.1:8786.

    Raises
    ------
    InputError
        Nobody answers there, its workers have another version of this tool, or the library that
        speaks to a cluster is not installed.
    """
    try:
        import distributed
    except ImportError as error:
        allowed = "pip install 'seasons-in-hand[cluster]'"
        raise _refused(address, "the library for it is not installed", allowed) from error
    try:
        connect: Any = distributed.Client
        client = connect(address, set_as_default=False, timeout="10s")
    except (OSError, ValueError) as error:
        allowed = "the address of a Dask scheduler that runs, such as tcp://127.0.0.1:8786"
        raise _refused(address, "nobody answers there", allowed) from error
    _check_editions(client, address)

    def hands(tasks: Iterable[Task]) -> Iterator[tuple[Task, bytes]]:
        with client:
            yield from _shared_out(client, tasks, distributed.as_completed)

    return hands


def _check_editions(client: Any, address: str) -> None:
    """Refuse workers that would play by other rules, and a cluster without any."""
    own = version("seasons-in-hand")
    editions = set(client.run(version, "seasons-in-hand").values())
    if editions != {own}:
        problem = f"its workers have {', '.join(sorted(editions)) or 'not come yet'}"
        client.close()
        raise _refused(address, problem, f"workers with version {own} of seasons-in-hand")


def _shared_out(
    client: Any, tasks: Iterable[Task], as_completed: Any
) -> Iterator[tuple[Task, bytes]]:
    """Hand out so many tasks that no worker waits, and more as they are done."""
    left, at_once = iter(tasks), AHEAD * max(1, sum(client.nthreads().values()))
    task_of: dict[str, Task] = {}

    def submit(task: Task) -> Any:
        future = client.submit(play_task, task, key=f"farms-{task.key}", retries=TRIES)
        task_of[future.key] = task
        return future

    first = [submit(task) for task in itertools.islice(left, at_once)]
    waiting = as_completed(first, loop=client.loop)
    for done in waiting:
        yield task_of.pop(done.key), done.result()
        for task in itertools.islice(left, 1):
            waiting.add(submit(task))


def _refused(address: str, problem: str, allowed: str) -> InputError:
    """Return the error of a cluster that cannot be used."""
    return InputError("--cluster", [Fault("ADDRESS", address, problem, allowed)])
