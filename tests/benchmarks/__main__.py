"""How fast is it, and how much memory does it take? `python -m tests.benchmarks`.

Prints each figure beside its goal. Nothing here is a test: a busy machine moves every number. The
valley and the plain C loop of the same scheme take turns, so that both see the same machine.
"""

from __future__ import annotations

import csv
import datetime as dt
import resource
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import numpy as np

from model.brief.brief_file import brief_pdf
from model.brief.workbook import workbook_xlsx
from model.decide.findings import findings_of
from model.outlook.setting import Setting, keep_dropped_memory, setting_of
from model.plan.text import read_plan
from model.record.record import read_record
from model.water_year import month_of_water_year
from tests.benchmarks.c_loop import CLoop

ROOT = Path(__file__).resolve().parents[2]
PLAN = ROOT / "data" / "demonstration.toml"
RECORD = ROOT / "data" / "demonstration_record.csv"
SEQUENCES, LARGE, SMALL = 10_000, 400_000, 100_000
TURNS = 25


def main() -> None:
    """Measure and print."""
    keep_dropped_memory()  # as the command does
    loop_ns = valley_against_loop()
    outlook_of_many(loop_ns)
    first_result()
    papers()


def valley_against_loop() -> float:
    """Time a sequence-month of the valley and of the C loop, in turn; give the loop's."""
    setting = _setting(SEQUENCES)
    rows = next(setting.batches()).rows
    loop = CLoop(tomllib.loads(PLAN.read_text()), record_rows())
    k0 = month_of_water_year(setting.calendar.opening_month)
    rows_c = np.ascontiguousarray(rows, dtype=np.int32)
    valley_ns, loop_ns = [], []
    for _ in range(TURNS):
        valley_ns.append(_ns(lambda: _run_through(setting, rows), rows.size))
        loop_ns.append(_ns(lambda: loop.run(rows_c, k0), rows.size))
    ratio = min(valley_ns) / min(loop_ns)
    print(f"valley {min(valley_ns):.1f} ns a sequence-month, C loop {min(loop_ns):.1f}")
    print(
        f"  ratio {ratio:.2f} (goal 1.3; one core each, {SEQUENCES:,} sequences, best of {TURNS})"
    )
    return min(loop_ns)


def outlook_of_many(loop_ns: float) -> None:
    """Time the whole `outlook --no-table` of many sequences; give what one more sequence costs."""
    small_s, _ = _outlook_command(SMALL)
    large_s, memory_mb = _outlook_command(LARGE)
    more_us = (large_s - small_s) / (LARGE - SMALL) * 1e6
    months = _setting(1).calendar.months
    loop_us = loop_ns * months / 1e3
    print(f"outlook --no-table, {LARGE:,} sequences of {months} months: {large_s:.2f} s")
    print(f"  one more sequence {more_us:.2f} us, {more_us / loop_us:.2f} of the loop (goal 2)")
    print(f"  memory {memory_mb:,.0f} MB (goal below 1,000)")


def first_result() -> None:
    """Time the command from start to its first result."""
    seconds = min(_outlook_command(5_000)[0] for _ in range(5))
    print(f"outlook --no-table, 5,000 sequences, from the start: {seconds:.2f} s (goal 1.5)")


def papers() -> None:
    """Time the papers of the demonstration in a program that is running already."""
    plan, record, day = read_plan(PLAN), read_record(RECORD), dt.date(2026, 1, 2)
    found = findings_of(plan, record)
    brief_s = min(_seconds(lambda: brief_pdf(findings_of(plan, record), day)) for _ in range(3))
    set_s = min(_seconds(lambda: brief_pdf(found, day)) for _ in range(3))
    workbook_s = min(_seconds(lambda: workbook_xlsx(found, day)) for _ in range(3))
    print(f"brief, {plan.sequences.count:,} sequences, from the plan: {brief_s:.2f} s (goal 5)")
    print(f"  of it setting the pages {set_s:.2f} s")
    print(f"workbook beside it: {workbook_s:.2f} s (goal 3)")


def _seconds(work: Callable[[], object]) -> float:
    """Time a piece of work, s."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def _setting(count: int) -> Setting:
    plan = read_plan(PLAN).with_drawing(count=count)
    return setting_of(plan, read_record(RECORD))


def _run_through(setting: Setting, rows: np.ndarray) -> None:
    for _ in setting.months(rows):
        pass


def _ns(work: Callable[[], object], sequence_months: int) -> float:
    """Time a piece of work, ns a sequence-month."""
    return _seconds(work) / sequence_months * 1e9


def _outlook_command(count: int) -> tuple[float, float]:
    """Run the command in a process of its own: seconds, and the most memory it held (MB)."""
    with tempfile.TemporaryDirectory() as folder:
        words = ["-m", "model", "outlook", str(PLAN), "--out", folder, "--no-table"]
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, *words, "--count", str(count)],
            cwd=ROOT,
            check=True,
            stdout=subprocess.DEVNULL,
        )
        seconds = time.perf_counter() - begun
    return seconds, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def record_rows() -> list[dict[str, object]]:
    """Read the record as the C loop takes it."""
    with RECORD.open(newline="") as file:
        return [
            {name: text if name == "month" else float(text) for name, text in row.items()}
            for row in csv.DictReader(file)
        ]


if __name__ == "__main__":
    main()
