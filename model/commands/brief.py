"""Pages for a partner or lender, and a workbook: `seasons brief`."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from model.commands.shared import (
    Commands,
    add_drawing,
    add_plan,
    date_of,
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
        "brief",
        help="pages for a partner or lender (PDF), and a workbook (XLSX)",
        description=(
            "Write a credit paper on A4: the decision, the odds of water, what is planted and "
            "held, the bank by month, debt cover, the stress set, security and covenants, and what "
            "it all rests on. FILE.json beside it holds every figure printed; with --workbook a "
            "workbook too."
        ),
        epilog="Example:  seasons brief plan.toml --out brief.pdf --workbook brief.xlsx",
    )
    add_plan(command)
    command.add_argument("--out", type=Path, required=True, metavar="FILE.pdf")
    command.add_argument("--workbook", type=Path, metavar="FILE.xlsx")
    command.add_argument("--strategy", help="name of the strategy it is about (default the first)")
    command.add_argument(
        "--evidence", type=Path, metavar="FILE", help="evidence.json of the same plan and record"
    )
    command.add_argument(
        "--date", type=date_of, help="day printed on it, YYYY-MM-DD, default today"
    )
    add_drawing(command)
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.brief.brief_file import brief_pdf
    from model.brief.brief_json import brief_json
    from model.brief.evidence_file import verdict_of
    from model.decide.findings import findings_of
    from model.evidence.announced import held_in_plan
    from model.files import run_mark, write_run
    from model.say.cautions import FARM_CAUTION

    plan, record = with_method(*plan_and_record(options))
    held = held_in_plan(plan, record, options.plan.parent)
    day = options.date or datetime.now().astimezone().date()
    verdict = verdict_of(options.evidence, plan, record) if options.evidence else None
    with progress_bar("sequences") as progress, stage("working out the brief"):
        found = findings_of(
            plan,
            record,
            strategy=options.strategy,
            verdict=verdict,
            held=held,
            progress=progress,
        )
    with stage("laying out the pages"):
        name, document = options.plan.name, brief_json(found, day, options.plan.name)
        mark = run_mark(document)
        files: dict[Path, Content] = {options.out: brief_pdf(found, day, name, mark)}
        if options.workbook is not None:
            from model.brief.workbook import workbook_xlsx

            files[options.workbook] = workbook_xlsx(found, day, mark)
        written = write_run(options.out.with_suffix(".json"), document, files)
    print_invented(plan)
    print_opening_cautions(plan)
    print(FARM_CAUTION)
    print_written(written)
    return 0
