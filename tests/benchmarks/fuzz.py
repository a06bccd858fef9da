"""Feed the tool inputs that are broken at random: `python -m tests.benchmarks.fuzz`.

Plans, records, announced history, diaries and uploads, as text and as workbooks, with bytes
changed, cut, doubled or put in from other files. Each is read, or refused as an input error with a
message of a few lines; nothing else may come of it. The tests run a few hundred, the long command
ten thousand.
"""

from __future__ import annotations

import argparse
import io
import random
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Final

import openpyxl

from model.errors import InputError
from model.keeping.diary import Decision, append, diary_csv, read_diary
from model.keeping.plans import bring_in
from model.keeping.sittings import keep_sitting, last_sittings
from model.plan.announced import parse_rows, signed_throughout
from model.plan.shipped import demonstration_plan
from model.plan.text import parse_plan
from model.record.record import parse_record
from tests.sample_files import daily_csv, monthly_csv

INPUTS: Final = 10_000
MOST_LINES: Final = 60
LONGEST_S: Final = 60.0

SPICES: Final = (
    b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"[" * 3_000, b"{" * 500, b"9" * 5_000, b"-", b"nan",
    b"1e999", b'"', b"'", b",,,,", b";", b"\t", b"\r", b"\n\n", b"=1+1", b"1987-13", b"31/02/1990",
    b"\xc3\x28", b"0x" + b"f" * 5_000, b"a.b.c.d = 1\n", b"[[strategies]]\n", b"%", "−".encode(),
    "５".encode(), b"month,inflow_ml\n", b"PK\x03\x04", b"%PDF-", b"<html>", b"1,234.5", b"1.234,5",
)  # fmt: skip
"""What has made readers stumble before."""


def spoilt(data: bytes, chance: random.Random) -> bytes:
    """Return data with one to four things done to it."""
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(data) + 1)
        to = min(len(data), at + chance.choice((1, 3, 20, 400)))
        data = chance.choice(
            (
                data[:at] + data[to:],
                data[:at] + chance.choice(SPICES) + data[at:],
                data[:at] + chance.choice(SPICES) + data[to:],
                data[:at] + data[at:to] * 2 + data[to:],
                data[:at],
                data[:at] + bytes(chance.randrange(256) for _ in range(to - at)) + data[to:],
            )
        )
    return data


def workbook(text: str) -> bytes:
    """Return a workbook with the cells of CSV text."""
    book = openpyxl.Workbook()
    for line in text.splitlines():
        book.active.append(line.split(","))
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


PLAN: Final = demonstration_plan().read_bytes()
RECORD: Final = demonstration_plan().with_name("demonstration_record.csv").read_bytes()
ANNOUNCED: Final = b"water_year,ml_per_share\n2010-11,0.35\n2011-12,1.2\n2012-13,0\n"


def _record(data: bytes, _: Path) -> None:
    parse_record(data, "record", fill="calendar_month_median", missing_days_frac=0.2)


def _announced(data: bytes, _: Path) -> None:
    parse_rows(data, "announced", percent=signed_throughout(data))


def _plan(data: bytes, _: Path) -> None:
    parse_plan(data, "plan")


def _upload(data: bytes, folder: Path) -> None:
    bring_in(folder / "plans", "brought", data, RECORD)


def _diary(data: bytes, folder: Path) -> None:
    path = folder / "diary.sqlite"
    for beside in (path, Path(f"{path}-wal"), Path(f"{path}-shm")):
        beside.unlink(missing_ok=True)
    path.write_bytes(data)
    diary_csv(read_diary(path).entries)
    last_sittings(path, most=5)


def sound_diary() -> bytes:
    """Return the bytes of a diary with decisions and a sitting."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "diary.sqlite"
        for number in range(5):
            day = date(2025, 9, number + 1)
            append(path, Decision(day, f"plant {number}", "odds", "p", "t", "x" * 200, "h"))
        keep_sitting(path, "token", Path("p.toml"), "hash", {"opening.storage_ml": 1.0})
        connection = sqlite3.connect(path)
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()
        return path.read_bytes()


def kinds() -> dict[str, tuple[list[bytes], Callable[[bytes, Path], None]]]:
    """Return what is spoilt and how it is read, by kind."""
    monthly, daily = monthly_csv(), daily_csv(last="2010-12-31")
    records = [monthly.encode(), monthly.encode("utf-16"), daily.encode(), workbook(monthly)]
    announced = [ANNOUNCED, ANNOUNCED.replace(b",", b";"), workbook(ANNOUNCED.decode())]
    return {
        "plan": ([PLAN], _plan),
        "record": (records, _record),
        "announced": (announced, _announced),
        "upload": ([PLAN], _upload),
        "diary": ([sound_diary()], _diary),
    }


def _lines_of_refusal(
    read: Callable[[bytes, Path], None], data: bytes, folder: Path, called: str
) -> int:
    """Return how many lines a refusal has; 0 where the input is read."""
    try:
        read(data, folder)
    except InputError as error:
        return len(str(error).splitlines())
    except Exception as error:
        kept = Path(tempfile.gettempdir()) / f"fuzzed_{called}"
        kept.write_bytes(data)
        raise AssertionError(f"{called}: {error!r}; kept as {kept}") from error
    return 0


def feed(inputs: int, seed: int, report: bool = False) -> dict[str, int]:
    """Feed inputs of every kind in turn; return how many of each were refused.

    Raises
    ------
    AssertionError
        An input brought about something other than a reading or a short refusal; the input is
        written beside, to be read again.
    """
    chance, all_kinds = random.Random(seed), kinds()
    refused = dict.fromkeys(all_kinds, 0)
    with tempfile.TemporaryDirectory() as name:
        for number in range(inputs):
            kind = list(all_kinds)[number % len(all_kinds)]
            sound, read = all_kinds[kind]
            data = spoilt(chance.choice(sound), chance)
            began = time.monotonic()
            lines = _lines_of_refusal(read, data, Path(name), f"{kind}_{seed}_{number}")
            refused[kind] += lines > 0
            assert lines <= MOST_LINES, f"{kind} {number}: {lines} lines"
            for path in (Path(name) / "plans").glob("brought*"):
                path.unlink()
            assert time.monotonic() - began < LONGEST_S, f"{kind} {number} took too long"
            if report and (number + 1) % 500 == 0:
                sys.stdout.write(f"{number + 1} fed, refused so far: {refused}\n")
                sys.stdout.flush()
    return refused


def main() -> int:
    """Feed as many as are asked for; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("inputs", nargs="?", type=int, default=INPUTS)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    feed(options.inputs, options.seed, report=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
