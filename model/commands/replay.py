"""What the rules would have given in the observed years: `seasons replay`."""

from __future__ import annotations

import argparse
from pathlib import Path

from model.commands.shared import Commands, add_plan, plan_and_record, print_invented, stage


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    command = commands.add_parser(
        "replay",
        help="what the rules would have given in the observed years, month by month",
        description=(
            "Run the valley once through observed months and write its ledger. The plan's opening "
            "state stands at the start of --from, whatever month it names."
        ),
        epilog="Example:  seasons replay plan.toml --from 1990-07 --to 2010-06 --out ledger.csv",
    )
    add_plan(command)
    command.add_argument("--from", dest="first", required=True, metavar="YYYY-MM")
    command.add_argument("--to", dest="last", required=True, metavar="YYYY-MM")
    command.add_argument("--out", type=Path, required=True, metavar="FILE.csv")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.files import write_whole
    from model.outlook.replay import ledger_csv, parse_option_month, replay_months
    from model.say.numbers import count

    plan, record = plan_and_record(options)
    first = parse_option_month("--from", options.first)
    last = parse_option_month("--to", options.last)
    with stage("replaying the months"):
        ledger = replay_months(plan, record, first, last)
    write_whole(options.out, ledger_csv(ledger))
    print_invented(plan)
    print(f"wrote {options.out} ({count(len(ledger.months), 'month')})")
    print("The inflow that assessments count on is taken from the whole record: hindsight.")
    return 0
