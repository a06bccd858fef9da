"""The odds of water in each of the next seasons: `seasons outlook`."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from model.commands.shared import (
    Commands,
    add_drawing,
    add_out_folder,
    add_plan,
    plan_and_record,
    print_invented,
    print_opening_cautions,
    print_written,
    progress_bar,
    stage,
    with_method,
)

if TYPE_CHECKING:
    from model.files import Content


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    command = commands.add_parser(
        "outlook",
        help="the odds of allocation in each of the next seasons",
        description=(
            "Run the valley through possible sequences of seasons drawn from the record, from "
            "where the plan says dam and accounts are, and write the odds: outlook.json, and "
            "sequences.csv with a row for each sequence and season. A chance comes with two "
            "errors: of the draws, and of the record. The second is the one to plan by."
        ),
        epilog="Example:  seasons outlook plan.toml --out odds --count 20000",
    )
    add_plan(command)
    add_out_folder(command)
    command.add_argument("--no-table", action="store_true", help="write outlook.json alone")
    add_drawing(command)
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.evidence.announced import held_in_plan
    from model.files import write_run
    from model.outlook.outlook import ODDS_NAMES, outlook_of
    from model.outlook.output import outlook_json, sequences_csv
    from model.outlook.setting import play_sequences, setting_of
    from model.say.announced import held_in_words
    from model.say.cautions import CAUTION
    from model.say.notes import outlook_notes
    from model.say.outlook import outlook_in_words

    plan, record = with_method(*plan_and_record(options))
    setting = setting_of(plan, record)
    held = held_in_plan(plan, record, options.plan.parent)
    with progress_bar("sequences") as progress:
        _, results = play_sequences(setting, progress, ODDS_NAMES)
    with stage("working out the odds"):
        odds = outlook_of(setting, results)
        document = outlook_json(odds, held, outlook_notes())
    with progress_bar("sequences written") as progress:
        tables: dict[Path, Content] = {}
        if not options.no_table:
            tables[options.out / "sequences.csv"] = sequences_csv(setting, progress)
        written = write_run(options.out / "outlook.json", document, tables)
    print_invented(plan)
    print(outlook_in_words(odds))
    print_opening_cautions(plan)
    if held is not None:
        print(held_in_words(held))
    print(CAUTION)
    print_written(written)
    return 0
