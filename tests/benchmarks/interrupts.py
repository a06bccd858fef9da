"""Press Ctrl-C in every command, again and again: `python -m tests.benchmarks.interrupts`.

Each round starts one command, sends its processes what a terminal sends at Ctrl-C after a time of
chance, and looks: it says one line beside what it had said, no traceback, it leaves no file, and no
process goes on. A command that is done by then has to have ended well. The tests press a few times.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from model.errors import STOPPED
from model.plan.shipped import demonstration_plan
from tests.served import CUT_NETWORK, ROOT

ROUNDS: Final = 100
PLAN: Final = str(demonstration_plan())
KEPT_ANYHOW: Final = ("data/", "book/")
"""What stays by design: scored years of a trial, and the farms of a book played so far."""

COMMANDS: Final[dict[str, tuple[tuple[str, ...], float]]] = {
    "outlook": (("outlook", PLAN, "--count", "900000", "--out", "odds"), 8.0),
    "compare": (("compare", PLAN, "--count", "4000", "--out", "ways"), 12.0),
    "replay": (("replay", PLAN, "--from", "1900-07", "--to", "2020-06", "--out", "l.csv"), 1.5),
    "decide": (("decide", PLAN, "--count", "2000", "--out", "choice"), 8.0),
    "evidence": (("evidence", PLAN, "--out", "trial"), 10.0),
    "brief": (("brief", PLAN, "--count", "2000", "--out", "b.pdf", "--workbook", "b.xlsx"), 10.0),
    "open": (("open", PLAN, "--no-browser", "--port", "0"), 5.0),
}
"""The words of each, and the longest that it is let run, s; 0 stands for a free port."""


@dataclass(frozen=True, slots=True)
class Ended:
    """How a command ended."""

    status: int
    said: str  # on standard error
    left: tuple[str, ...]  # files, by their place

    def faults(self, stopped: bool) -> list[str]:
        """Return what is wrong with it."""
        lines = [line for line in self.said.splitlines() if line.strip()]
        found = ["a traceback"] if "Traceback" in self.said else []
        if stopped and self.status != 1:
            found.append(f"status {self.status}")
        if stopped and lines.count(STOPPED) != 1:
            found.append(f"said {lines[-3:]}")
        if stopped and self.left:
            found.append(f"left {self.left}")
        if not stopped and self.status != 0:
            found.append(f"ended by itself with status {self.status}")
        return found


def free_port() -> str:
    """Return a port that nothing uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return str(probe.getsockname()[1])


def interrupted(words: tuple[str, ...], after_s: float, folder: Path) -> tuple[Ended, bool]:
    """Start a command, press Ctrl-C after a while; return how it ended and whether it was stopped.

    The while begins once Python itself has started: before that nobody can say anything.
    """
    begun = "import model.__main__ as m, sys; print(flush=True); sys.exit(m.run())"
    command = [sys.executable, "-c", begun, *(w if w != "0" else free_port() for w in words)]
    own = {"PYTHONPATH": os.pathsep.join((str(ROOT), str(CUT_NETWORK)))}
    own |= {"HOME": str(folder), "SEASONS_DATA": str(folder / "data")}
    process = subprocess.Popen(
        command,
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env=os.environ | own,
    )
    assert process.stdout is not None
    process.stdout.readline()
    time.sleep(after_s)
    done = process.poll() is not None
    if not done:
        os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=60)
    places = (str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())
    left = tuple(sorted(place for place in places if not place.startswith(KEPT_ANYHOW)))
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)  # only where one of them goes on
        raise AssertionError(f"{words[0]}: a process went on after Ctrl-C")
    stopped = not done and process.returncode != 0
    return Ended(process.returncode, said, left), stopped


def interrupt_often(rounds: int, seed: int, report: bool = False) -> Counter[str]:
    """Press Ctrl-C in each command in turn; return how many of each were stopped by it.

    Raises
    ------
    AssertionError
        One said more than a line, or left something.
    """
    chance, stopped_of = random.Random(seed), Counter[str]()
    for number in range(rounds):
        name, (words, longest_s) = list(COMMANDS.items())[number % len(COMMANDS)]
        after_s = chance.uniform(0.0, longest_s)
        with tempfile.TemporaryDirectory() as folder:
            ended, stopped = interrupted(words, after_s, Path(folder))
        faults = ended.faults(stopped)
        assert not faults, f"{name} after {after_s:.2f} s: {faults}; {ended.said[-600:]}"
        stopped_of[name] += stopped
        if report:
            sys.stdout.write(f"{number + 1} {name} after {after_s:.2f} s: sound\n")
            sys.stdout.flush()
    return stopped_of


def main() -> int:
    """Press as often as is asked; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rounds", nargs="?", type=int, default=ROUNDS)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    stopped_of = interrupt_often(options.rounds, options.seed, report=True)
    sys.stdout.write(f"stopped: {dict(stopped_of)}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
