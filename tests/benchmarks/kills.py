"""Kill what writes, again and again, and look at what it left: `python -m tests.benchmarks.kills`.

Each round starts a program that writes without end (an outlook with its table, a plan that is
saved, decisions in the diary), kills it at a moment of chance, and checks that what stands there is
old or new and whole, that no document stands beside another run's table, and that the next program
clears up and goes on. A thousand rounds take about half an hour; the tests run a few.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path
from typing import Final

from model.files import check_run, clear_leftovers, write_whole
from model.keeping.database import connected
from model.keeping.diary import read_diary
from model.keeping.lock import locked
from model.plan.shipped import demonstration_plan
from model.plan.text import parse_plan

ROUNDS: Final = 1_000
LONGEST_S: Final = 0.25

_RUNS: Final = """
import itertools, json
from pathlib import Path
from model.files import write_run
folder = Path({folder!r})
print("begun", flush=True)
for run in itertools.count():
    tables = {{folder / f"{{name}}.csv": [f"{{run}}\\n" * 2_000] * 5 for name in "ab"}}
    write_run(folder / "run.json", json.dumps({{"run": run}}), tables)
"""
_PLANS: Final = """
import itertools
from pathlib import Path
from model.keeping.plans import read_kept, save
from model.plan.text import edit_plan
kept = read_kept(Path({folder!r}) / "plan.toml")
print("begun", flush=True)
for run in itertools.count(1):
    kept = save(kept, edit_plan(kept.text, {{"opening.storage_ml": float(run)}}))
"""
_DIARY: Final = """
import datetime, itertools
from pathlib import Path
from model.keeping.diary import Decision, append
print("begun", flush=True)
for run in itertools.count(1):
    day = datetime.date(2025, 9, 1)
    taken = Decision(day, f"{{run}}", "", "p", "t", "x" * 20_000, "h")
    append(Path({folder!r}) / "diary.sqlite", taken)
"""


def killed(program: str, folder: Path, after_s: float) -> None:
    """Start a program, let it write for a while once it has begun, and kill it."""
    process = subprocess.Popen(
        [sys.executable, "-c", program.format(folder=str(folder))], stdout=subprocess.PIPE
    )
    assert process.stdout is not None
    process.stdout.readline()
    time.sleep(after_s)
    process.kill()
    process.communicate()


def check_runs(folder: Path) -> None:
    """Check that a document, where there is one, stands beside its own run's tables."""
    path = folder / "run.json"
    if path.exists():
        document = json.loads(path.read_text())
        check_run(path, document)
        for name in "ab":
            lines = set((folder / f"{name}.csv").read_text().splitlines())
            assert lines == {str(document["run"])}, name


def check_plan_file(folder: Path) -> None:
    """Check that the plan's file is a whole plan, and that the next program can save it."""
    parse_plan((folder / "plan.toml").read_bytes(), "plan.toml")
    with locked(folder, wait_s=5.0):
        pass


def check_diary(folder: Path) -> None:
    """Check that the diary is sound and holds the decisions in order, none lost between."""
    path = folder / "diary.sqlite"
    read = read_diary(path)
    assert not read.damaged
    by_number = sorted(read.entries, key=lambda entry: entry.number)
    for before, after in pairwise(int(entry.decision.decision) for entry in by_number):
        assert after in (before + 1, 1), (before, after)  # 1 where the next program began
    with connected(path) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)


KINDS: Final = {
    "runs": (_RUNS, check_runs),
    "plans": (_PLANS, check_plan_file),
    "diary": (_DIARY, check_diary),
}


def kill_often(rounds: int, seed: int, report: bool = False) -> None:
    """Kill each kind of writer in turn and check what it left.

    Raises
    ------
    AssertionError
        Something was left that is neither old nor new.
    """
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as name:
        for number in range(rounds):
            kind, (program, check) = list(KINDS.items())[number % len(KINDS)]
            folder = Path(name) / kind
            if not folder.exists():
                folder.mkdir()
                (folder / "plan.toml").write_bytes(demonstration_plan().read_bytes())
            killed(program, folder, chance.uniform(0.0, LONGEST_S))
            check(folder)
            clear_leftovers(folder)
            write_whole(folder / "next.txt", "x")
            left = [path.name for path in folder.iterdir() if path.name.endswith(".part")]
            assert not left, left
            if report and (number + 1) % 50 == 0:
                sys.stdout.write(f"{number + 1} killed, all sound\n")
                sys.stdout.flush()


def main() -> int:
    """Kill as often as is asked; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rounds", nargs="?", type=int, default=ROUNDS)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    kill_often(options.rounds, options.seed, report=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
