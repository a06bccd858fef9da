"""How fast is each part, beside a plain reference? `python -m tests.benchmarks.all`.

Prints a table: least, median and most time of each part over some rounds, and the median of its
ratio to a stated reference that is measured in the same round, so that a busy machine slows both.
Then how time grows with sequences, strategies, seasons and farms: the power fitted to least times.
References: the valley's scheme in plain C (`valley_loop.c`) over as many sequences; plain numpy
(1,000 products and sums over 30,000 numbers); a loop in Python (a million additions); the bare
interpreter's start. Nothing here is a test.

    python -m tests.benchmarks.all [ROUNDS] [--no-browser]
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from model.book.book import play_book
from model.book.folder import read_folder
from model.book.hands import by_itself
from model.decide.compare import compare
from model.decide.frontier_files import usual_frontier
from model.decide.strategy import SHIPPED, strategies_of
from model.evidence.whole import gather_evidence
from model.farm.setting import FarmSetting, farm_setting_of
from model.outlook.outlook import odds_of_water
from model.outlook.setting import keep_dropped_memory
from model.plan.plan import Plan
from model.plan.text import read_plan
from model.record.record import read_record
from model.sequences.slices import Sequences
from model.water_year import month_of_water_year
from tests.benchmarks.__main__ import PLAN, RECORD, ROOT, record_rows
from tests.benchmarks.c_loop import CLoop
from tests.many_farms import write_varied

ROUNDS = 5
SEQUENCES = 10_000
FEW = 2_000
FARMS = 10
NUMBERS, SUMS, ADDITIONS = 30_000, 1_000, 1_000_000

Work = Callable[[], object]


@dataclass(frozen=True)
class Part:
    """A part that is timed, beside its reference."""

    name: str
    what: str
    reference: str
    work: Work


@dataclass(frozen=True)
class Growth:
    """How a part's time grows with a number."""

    of: str
    sizes: Sequence[int]
    work: Callable[[int], Work]  # prepared for a size


def main() -> None:
    """Measure and print."""
    keep_dropped_memory()  # as the command does
    words = [word for word in sys.argv[1:] if not word.startswith("-")]
    rounds = int(words[0]) if words else ROUNDS
    plan = read_plan(PLAN)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_varied(folder / "plans", FARMS, count=FEW)
        table(references(plan), parts(plan, folder), rounds)
        for growth in growths(folder):
            grown(growth)
    if "--no-browser" not in sys.argv:
        pages()


def seconds(work: Work) -> float:
    """Time a piece of work, s."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def references(plan: Plan) -> dict[str, Work]:
    """Return the references by name."""
    setting = farm(plan, SEQUENCES).valley
    rows = np.ascontiguousarray(setting.first_sequences(SEQUENCES).rows, dtype=np.int32)
    loop = CLoop(tomllib.loads(PLAN.read_text(encoding="utf-8")), record_rows())
    k0 = month_of_water_year(setting.calendar.opening_month)
    ones, twos, sums = np.ones(NUMBERS), np.full(NUMBERS, 2.0), np.empty(NUMBERS)

    def plain_numpy() -> None:
        for _ in range(SUMS):
            np.multiply(ones, twos, out=sums)
            np.add(sums, ones, out=sums)

    def plain_python() -> None:
        total = 0.0
        for number in range(ADDITIONS):
            total += number

    return {
        "plain C": lambda: loop.run(rows, k0),
        "plain numpy": plain_numpy,
        "Python loop": plain_python,
        "bare start": lambda: subprocess.run([sys.executable, "-c", "pass"], check=True),
    }


def farm(plan: Plan, count: int) -> FarmSetting:
    """Prepare the demonstration's farm."""
    drawn = plan.with_drawing(count=count)
    return farm_setting_of(drawn, read_record(RECORD), strategies_of(drawn))


def parts(plan: Plan, folder: Path) -> list[Part]:
    """Return the parts, prepared."""
    record, setting, few = read_record(RECORD), farm(plan, SEQUENCES), farm(plan, FEW)
    sequences = setting.valley.first_sequences(SEQUENCES)
    river = few.river(few.valley.first_sequences(FEW))
    played, read = iter(range(10**6)), read_folder(folder / "plans")
    first = strategies_of(plan)[0].name
    small = plan.with_drawing(count=FEW)
    odds = ["-m", "model", "outlook", str(PLAN), "--out", str(folder / "odds"), "--no-table"]
    return [
        Part(
            "valley",
            f"{SEQUENCES:,} sequences",
            "plain C",
            lambda: [None for _ in setting.valley.months(sequences)],
        ),
        Part(
            "farm",
            f"{FEW:,} sequences, {few.settings.count} strategies",
            "plain numpy",
            lambda: few.results(river),
        ),
        Part(
            "outlook",
            f"{SEQUENCES:,} sequences, both errors",
            "plain C",
            lambda: odds_of_water(plan.with_drawing(count=SEQUENCES), record),
        ),
        Part("compare", f"{FEW:,} sequences", "plain numpy", lambda: compare(small, record)),
        Part("frontier", "the usual grid", "plain numpy", lambda: usual_frontier(few, first)),
        Part(
            "evidence",
            "20 draws a stand",
            "plain C",
            lambda: gather_evidence(plan, record, draws_each=20),
        ),
        Part(
            "portfolio",
            f"{FARMS} farms, {FEW:,} sequences",
            "plain numpy",
            lambda: play_book(read, folder / f"out{next(played)}", by_itself),
        ),
        Part(
            "start",
            "outlook from the command",
            "bare start",
            lambda: subprocess.run(
                [sys.executable, *odds], cwd=ROOT, check=True, stdout=subprocess.DEVNULL
            ),
        ),
    ]


