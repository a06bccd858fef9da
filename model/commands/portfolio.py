"""Every farm plan of a folder, alone and together: `seasons portfolio`."""

from __future__ import annotations

import argparse
import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from model.commands.shared import (
    Commands,
    add_drawing,
    add_out_folder,
    date_of,
    drawing_changes,
    print_written,
    progress_bar,
    stage,
    with_method,
)

if TYPE_CHECKING:
    from model.book.book import Book, Hands
    from model.book.folder import Folder


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    command = commands.add_parser(
        "portfolio",
        help="the farm plans of a folder: how many are in trouble in the same season",
        description=(
            "Play every farm plan (*.toml) of a folder, and of the folders in it, under its "
            "strategies. Plans that share a valley are played on one run of it. Writes "
            "portfolio.json, farms.csv (and farms.parquet) with a row for each farm and strategy, "
            "and faults.csv with what is the matter with plans that cannot be played. Stopped and "
            "started again, it goes on with the farms that are left."
        ),
        epilog="Example:  seasons portfolio plans --out book --count 2000",
    )
    command.add_argument("folder", type=Path, metavar="FOLDER", help="the folder of plans")
    add_out_folder(command)
    command.add_argument(
        "--joint",
        choices=("same_years", "independent"),
        help="how valleys come together; left out, they are not added up",
    )
    command.add_argument(
        "--brief", type=Path, metavar="FILE.pdf", help="also write two pages for a lender"
    )
    command.add_argument("--date", type=date_of, help="day printed on them, default today")
    who = command.add_mutually_exclusive_group()
    who.add_argument("--cores", type=int, help="cores of this computer to use, default all")
    who.add_argument(
        "--cluster", metavar="ADDRESS", help="hand the farms to a Dask scheduler that runs already"
    )
    add_drawing(command)
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.book.book import play_book
    from model.book.cores import cores_of
    from model.book.folder import read_folder
    from model.book.hands import on_all_cores, on_cluster
    from model.book.output import write_book
    from model.files import write_all
    from model.say.book import book_in_words, portfolio_notes
    from model.say.cautions import FARM_CAUTION, INVENTED

    with progress_bar("plans read") as progress:
        cores = cores_of(options.cores)
        folder = read_folder(options.folder, drawing_changes(options), progress, cores)
    folder = _with_methods(folder)
    if options.cluster is not None:
        hands: Hands = on_cluster(options.cluster)
    else:
        hands = partial(on_all_cores, cores=options.cores)
    with progress_bar("farms") as progress, _saying_what_is_kept():
        book = play_book(
            folder,
            options.out,
            hands,
            joint=options.joint,
            progress=progress,
        )
    with stage("writing the tables"):
        papers = {} if options.brief is None else {options.brief: _brief(book, options.date)}
        written = write_book(book, options.out, portfolio_notes(book))
        if papers:
            write_all(papers)
            written += papers
    if any(valley.setting.plan.invented for valley in book.valleys.values()):
        print(f"{INVENTED}: valley or farm of some plans.")
    print(book_in_words(book))
    print(FARM_CAUTION)
    print_written(written)
    return 0


@contextmanager
def _saying_what_is_kept() -> Iterator[None]:
    """Say that work which is stopped is not lost."""
    try:
        yield
    except KeyboardInterrupt:
        print("The farms played so far are kept: the same command goes on with the others.")
        raise


def _brief(book: Book, day: dt.date | None) -> bytes:
    """Return the two pages."""
    from model.brief.book_pages import book_document
    from model.brief.brief_file import pdf_of

    day = day or dt.datetime.now().astimezone().date()
    return pdf_of(book_document(book, day), day)


def _with_methods(folder: Folder) -> Folder:
    """Return a folder whose valleys that name no method have the one that did best on theirs."""
    valleys = {}
    for key, valley in folder.valleys.items():
        plan, _ = with_method(valley.plan, valley.record)
        valleys[key] = replace(valley, plan=plan)
    return replace(folder, valleys=valleys)
