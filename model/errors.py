"""What can be wrong with what a person gives the tool, and how it is said.

    SeasonsError (Exception)
    └── InputError (ValueError)      one or more faults in a file, a plan or an option
        ├── RecordError              the record of observed months
        └── PlanError                the plan file

Every input error carries all the faults found, not only the first: a person fixes a file in one
go. Each fault says where, what was found, what is the matter and what is allowed.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass

STOPPED = "Stopped. No file was left half written."
"""What a command says when Ctrl-C ends it."""


def until_stopped(work: Callable[[], int]) -> int:
    """Return the exit status of work; of Ctrl-C at any moment of it one line and 1."""
    try:
        return work()
    except KeyboardInterrupt:
        sys.stderr.write(f"{STOPPED}\n")
        return 1


MOST_FAULTS_PRINTED = 40
"""A message longer than a screen helps nobody; the rest are counted."""


LONGEST_VALUE_PRINTED = 200
"""So much of a value, such as the path of a file, tells where to look."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One problem to fix.

    Attributes
    ----------
    where
        Row and column of a table, key of a plan, or name of an option.
    value
        What was found there, as the person wrote it; empty where something is missing.
    problem
        What is the matter, in the reader's words.
    allowed
        What would be accepted, with its unit.
    """

    where: str
    value: str
    problem: str
    allowed: str

    def __str__(self) -> str:
        """Return the fault in one line."""
        value = self.value
        if len(value) > LONGEST_VALUE_PRINTED:
            value = f"{value[: LONGEST_VALUE_PRINTED - 3]}..."
        found = f' "{value}"' if value else ""
        return f"{self.where}{found}: {self.problem}. Allowed: {self.allowed}."


class SeasonsError(Exception):
    """The base of all errors this tool raises on purpose."""


class InputError(SeasonsError, ValueError):
    """What was given cannot be used; `faults` holds every reason found.

    Parameters
    ----------
    source
        The file or option at fault.
    faults
        At least one fault.
    """

    def __init__(self, source: str, faults: Iterable[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        if not self.faults:
            raise ValueError("an input error needs at least one fault")
        super().__init__(source, self.faults)

    def __str__(self) -> str:
        """Return a head line and one line a fault."""
        count = len(self.faults)
        head = f"{self.source}: {count} problem{'s' if count > 1 else ''} to fix"
        lines = [f"  - {fault}" for fault in self.faults[:MOST_FAULTS_PRINTED]]
        if count > MOST_FAULTS_PRINTED:
            lines.append(f"  - and {count - MOST_FAULTS_PRINTED:,} more of the kind")
        return "\n".join([head, *lines])


class RecordError(InputError):
    """The record of observed months cannot be used."""


class PlanError(InputError):
    """The plan cannot be used."""
