"""Whether these odds would have been right before: `seasons evidence`."""

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
    progress_bar,
    trials_folder,
)
from model.errors import Fault, InputError

if TYPE_CHECKING:
    from model.evidence.decisions import Decisions
    from model.files import Content
    from model.plan.plan import Plan
    from model.record.reading import HowToRead
    from model.record.record import Record


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    command = commands.add_parser(
        "evidence",
        help="would these odds have been right before?",
        description=(
            "Stand in every year of the record after the first thirty, knowing only what was known "
            "then, give the odds by every method, and hold them against what the replay of the "
            "observed years then gave. Writes evidence.json and hindcast.csv."
        ),
        epilog="Example:  seasons evidence plan.toml --out evidence",
    )
    add_plan(command)
    add_out_folder(command)
    command.add_argument("--draws", type=int, help="sequences a year and method, default 500")
    command.add_argument(
        "--announced",
        type=Path,
        metavar="FILE",
        help="what was announced in past years: water_year (or date) and ml_per_share",
    )
    command.add_argument(
        "--announced-columns",
        metavar="NAME=COLUMN,...",
        help="which of its columns holds what, such as water_year=Season,announced=AWD",
    )
    command.add_argument(
        "--decisions",
        action="store_true",
        help="decide again in every past year too, by each strategy (a minute or two)",
    )
    add_drawing(
        command, only=("method", "kind", "block_years", "seed", "seasons", "climate_indices")
    )
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.evidence.hindcast import DRAWS_EACH
    from model.evidence.kept import Kept
    from model.evidence.output import evidence_json, hindcast_csv
    from model.evidence.whole import gather_evidence
    from model.files import write_run
    from model.plan.announced import announcements_of, read_announcements
    from model.say.cautions import CAUTION
    from model.say.decisions import decisions_in_words
    from model.say.evidence import evidence_in_words
    from model.say.notes import evidence_notes

    plan, record = plan_and_record(options)
    announcements = (
        announcements_of(plan, options.plan.parent)
        if options.announced is None
        else read_announcements(options.announced, _how_announced(options.announced_columns))
    )
    draws_each = DRAWS_EACH if options.draws is None else options.draws
    with progress_bar("settings") as offer_progress, progress_bar("stands") as progress:
        whole = gather_evidence(
            plan,
            record,
            announcements,
            draws_each=draws_each,
            kept=Kept.of(trials_folder(), plan, record, draws_each),
            progress=progress,
            offer_progress=offer_progress,
        )
    decisions = _decisions(plan, record) if options.decisions else None
    tables: dict[Path, Content] = {
        options.out / "hindcast.csv": hindcast_csv(whole.evidence.hindcast)
    }
    notes = evidence_notes(whole.evidence.hindcast.low_ml_per_share)
    write_run(options.out / "evidence.json", evidence_json(whole, notes, decisions), tables)
    print_invented(plan)
    said = [] if decisions is None else [decisions_in_words(decisions)]
    print("\n\n".join([*evidence_in_words(whole), *said, CAUTION]))
    print(f"wrote {options.out / 'evidence.json'} and {options.out / 'hindcast.csv'}")
    return 0


def _decisions(plan: Plan, record: Record) -> Decisions:
    """Decide again in every past year."""
    from model.decide.strategy import strategies_of
    from model.evidence.decisions import decide_again

    with progress_bar("years") as progress:
        return decide_again(plan, record, strategies_of(plan), progress=progress)


def _how_announced(columns: str | None) -> HowToRead:
    """Return how the file of what was announced is to be read."""
    from model.record.reading import how_to_read

    try:
        return how_to_read(columns, None, None, None)
    except ValueError as error:
        problem, _, allowed = str(error).partition("|")
        fault = Fault("--announced-columns", str(columns), problem, allowed)
        raise InputError("command line", [fault]) from error
