"""What commands share: the plan's options, reading plan and record, and how far long work is."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from model.outlook.setting import Progress
    from model.plan.plan import Plan
    from model.record.record import Record

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def _names(text: str) -> tuple[str, ...]:
    """Return names separated by commas."""
    return tuple(name.strip() for name in text.split(","))


_DRAWING_OPTIONS: tuple[tuple[str, Callable[[str], object], str], ...] = (
    (
        "method",
        str,
        "historical, blocks, present, neighbours or regimes; left out, the best so far",
    ),
    ("kind", str, "kind of block: independent, circular, moving or stationary"),
    ("block_years", float, "length of a block, years (left out, the record says how long)"),
    ("count", int, "how many sequences"),
    ("seed", int, "the number that random draws start from"),
    ("seasons", int, "seasons ahead, 1 to 3"),
    ("flow_factor", float, "a factor on all drawn flow; below 1 is drier than the record"),
    ("flow_elasticity", float, "2 to 3.5: low flow is cut harder, the driest by the factor to it"),
    ("opening_dry_chance", float, "regimes: chance that the season before was a dry one"),
    ("last_twelve_months_inflow_ml", float, "neighbours: what the record does not reach, ML"),
    ("climate_indices", _names, "neighbours: columns of the record, separated by commas"),
)


def add_plan(command: argparse.ArgumentParser) -> None:
    """Add the plan, its record and how the record is read."""
    command.add_argument("plan", type=Path, metavar="PLAN", help="the plan file (TOML)")
    command.add_argument(
        "--record", type=Path, metavar="FILE", help="a record in place of the plan's"
    )
    command.add_argument(
        "--fill", choices=("none", "calendar_month_median"), help="what to do with missing months"
    )
    command.add_argument(
        "--columns",
        metavar="NAME=COLUMN,...",
        help="which column of the record holds what, such as month=Date,inflow=Q",
    )
    command.add_argument(
        "--unit", help="unit of the record's flow, such as GL, m3/s, acre-feet or mm over 1250 km2"
    )
    command.add_argument("--sheet", help="sheet of the record's workbook (default the first)")
    command.add_argument("--decimal", choices=("point", "comma"), help="decimal mark of the record")


def add_out_folder(command: argparse.ArgumentParser) -> None:
    """Add the folder to write to."""
    command.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="folder to write to"
    )


def add_drawing(command: argparse.ArgumentParser, only: Collection[str] | None = None) -> None:
    """Add the options that override how the plan draws, all or those named."""
    for name, kind, meaning in _DRAWING_OPTIONS:
        if only is None or name in only:
            command.add_argument(f"--{name.replace('_', '-')}", type=kind, help=meaning)


def drawing_changes(options: argparse.Namespace) -> dict[str, object]:
    """Return the settings of `[sequences]` that were given as options."""
    return {
        name: getattr(options, name)
        for name, _, _ in _DRAWING_OPTIONS
        if getattr(options, name, None) is not None
    }


def date_of(text: str) -> date:
    """Return a date written YYYY-MM-DD."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        message = f"{text} is not a date: write YYYY-MM-DD"
        raise argparse.ArgumentTypeError(message) from error


def plan_and_record(options: argparse.Namespace) -> tuple[Plan, Record]:
    """Return the plan with the options that override it, and its record."""
    from model.plan.text import check_plan, read_plan
    from model.record.record import read_record

    given = options.record
    plan = read_plan(options.plan, record=None if given is None else str(given))
    for note in plan.notes:
        print(f"{options.plan.name}: {note}", file=sys.stderr)
    changes = drawing_changes(options)
    said = {
        f"record_{name}": getattr(options, name)
        for name in ("fill", "columns", "unit", "sheet", "decimal")
        if getattr(options, name) is not None
    }
    if changes or said:
        raw = plan.model_dump(exclude_unset=True) | said
        raw["sequences"] = raw.get("sequences", {}) | changes
        plan = check_plan(raw, "command line")
    record = read_record(
        given or options.plan.parent / plan.record,
        fill=plan.record_fill,
        missing_days_frac=plan.record_missing_days_frac,
        how=plan.how_to_read,
    )
    for column, cells in record.filled.items():
        print(f"filled by {plan.record_fill}: {cells} of {column}", file=sys.stderr)
    for note in record.notes:
        print(f"{record.name}: {note}", file=sys.stderr)
    return plan, record


def with_method(plan: Plan, record: Record) -> tuple[Plan, Record]:
    """Return a plan that names no method with the one that did best on its past years."""
    if plan.sequences.method is not None:
        return plan, record
    from model.evidence.trial import recommended_method, with_recommended
    from model.say.evidence import chosen_in_words

    with progress_bar("stands") as progress:
        found = recommended_method(plan, record, trials_folder(), progress)
    print(chosen_in_words(found))
    return with_recommended(plan, found), record


def trials_folder() -> Path:
    """Return the folder in which trials of methods are kept; the data folder is its owner's alone.

    Raises
    ------
    InputError
        The data folder cannot be made.
    """
    from model.errors import Fault, InputError
    from model.evidence.trial import FOLDER_NAME
    from model.keeping.folder import OVERRIDE, data_folder, make_private

    folder = data_folder() / FOLDER_NAME
    try:
        make_private(folder)
    except OSError as error:
        problem = f"it cannot be made ({error.strerror})"
        allowed = f"a folder to write to: name another in {OVERRIDE}"
        raise InputError(
            "the data folder", [Fault("folder", str(folder), problem, allowed)]
        ) from error
    return folder


def print_invented(plan: Plan) -> None:
    """Print what of a plan is invented."""
    from model.say.cautions import invented_in_words

    if words := invented_in_words(plan):
        print(words)


def print_opening_cautions(plan: Plan) -> None:
    """Print which opening figures should be checked again."""
    from model.plan.cautions import all_cautions

    for caution in all_cautions(plan):
        print(caution)


def print_written(paths: Iterable[Path]) -> None:
    """Print which files were written."""
    for path in paths:
        print(f"wrote {path}")


@contextmanager
def progress_bar(what: str) -> Iterator[Progress]:
    """Show how far long work is, in a terminal."""
    from tqdm import tqdm

    with tqdm(unit=f" {what}", delay=0.5, leave=False, disable=None, file=sys.stderr) as bar:

        def progress(done: int, total: int) -> None:
            bar.total = total
            bar.update(done - bar.n)

        yield progress


@contextmanager
def stage(what: str) -> Iterator[None]:
    """Show what is being done where nobody can tell how far it is."""
    from tqdm import tqdm

    with tqdm(desc=what, bar_format="{desc} ...", leave=False, disable=None, file=sys.stderr):
        yield