def table(known: dict[str, Work], measured: Sequence[Part], rounds: int) -> None:
    """Time all in turn, round by round, and print."""
    times: dict[str, list[float]] = {}
    for _ in range(rounds + 1):
        for name, work in known.items():
            times.setdefault(name, []).append(seconds(work))
        for part in measured:
            times.setdefault(part.name, []).append(seconds(part.work))
    print(f"{'part':<12}{'least':>9}{'median':>9}{'most':>9}  ratio, reference    what")
    for name in known:
        print(f"{name:<12}{_three(times[name][1:])}  {'1':>8}")
    for part in measured:
        pairs = zip(times[part.name][1:], times[part.reference][1:], strict=True)
        ratio = statistics.median(own / other for own, other in pairs)
        own = _three(times[part.name][1:])
        print(f"{part.name:<12}{own}  {ratio:>8.1f} {part.reference:<12} {part.what}")


def _three(times: Sequence[float]) -> str:
    """Write least, median and most, s; the first round, which warms up, is left out before."""
    return "".join(f"{each:9.3f}" for each in (min(times), statistics.median(times), max(times)))


def growths(folder: Path) -> list[Growth]:
    """Return what grows, prepared for each size."""
    plan, record = read_plan(PLAN), read_record(RECORD)

    def by_sequences(count: int) -> Work:
        setting = farm(plan, count)
        river = setting.river(setting.valley.first_sequences(count))
        return lambda: setting.results(river)

    def by_strategies(count: int) -> Work:
        many = [SHIPPED[1].model_copy(update={"name": f"way {at}"}) for at in range(count)]
        setting = farm_setting_of(plan.with_drawing(count=FEW), record, many)
        river = setting.river(setting.valley.first_sequences(FEW))
        return lambda: setting.results(river)

    def by_seasons(count: int) -> Work:
        setting = farm(plan.with_drawing(seasons=count), FEW)
        river = setting.river(setting.valley.first_sequences(FEW))
        return lambda: setting.results(river)

    def by_farms(count: int) -> Work:
        place = folder / f"{count}_farms"
        write_varied(place / "plans", count, count=FEW)
        read, runs = read_folder(place / "plans"), iter(range(10**6))
        return lambda: play_book(read, place / f"out{next(runs)}", by_itself)

    def by_drawn(count: int) -> Work:
        setting = farm(plan, count).valley
        sequences = Sequences.joined(setting.batches())
        return lambda: [None for _ in setting.months(sequences)]

    return [
        Growth("valley with sequences", (5_000, 10_000, 20_000, 40_000), by_drawn),
        Growth("farm with sequences", (1_000, 2_000, 4_000, 8_000), by_sequences),
        Growth("farm with strategies", (1, 2, 4, 8), by_strategies),
        Growth("farm with seasons", (1, 2, 3), by_seasons),
        Growth("portfolio with farms", (2, 4, 8), by_farms),
    ]


def grown(growth: Growth) -> None:
    """Time each size and print the power that fits."""
    least = []
    for size in growth.sizes:
        work = growth.work(size)
        least.append(min(seconds(work) for _ in range(3)))
    power = np.polyfit(np.log(growth.sizes), np.log(least), 1)[0]
    laid = ", ".join(f"{n:,}: {s:.3f} s" for n, s in zip(growth.sizes, least, strict=True))
    print(f"{growth.of}: power {power:.2f} ({laid})")


def pages() -> None:
    """Time the page after a moved control, and the start of the dashboard, in a browser."""
    from playwright.sync_api import sync_playwright

    from tests.benchmarks import redraw
    from tests.browser.conftest import CHROMIUM, FLAGS, FULL_HEIGHT, FULL_WIDTH
    from tests.served import served

    control = redraw.CONTROLS[0]
    loop = references(read_plan(PLAN))["Python loop"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        _, chart_s = redraw.started(browser)
        with served() as dashboard:
            page = browser.new_page(viewport={"width": FULL_WIDTH, "height": FULL_HEIGHT})
            page.goto(dashboard.address)
            _, lasts = redraw.moved(page, control)
        browser.close()
    whole = [last / 1_000 for last in lasts]
    ratio = statistics.median(whole) / min(seconds(loop) for _ in range(3))
    what = f"{control.page}, whole page after a move"
    print(f"{'redraw':<12}{_three(whole)}  {ratio:>8.1f} {'Python loop':<12} {what}")
    print(f"{'first chart':<12}{chart_s:9.3f} s from the command")


if __name__ == "__main__":
    main()
