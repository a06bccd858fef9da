"""The date's question and its answer: `seasons decide`."""

from __future__ import annotations

import argparse
import sys
import textwrap
from collections.abc import Sequence
from pathlib import Path

from model.commands.shared import (
    Commands,
    add_drawing,
    add_plan,
    plan_and_record,
    print_invented,
    print_written,
    progress_bar,
    stage,
    with_method,
)
from model.errors import Fault, InputError

RESAMPLES = 100
"""Records resampled, each by 125 draws: half as many as on the pages, and a person waits here."""

MOST_LINES = 25
"""A screen of text; `decide.json` holds all of it."""

WIDE = 110
"""A line of a terminal; what is longer goes on, indented, on the next."""


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    command = commands.add_parser(
        "decide",
        help="the question of the plan's date: its answer, the doubt, and the desk's figures",
        description=(
            "From March to June: carry, sell, buy or sow by 30 June; from July to planting: how "
            "many hectares to fertilise and plant; until the last watering: how many to finish. "
            "Prints the answer and how sure it is, and with --out writes decide.json."
        ),
        epilog="Example:  seasons decide plan.toml --area 80 --out decision",
    )
    add_plan(command)
    command.add_argument("--out", type=Path, metavar="DIR", help="folder to write decide.json to")
    command.add_argument("--strategy", help="strategy followed otherwise (default the middle one)")
    command.add_argument("--area", type=float, metavar="HA", help="our own choice of area, ha")
    add_drawing(command)
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.decide.findings import strategy_at
    from model.decide.rivers import draw_rivers, rivers_of
    from model.decide.season_question import season_question
    from model.decide.season_question_file import decide_json
    from model.decide.strategy import strategies_of
    from model.farm.setting import farm_setting_of, middle_of
    from model.files import write_run
    from model.plan.cautions import all_cautions
    from model.say.cautions import FARM_CAUTION, invented_in_words
    from model.say.notes import decide_notes
    from model.say.season_question import season_question_in_words

    area_ha = _area_ha(options.area)
    plan, record = with_method(*plan_and_record(options))
    with stage("preparing the farm"):
        setting = farm_setting_of(plan, record, strategies_of(plan))
        name = options.strategy or middle_of(setting.strategies).name
        strategy = strategy_at(setting, name)
        rivers = rivers_of(setting, draw_rivers(setting.valley, resamples=RESAMPLES))
    with progress_bar("ways") as progress:
        found = season_question(
            setting, rivers, strategy=strategy, area_ha=area_ha, progress=progress
        )
    written = []
    if options.out is not None:
        document = decide_json(found, setting, rivers, decide_notes(setting.farm))
        written = write_run(options.out / "decide.json", document, {})
    for caution in all_cautions(plan):
        print(caution, file=sys.stderr)
    print_invented(plan)
    taken = len(written) + bool(invented_in_words(plan))
    for line in on_a_screen(season_question_in_words(found, setting), FARM_CAUTION, taken):
        print(line)
    print_written(written)
    return 0


def on_a_screen(items: Sequence[str], last: str, taken: int = 0) -> list[str]:
    """Wrap items to lines; where they are more than a screen, the last items are left out first.

    Parameters
    ----------
    items
        The first half of them are kept, come what may.
    last
        Printed under them, always.
    taken
        Lines printed besides.

    Examples
    --------
    >>> len(on_a_screen(["a question", *["what is said of it " * 5] * 40], "a caution"))
    25
    """
    kept, least = list(items), len(items) // 2
    while True:
        lines = [line for item in (*kept, last) for line in _wrapped(item)]
        if len(lines) + taken <= MOST_LINES or len(kept) <= least:
            return lines
        kept.pop()


def _wrapped(item: str) -> list[str]:
    """Return an item as lines of a terminal."""
    return textwrap.wrap(item, WIDE, subsequent_indent="    ", drop_whitespace=True)


def _area_ha(given: float | None) -> float | None:
    """Refuse what is no area."""
    if given is not None and not 0.0 <= given < float("inf"):
        raise InputError(
            "command line", [Fault("--area", f"{given:g}", "it is not an area", "0 ha or more")]
        )
    return given
