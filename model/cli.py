"""The command line: `seasons`.

Exit status: 0 done, 2 what was given is wrong (the message names it), 1 anything else. A message,
never a traceback. Each command imports what it needs itself: `seasons open` must be quick to begin.
"""

from __future__ import annotations

import argparse
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from model.errors import STOPPED, Fault, InputError

if TYPE_CHECKING:
    from model.files import Content
    from model.outlook.setting import Progress
    from model.plan.plan import Plan
    from model.record.record import Record

_ABOUT = """\
Odds of irrigation water over the next one to three seasons, from an observed record of inflow
through the rules of a regulated valley, and what they mean for planting and carrying over.

A plan (a TOML file) says where the dam and the accounts stand, what the valley's rules are and
which record to use. Try it on the invented demonstration:  seasons open
"""


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


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments
        Words of the command line; by default those of this process.

    Returns
    -------
    int
        The exit status.
    """
    options = _parser().parse_args(arguments)
    try:
        with _stopped_once():
            from model.outlook.setting import keep_dropped_memory

            keep_dropped_memory()
            result: int = options.run(options)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print(STOPPED, file=sys.stderr)
        return 1
    except BrokenPipeError:
        return 1
    except Exception as error:
        print(f"something went wrong in the tool itself: {error!r}", file=sys.stderr)
        return 1
    return result


@contextmanager
def _stopped_once() -> Iterator[None]:
    """Let Ctrl-C stop a command once; pressed again, it does not stop the clearing up."""

    def stop(*_: object) -> None:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        raise KeyboardInterrupt

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _replay(options: argparse.Namespace) -> int:
    from model.files import write_whole
    from model.outlook.replay import ledger_csv, parse_option_month, replay_months
    from model.say.numbers import count

    plan, record = _plan_and_record(options)
    first = parse_option_month("--from", options.first)
    last = parse_option_month("--to", options.last)
    with _stage("replaying the months"):
        ledger = replay_months(plan, record, first, last)
    write_whole(options.out, ledger_csv(ledger))
    _print_invented(plan)
    print(f"wrote {options.out} ({count(len(ledger.months), 'month')})")
    print("The inflow that assessments count on is taken from the whole record: hindsight.")
    return 0


def _outlook(options: argparse.Namespace) -> int:
    from model.evidence.announced import held_in_plan, held_in_words
    from model.files import write_run
    from model.outlook.outlook import ODDS_NAMES, outlook_of
    from model.outlook.output import outlook_json, sequences_csv
    from model.outlook.setting import play_sequences, setting_of
    from model.say.cautions import CAUTION
    from model.say.notes import outlook_notes
    from model.say.outlook import outlook_in_words

    plan, record = _with_method(*_plan_and_record(options))
    setting = setting_of(plan, record)
    held = held_in_plan(plan, record, options.plan.parent)
    with _progress_bar("sequences") as progress:
        _, results = play_sequences(setting, progress, ODDS_NAMES)
    with _stage("working out the odds"):
        odds = outlook_of(setting, results)
        document = outlook_json(odds, held, outlook_notes())
    with _progress_bar("sequences written") as progress:
        tables: dict[Path, Content] = {}
        if not options.no_table:
            tables[options.out / "sequences.csv"] = sequences_csv(setting, progress)
        written = write_run(options.out / "outlook.json", document, tables)
    _print_invented(plan)
    print(outlook_in_words(odds))
    _print_opening_cautions(plan)
    if held is not None:
        print(held_in_words(held))
    print(CAUTION)
    for path in written:
        print(f"wrote {path}")
    return 0


def _compare(options: argparse.Namespace) -> int:
    from model.decide.compare import compare
    from model.decide.frontier_files import frontier_csv, named_strategy, usual_frontier
    from model.decide.how_good import how_good
    from model.decide.last_megalitre import last_megalitre_of_each
    from model.decide.output import compare_json, crops_csv, outcomes_csv
    from model.decide.strategy import strategies_of
    from model.evidence.announced import held_in_plan, held_in_words
    from model.farm.thin_water import thin_water
    from model.files import write_run
    from model.say.cautions import FARM_CAUTION
    from model.say.comparison import comparison_in_words
    from model.say.frontier import frontier_in_words
    from model.say.how_good import how_good_in_words
    from model.say.last_megalitre import last_megalitre_in_words
    from model.say.notes import compare_notes
    from model.say.thin_water import thin_water_in_words

    plan, record = _with_method(*_plan_and_record(options))
    if options.frontier is not None:
        named_strategy(strategies_of(plan), options.frontier)  # before anything is run
    held = held_in_plan(plan, record, options.plan.parent)
    with _progress_bar("sequences") as progress:
        found, results = compare(plan, record, progress)
    with _stage("working out the last megalitre and the yardsticks"):
        yardstick = how_good(found.setting)
        last = last_megalitre_of_each(found.setting, results)
    tables: dict[Path, Content] = {}
    said = [comparison_in_words(found), last_megalitre_in_words(last), how_good_in_words(yardstick)]
    if options.frontier is not None:
        with _progress_bar("ways") as progress:
            drawn = usual_frontier(found.setting, options.frontier, progress)
        tables[options.out / "frontier.csv"] = frontier_csv(drawn)
        said.append(frontier_in_words(drawn))
    if held is not None:
        said.append(held_in_words(held))
    with _stage("writing the tables"):
        if not options.no_table:
            tables[options.out / "outcomes.csv"] = outcomes_csv(found, results)
            tables[options.out / "crops.csv"] = crops_csv(found, results)
        document = compare_json(found, yardstick, last, held, compare_notes(found.setting.farm))
        written = write_run(options.out / "compare.json", document, tables)
    _print_invented(plan)
    print("\n\n".join(said))
    _print_opening_cautions(plan)
    thin = thin_water(found.setting.rules, found.setting.strategies)
    print("\n".join([*thin_water_in_words(thin), FARM_CAUTION]))
    for path in written:
        print(f"wrote {path}")
    return 0


def _evidence(options: argparse.Namespace) -> int:
    from model.evidence.hindcast import DRAWS_EACH
    from model.evidence.kept import Kept
    from model.evidence.output import evidence_json, hindcast_csv
    from model.evidence.whole import gather_evidence
    from model.files import write_run
    from model.plan.announced import announcements_of, read_announcements
    from model.say.cautions import CAUTION
    from model.say.evidence import evidence_in_words
    from model.say.notes import evidence_notes

    plan, record = _plan_and_record(options)
    announcements = (
        announcements_of(plan, options.plan.parent)
        if options.announced is None
        else read_announcements(options.announced)
    )
    draws_each = DRAWS_EACH if options.draws is None else options.draws
    with _progress_bar("settings") as offer_progress, _progress_bar("stands") as progress:
        whole = gather_evidence(
            plan,
            record,
            announcements,
            draws_each=draws_each,
            kept=Kept.of(_trials_folder(), plan, record, draws_each),
            progress=progress,
            offer_progress=offer_progress,
        )
    tables: dict[Path, Content] = {
        options.out / "hindcast.csv": hindcast_csv(whole.evidence.hindcast)
    }
    notes = evidence_notes(whole.evidence.hindcast.low_ml_per_share)
    write_run(options.out / "evidence.json", evidence_json(whole, notes), tables)
    _print_invented(plan)
    print("\n\n".join([*evidence_in_words(whole), CAUTION]))
    print(f"wrote {options.out / 'evidence.json'} and {options.out / 'hindcast.csv'}")
    return 0


def _brief(options: argparse.Namespace) -> int:
    from model.brief.brief_file import brief_pdf
    from model.brief.evidence_file import verdict_of
    from model.decide.findings import findings_of
    from model.evidence.announced import held_in_plan
    from model.files import write_all
    from model.say.cautions import FARM_CAUTION

    plan, record = _with_method(*_plan_and_record(options))
    held = held_in_plan(plan, record, options.plan.parent)
    day = options.date or datetime.now().astimezone().date()
    verdict = verdict_of(options.evidence, plan, record) if options.evidence else None
    found = findings_of(plan, record, strategy=options.strategy, verdict=verdict, held=held)
    written: dict[Path, Content] = {options.out: brief_pdf(found, day, options.plan.name)}
    if options.workbook is not None:
        from model.brief.workbook import workbook_xlsx

        written[options.workbook] = workbook_xlsx(found, day)
    write_all(written)
    _print_invented(plan)
    _print_opening_cautions(plan)
    print(FARM_CAUTION)
    for path in written:
        print(f"wrote {path}")
    return 0


def _open(options: argparse.Namespace) -> int:
    from model.plan.shipped import demonstration_plan

    plan = options.plan or demonstration_plan()
    for what, path in (("plan", plan), ("record", options.record)):
        if path is not None and not path.is_file():
            raise InputError(what, [Fault(what, str(path), "there is no such file", "a file")])
    command = [sys.executable, "-m", "dashboard", str(plan), "--port", str(options.port)]
    if options.address is not None:
        command += ["--address", options.address]
    if options.record is not None:
        command += ["--record", str(options.record)]
    if options.no_browser:
        command.append("--no-browser")
    if os.name == "posix":
        sys.stdout.flush()
        os.execv(sys.executable, command)  # the dashboard takes this process over
    return subprocess.run(command, check=False).returncode


def _plan_and_record(options: argparse.Namespace) -> tuple[Plan, Record]:
    """Return the plan with the options that override it, and its record."""
    from model.plan.text import check_plan, read_plan
    from model.record.record import read_record

    given = options.record
    plan = read_plan(options.plan, record=None if given is None else str(given))
    for note in plan.notes:
        print(f"{options.plan.name}: {note}", file=sys.stderr)
    changes = {
        name: getattr(options, name)
        for name, _, _ in _DRAWING_OPTIONS
        if getattr(options, name, None) is not None
    }
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


def _with_method(plan: Plan, record: Record) -> tuple[Plan, Record]:
    """Return a plan that names no method with the one that did best on its past years."""
    if plan.sequences.method is not None:
        return plan, record
    from model.evidence.trial import recommended_method, with_recommended
    from model.say.evidence import chosen_in_words

    with _progress_bar("stands") as progress:
        found = recommended_method(plan, record, _trials_folder(), progress)
    print(chosen_in_words(found))
    return with_recommended(plan, found), record


def _trials_folder() -> Path:
    """Return the folder in which trials of methods are kept."""
    from model.evidence.trial import FOLDER_NAME
    from model.keeping.folder import data_folder

    return data_folder() / FOLDER_NAME


def _print_invented(plan: Plan) -> None:
    """Print what of a plan is invented."""
    from model.say.cautions import invented_in_words

    if words := invented_in_words(plan):
        print(words)


def _print_opening_cautions(plan: Plan) -> None:
    """Print which opening figures should be checked again."""
    from model.plan.cautions import all_cautions

    for caution in all_cautions(plan):
        print(caution)


@contextmanager
def _progress_bar(what: str) -> Iterator[Progress]:
    """Show how far long work is, in a terminal."""
    from tqdm import tqdm

    with tqdm(unit=f" {what}", delay=0.5, leave=False, disable=None, file=sys.stderr) as bar:

        def progress(done: int, total: int) -> None:
            bar.total = total
            bar.update(done - bar.n)

        yield progress


@contextmanager
def _stage(what: str) -> Iterator[None]:
    """Show what is being done where nobody can tell how far it is."""
    from tqdm import tqdm

    with tqdm(desc=what, bar_format="{desc} ...", leave=False, disable=None, file=sys.stderr):
        yield


def _parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="seasons", description=_ABOUT, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _add_open(commands)
    _add_outlook(commands)
    _add_compare(commands)
    _add_replay(commands)
    _add_evidence(commands)
    _add_brief(commands)
    return parser


def _add_open(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = commands.add_parser(
        "open",
        help="open the dashboard in a browser, on this computer only unless --address is given",
        description="Open the dashboard on a plan (the invented demonstration when none is named).",
        epilog="Example:  seasons open my_plan.toml --port 8600",
    )
    command.add_argument("plan", nargs="?", type=Path, metavar="PLAN", help="the plan file")
    command.add_argument("--record", type=Path, help="a record in place of the plan's")
    command.add_argument("--port", type=_port, default=8501, help="default 8501")
    command.add_argument(
        "--address",
        help="an address of this computer that others can reach: opens your plans to all who can",
    )
    command.add_argument("--no-browser", action="store_true", help="only serve; open no window")
    command.set_defaults(run=_open)


def _add_outlook(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
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
    _add_plan(command)
    command.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="folder to write to"
    )
    command.add_argument("--no-table", action="store_true", help="write outlook.json alone")
    for name, kind, meaning in _DRAWING_OPTIONS:
        command.add_argument(f"--{name.replace('_', '-')}", type=kind, help=meaning)
    command.set_defaults(run=_outlook)


def _add_compare(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
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
    _add_plan(command)
    command.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="folder to write to"
    )
    command.add_argument(
        "--no-table", action="store_true", help="leave outcomes.csv and crops.csv out"
    )
    command.add_argument(
        "--frontier",
        metavar="STRATEGY",
        help="also write frontier.csv: a grid of water held back by area about this strategy",
    )
    for name, kind, meaning in _DRAWING_OPTIONS:
        command.add_argument(f"--{name.replace('_', '-')}", type=kind, help=meaning)
    command.set_defaults(run=_compare)


def _add_replay(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = commands.add_parser(
        "replay",
        help="what the rules would have given in the observed years, month by month",
        description=(
            "Run the valley once through observed months and write its ledger. The plan's opening "
            "state stands at the start of --from, whatever month it names."
        ),
        epilog="Example:  seasons replay plan.toml --from 1990-07 --to 2010-06 --out ledger.csv",
    )
    _add_plan(command)
    command.add_argument("--from", dest="first", required=True, metavar="YYYY-MM")
    command.add_argument("--to", dest="last", required=True, metavar="YYYY-MM")
    command.add_argument("--out", type=Path, required=True, metavar="FILE.csv")
    command.set_defaults(run=_replay)


def _add_evidence(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
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
    _add_plan(command)
    command.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="folder to write to"
    )
    command.add_argument("--draws", type=int, help="sequences a year and method, default 500")
    command.add_argument(
        "--announced",
        type=Path,
        metavar="FILE",
        help="what was announced in past years: water_year (or date) and ml_per_share",
    )
    for name, kind, meaning in _DRAWING_OPTIONS:
        if name in ("method", "kind", "block_years", "seed", "seasons", "climate_indices"):
            command.add_argument(f"--{name.replace('_', '-')}", type=kind, help=meaning)
    command.set_defaults(run=_evidence)


def _add_brief(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = commands.add_parser(
        "brief",
        help="pages for a partner or lender (PDF), and a workbook (XLSX)",
        description=(
            "Write the odds of water, what is planted and held, the bank by month, debt cover, the "
            "stress set and what it all rests on, as a few A4 pages; with --workbook the numbers "
            "too."
        ),
        epilog="Example:  seasons brief plan.toml --out brief.pdf --workbook brief.xlsx",
    )
    _add_plan(command)
    command.add_argument("--out", type=Path, required=True, metavar="FILE.pdf")
    command.add_argument("--workbook", type=Path, metavar="FILE.xlsx")
    command.add_argument("--strategy", help="name of the strategy it is about (default the first)")
    command.add_argument(
        "--evidence", type=Path, metavar="FILE", help="evidence.json of the same plan and record"
    )
    command.add_argument("--date", type=_date, help="day printed on it, YYYY-MM-DD, default today")
    for name, kind, meaning in _DRAWING_OPTIONS:
        command.add_argument(f"--{name.replace('_', '-')}", type=kind, help=meaning)
    command.set_defaults(run=_brief)


def _add_plan(command: argparse.ArgumentParser) -> None:
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


def _date(text: str) -> date:
    """Return a date written YYYY-MM-DD."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        message = f"{text} is not a date: write YYYY-MM-DD"
        raise argparse.ArgumentTypeError(message) from error


def _port(text: str) -> int:
    """Return a port number."""
    port = int(text)
    if not 1 <= port <= 65_535:
        raise argparse.ArgumentTypeError(f"{text} is not a port: use a number from 1 to 65535")
    return port
