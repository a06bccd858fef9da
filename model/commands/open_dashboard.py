"""Open the dashboard in a browser: `seasons open`."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from pathlib import Path

from model.commands.shared import Commands
from model.errors import Fault, InputError


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    command = commands.add_parser(
        "open",
        help="open the dashboard in a browser, on this computer only unless --address is given",
        description="Open the dashboard on a plan (the invented demonstration when none is named).",
        epilog="Example:  seasons open my_plan.toml --port 8600",
    )
    command.add_argument("plan", nargs="?", type=Path, metavar="PLAN", help="the plan file")
    command.add_argument("--record", type=Path, help="a record in place of the plan's")
    command.add_argument(
        "--book",
        type=Path,
        metavar="DIR",
        help="what `seasons portfolio` wrote: shown on a page, Many farms",
    )
    command.add_argument("--port", type=_port, default=8501, help="default 8501")
    command.add_argument(
        "--address",
        help="an address of this computer that others can reach: opens your plans to all who can",
    )
    command.add_argument("--no-browser", action="store_true", help="only serve; open no window")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit status."""
    from model.plan.shipped import demonstration_plan

    plan = options.plan or demonstration_plan()
    for what, path in (("plan", plan), ("record", options.record)):
        if path is not None and not path.is_file():
            raise InputError(what, [Fault(what, str(path), "there is no such file", "a file")])
    if options.book is not None:
        from model.book.kept import read_book

        read_book(options.book)  # before a window is opened
    command = [sys.executable, "-m", "dashboard", str(plan), "--port", str(options.port)]
    if options.address is not None:
        command += ["--address", options.address]
    if options.record is not None:
        command += ["--record", str(options.record)]
    if options.book is not None:
        command += ["--book", str(options.book)]
    if options.no_browser:
        command.append("--no-browser")
    if os.name == "posix":
        sys.stdout.flush()
        os.execv(sys.executable, command)  # the dashboard takes this process over
    return subprocess.run(command, check=False).returncode


def _port(text: str) -> int:
    """Return a port number."""
    port = int(text)
    if not 1 <= port <= 65_535:
        raise argparse.ArgumentTypeError(f"{text} is not a port: use a number from 1 to 65535")
    return port
