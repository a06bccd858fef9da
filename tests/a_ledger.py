"""The valley's whole ledger of drawn months, for tests that look at every column."""

from __future__ import annotations

from model.record.record import FloatArray
from model.valley.rules import Rules
from model.valley.run import keep, ledger_columns, run
from model.valley.state import Forcing, State


def ledger(
    opening: State, forcing: Forcing, rules: Rules, first_month: int
) -> dict[str, FloatArray]:
    """Run the valley and keep its whole ledger, each column (sequence, month)."""
    return keep(run(opening, forcing, rules, first_month), ledger_columns(rules))
