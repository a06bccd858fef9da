"""Put small errors into the model, one at a time, and see whether the tests notice.

    python -m tests.mutation valley decide          every error of two wings: hours
    python -m tests.mutation valley --sample 100    a hundred of them, drawn by a seed
    python -m tests.mutation model/valley/dam.py    every error of one file

Each error is tried on the tests that run its line, the quickest first, until one fails. An error
that none notices has survived. Those that are harmless are listed, with the reason, in
`survivors.toml`; the command ends with 1 where one survives that is not listed there. It works on a
copy: the project's own files are not touched.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.mutation.mutants import Mutant, mutants_of
from tests.mutation.reached import Reached

ROOT = Path(__file__).resolve().parents[2]
SURVIVORS = Path(__file__).with_name("survivors.toml")
WINGS = ("valley", "farm", "decide", "evidence", "say")
PATIENCE_S = 20.0
"""Beyond three times what a test takes: an error may make a loop endless."""

QUIET = ["-q", "-x", "--no-header", "-p", "no:cacheprovider", "-p", "no:randomly"]


def main() -> int:
    """Try the errors asked for; return 1 where one survives that is not listed as harmless."""
    options = _options()
    files = list(_files(options.what or list(WINGS)))
    with _copy() as copy:
        reached = _reached(copy, files, options.tests)
        errors = [error for file in files for error in mutants_of(file, (ROOT / file).read_bytes())]
        if options.sample:
            drawn = random.Random(options.seed)
            errors = sorted(drawn.sample(errors, min(options.sample, len(errors))), key=str)
        survived = _try_all(copy, errors, reached)
    return _told(errors, survived)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser("python -m tests.mutation", description=__doc__)
    parser.add_argument("what", nargs="*", help="wings or files; all five wings by default")
    parser.add_argument("--sample", type=int, help="how many errors to try")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--tests", nargs="+", help="tests to try them on, not those of the wings")
    return parser.parse_args()


def _files(what: list[str]) -> Iterator[str]:
    """List the files of wings, and files named."""
    for each in what:
        if each.endswith(".py"):
            yield each
        else:
            paths = sorted((ROOT / "model" / each).glob("*.py"))
            yield from (str(path.relative_to(ROOT)) for path in paths)


@contextmanager
def _copy() -> Iterator[Path]:
    """Copy what the project holds; the errors are put in there."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        listed = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT,
            capture_output=True,
            check=True,
        ).stdout
        for name in filter(None, listed.decode().split("\0")):
            if (ROOT / name).is_file():
                (copy / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(ROOT / name, copy / name)
        yield copy


def _reached(copy: Path, files: list[str], named: list[str] | None) -> dict[str, Any]:
    """Run the tests of the wings once, and note which lines of the files each runs."""
    wings = sorted({Path(file).parent.name for file in files})
    tests = named or [f"tests/{wing}" for wing in wings]
    out = copy.parent / "reached.json"
    words = [each for each in [*tests, *files] if (copy / each.split("::")[0]).exists()]
    sys.stdout.write(f"Running {' '.join(words)} once\n")
    sys.stdout.flush()
    status = _in_child(copy, words, 7200.0, watch=(files, out))
    if status != 0:
        raise SystemExit(f"The tests fail as they are ({status}): mend them first.")
    found: dict[str, Any] = json.loads(out.read_text())
    return found


def _try_all(copy: Path, errors: list[Mutant], reached: dict[str, Any]) -> list[Mutant]:
    """Try each error in turn; return those that survive."""
    survived = []
    for number, error in enumerate(errors, start=1):
        noticed = _noticed(copy, error, reached)
        if not noticed:
            survived.append(error)
        word = "noticed" if noticed else "SURVIVED"
        sys.stdout.write(f"{number}/{len(errors)} {word} {error.line} {error.name}\n")
        sys.stdout.flush()
    return survived


def _noticed(copy: Path, error: Mutant, reached: dict[str, Any]) -> bool:
    """Return whether a test fails, or never ends, with this error in the code."""
    place = f"{error.file}:{error.line}"
    tests = sorted(
        (told["seconds"], test)
        for test, told in reached.items()
        if place in told["lines"] or not error.where  # what stands at the top runs for all
    )
    if not tests:
        return False
    path = copy / error.file
    whole = path.read_bytes()
    path.write_bytes(error.put_in(whole))
    try:
        most_s = PATIENCE_S + 3.0 * sum(seconds for seconds, _ in tests)
        return _in_child(copy, [test for _, test in tests], most_s) != 0
    finally:
        path.write_bytes(whole)


def _in_child(
    copy: Path, words: list[str], most_s: float, watch: tuple[list[str], Path] | None = None
) -> int:
    """Run tests in a fork of this process, which has loaded the libraries; return its status."""
    child = os.fork()
    if child == 0:
        plugins = [] if watch is None else [Reached(copy, *watch)]
        os.chdir(copy)
        sys.path.insert(0, str(copy))
        sys.dont_write_bytecode = True
        for name in list(sys.modules):
            if name.split(".")[0] in ("tests", "model", "dashboard"):
                del sys.modules[name]
        sink = os.open(os.devnull, os.O_WRONLY)
        os.dup2(sink, 1)
        if watch is None:
            os.dup2(sink, 2)
        os._exit(int(pytest.main([*QUIET, *words], plugins=plugins)))
    return _waited(child, most_s)


def _waited(child: int, most_s: float) -> int:
    """Wait for a process; end it where it takes too long."""
    ends = time.monotonic() + most_s
    while time.monotonic() < ends:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.01)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -1


def _told(errors: list[Mutant], survived: list[Mutant]) -> int:
    """Return what survived, and what of it is listed as harmless."""
    listed = {
        one["error"]: one["why"]
        for one in tomllib.loads(SURVIVORS.read_text("utf-8")).get("survivor", [])
    }
    unknown = [error for error in survived if error.name not in listed]
    sys.stdout.write(
        f"\n{len(errors):,} errors tried, {len(errors) - len(survived):,} noticed, "
        f"{len(survived) - len(unknown):,} survived that are listed as harmless, "
        f"{len(unknown):,} that are not.\n"
    )
    for error in unknown:
        sys.stdout.write(f"  line {error.line} {error.name}\n")
    return int(bool(unknown))


if __name__ == "__main__":
    import numpy
    import pandas
    import pydantic
    import tomlkit

    del numpy, pandas, pydantic, tomlkit  # loaded once, for every fork
    sys.exit(main())
