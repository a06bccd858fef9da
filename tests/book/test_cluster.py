"""A book handed to a cluster: a scheduler and two workers on this computer, one of which is ended.

The library that speaks to a cluster is Dask's `distributed`, of which nothing is imitated here.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from model.book import book as book_module
from model.book.book import play_book
from model.book.folder import read_folder
from model.book.hands import on_cluster
from model.book.part import Task
from model.cli import main
from tests.book.test_book import files_of, put, written
from tests.served import CUT_NETWORK

ROOT = Path(__file__).resolve().parents[2]
WAIT_S = 30.0


def start(*words: str, log: Path) -> subprocess.Popen[bytes]:
    """Start a part of the cluster, on loopback alone, with the network cut beyond it."""
    path = os.pathsep.join((str(ROOT), str(CUT_NETWORK)))
    env = os.environ | {"PYTHONPATH": path, "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "5"}
    with log.open("wb") as file:
        return subprocess.Popen(
            [sys.executable, "-m", *words], env=env, stdout=file, stderr=file, cwd=log.parent
        )


def told(log: Path, pattern: str) -> str:
    """Wait until a log says something; return it."""
    until = time.monotonic() + WAIT_S
    while time.monotonic() < until:
        found = re.search(pattern, log.read_text(errors="replace"))
        if found:
            return found[1]
        time.sleep(0.1)
    raise TimeoutError(log.read_text(errors="replace"))


@pytest.fixture(scope="module")
def cluster(
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """Run a scheduler and two workers; give the address, and the worker that may be ended."""
    place = tmp_path_factory.mktemp("cluster")
    loopback = ("--host", "127.0.0.1", "--no-dashboard", "--dashboard-address", "127.0.0.1:0")
    parts = [
        start("distributed.cli.dask_scheduler", *loopback, "--port", "0", log=place / "scheduler")
    ]
    try:
        address = told(place / "scheduler", r"Scheduler at:\s+(tcp://127\.0\.0\.1:\d+)")
        for name in ("first", "second"):
            words = ("--nthreads", "1", "--no-nanny", *loopback, "--name", name)
            log = place / name
            parts.append(start("distributed.cli.dask_worker", address, *words, log=log))
        for name in ("first", "second"):
            told(place / name, r"(Registered to)")
        yield address, parts[1]
    finally:
        for part in parts[::-1]:
            part.kill()
            part.wait()


def test_cluster_when_a_worker_is_ended_then_the_files_are_the_same_to_the_byte(
    cluster: tuple[str, subprocess.Popen[bytes]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Farms of a worker that goes away are played by the other, and nobody sees it."""
    address, worker = cluster
    monkeypatch.setattr(book_module, "FARMS_EACH", 1)
    for number in range(4):
        put(tmp_path / "plans", f"farm_{number}", farm__money__bank_aud=-560_000.0 + number)
    alone = written(tmp_path / "plans", tmp_path / "alone")
    hands, played = on_cluster(address), []

    def ending_one(tasks: Iterable[Task]) -> Iterator[tuple[Task, bytes]]:
        for task, part in hands(tasks):
            played.append(task.key)
            if len(played) == 1:
                worker.kill()
            yield task, part

    book = play_book(read_folder(tmp_path / "plans"), tmp_path / "shared", ending_one)
    assert len(set(played)) == 4
    assert worker.wait(WAIT_S) != 0
    assert files_of(book, tmp_path / "shared") == alone


def test_cluster_when_nobody_answers_then_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A wrong address is an error of input, before anything is played."""
    put(tmp_path / "plans", "farm")
    words = ["portfolio", str(tmp_path / "plans"), "--out", str(tmp_path / "out")]
    assert main([*words, "--cluster", "no address"]) == 2
    assert "nobody answers there" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
