"""Strategies side by side, on the same sequences: `seasons compare`."""

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
        "compare",
        help="strategies of planting, holding, buying and selling, on the same sequences",
        description=(
            "Run the farm under each strategy of the plan (three are shipped for a plan that names "
            "none) through the same possible sequences of seasons, and write what comes of it: "
            "compare.json, outcomes.csv with a row for each strategy, sequence and season, and "
            "crops.csv with a row for each crop and row layout of it."
        ),
        epilog="Example:  seasons compare plan.toml --out strategies",
    )
    add_plan(command)
    add_out_folder(command)
    command.add_argument(
        "--no-table", action="store_true", help="leave outcomes.csv and crops.csv out"
    )
    command.add_argument(
        "--frontier",
        metavar="STRATEGY",
        help="also write frontier.csv: a grid of water held back by area about this strategy",
    )
    add_drawing(command)
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.decide.compare import compare
    from model.decide.frontier_files import frontier_csv, named_strategy, usual_frontier
    from model.decide.how_good import how_good
    from model.decide.last_megalitre import last_megalitre_of_each
    from model.decide.output import compare_json, crops_csv, outcomes_csv
    from model.decide.strategy import strategies_of
    from model.evidence.announced import held_in_plan
    from model.farm.thin_water import thin_water
    from model.files import write_run
    from model.say.announced import held_in_words
    from model.say.cautions import FARM_CAUTION
    from model.say.comparison import comparison_in_words
    from model.say.frontier import frontier_in_words
    from model.say.how_good import how_good_in_words
    from model.say.last_megalitre import last_megalitre_in_words
    from model.say.notes import compare_notes
    from model.say.row_layouts import row_layouts_in_words
    from model.say.thin_water import thin_water_in_words

    plan, record = with_method(*plan_and_record(options))
    if options.frontier is not None:
        named_strategy(strategies_of(plan), options.frontier)  # before anything is run
    held = held_in_plan(plan, record, options.plan.parent)
    with progress_bar("sequences") as progress:
        found, results = compare(plan, record, progress)
    with stage("working out the last megalitre and the yardsticks"):
        yardstick = how_good(found.setting)
        last = last_megalitre_of_each(found.setting, results)
    tables: dict[Path, Content] = {}
    said = [comparison_in_words(found), last_megalitre_in_words(last), how_good_in_words(yardstick)]
    if options.frontier is not None:
        with progress_bar("ways") as progress:
            drawn = usual_frontier(found.setting, options.frontier, progress)
        tables[options.out / "frontier.csv"] = frontier_csv(drawn)
        said.append(frontier_in_words(drawn))
    if held is not None:
        said.append(held_in_words(held))
    with stage("working out the errors"):
        document = compare_json(found, yardstick, last, held, compare_notes(found.setting.farm))
    with progress_bar("sequences written") as outcomes, progress_bar("of crops") as crops:
        if not options.no_table:
            tables[options.out / "outcomes.csv"] = outcomes_csv(found, results, outcomes)
            tables[options.out / "crops.csv"] = crops_csv(found, results, crops)
        written = write_run(options.out / "compare.json", document, tables)
    print_invented(plan)
    print("\n\n".join(said))
    print_opening_cautions(plan)
    thin = thin_water(found.setting.rules, found.setting.strategies)
    rows = row_layouts_in_words(found.setting.farm)
    print("\n".join([*thin_water_in_words(thin), *rows, FARM_CAUTION]))
    print_written(written)
    return 0
