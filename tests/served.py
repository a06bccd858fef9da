"""The dashboard as a user starts it: on a free port, from another folder, with data of its own.

One way to start it for the browser tests and for the benchmarks, which need its process or the
moment it was started too.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CUT_NETWORK = ROOT / "tests" / "cut_network"
"""On a program's path, it has no network."""
USER_TYPES = ("model", "open")
START_SECONDS = 60
STOP_SECONDS = 20
LOOK_SECONDS = 0.02


@dataclass(frozen=True, slots=True)
class Served:
    """A dashboard that answers."""

    address: str
    process_id: int
    began: float  # when it was started, of time.monotonic()


@contextmanager
def served(*command: str) -> Iterator[Served]:
    """Start the dashboard, wait until it answers, and end it; its folder goes with it.

    Parameters
    ----------
    *command
        The module that serves it, and its words; left out, what a user types.

    Raises
    ------
    RuntimeError
        It ended, or did not answer in time; with what it wrote.
    """
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder, port = Path(name), _free_port()
        log = folder / "log.txt"
        began = time.monotonic()
        process = _started(command or USER_TYPES, folder, port, log)
        address = f"http://127.0.0.1:{port}"
        try:
            _wait_for(address, process, log)
            yield Served(address, process.pid, began)
        finally:
            _end(process)


def _started(typed: Sequence[str], folder: Path, port: int, log: Path) -> subprocess.Popen[bytes]:
    """Start a command, with a home folder of its own and no network."""
    command = [sys.executable, "-m", *typed, "--port", str(port), "--no-browser"]
    path = os.pathsep.join((str(ROOT), str(CUT_NETWORK)))
    own = {"PYTHONPATH": path, "HOME": str(folder), "SEASONS_DATA": str(folder / "data")}
    with log.open("w") as out:
        return subprocess.Popen(
            command, cwd=folder, stdout=out, stderr=subprocess.STDOUT, env=os.environ | own
        )


def _free_port() -> int:
    """Let the system name a port that nothing uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    """Wait until the server answers."""
    end = time.monotonic() + START_SECONDS
    while True:
        try:
            urllib.request.urlopen(f"{address}/_stcore/health", timeout=2).close()
        except OSError as error:
            if process.poll() is not None or time.monotonic() > end:
                raise RuntimeError(f"the dashboard did not start:\n{log.read_text()}") from error
            time.sleep(LOOK_SECONDS)
        else:
            return


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a server: politely, then not, where a long sum keeps it from listening."""
    process.terminate()
    try:
        process.wait(timeout=STOP_SECONDS)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
