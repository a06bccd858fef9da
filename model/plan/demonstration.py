"""The demonstration, read: where an example, or a first try from Python, begins."""

from __future__ import annotations

from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import read_plan
from model.record.record import Record, read_record


def demonstration() -> tuple[Plan, Record]:
    """Read the demonstration plan and its record.

    Raises
    ------
    FileNotFoundError
        The installation lacks them.

    Examples
    --------
    >>> plan, record = demonstration()
    >>> plan.title, record.months
    ('Demonstration: Plovermere Dam, Sandlark River (invented)', 1574)
    """
    path = demonstration_plan()
    plan = read_plan(path)
    return plan, read_record(path.parent / plan.record)
