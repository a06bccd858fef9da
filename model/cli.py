"""The command line: `seasons`.

Exit status: 0 done, 2 what was given is wrong (the message names it), 1 anything else. A message,
never a traceback. Each command imports what it needs itself: `seasons open` must be quick to begin.
"""

from __future__ import annotations

import argparse
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from model.commands import (
    brief,
    compare,
    decide,
    evidence,
    open_dashboard,
    outlook,
    portfolio,
    replay,
)
from model.errors import STOPPED, InputError

_ABOUT = """\
Odds of irrigation water over the next one to three seasons, from an observed record of inflow
through the rules of a regulated valley, and what they mean for planting and carrying over.

A plan (a TOML file) says where the dam and the accounts stand, what the valley's rules are and
which record to use. Try it on the invented demonstration:  seasons open
"""

_COMMANDS = (open_dashboard, outlook, compare, decide, replay, evidence, brief, portfolio)
"""The commands, in the order in which help names them."""


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


def _parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="seasons", description=_ABOUT, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for command in _COMMANDS:
        command.add_to(commands)
    return parser
