"""What would these rules have given in the observed years?

The valley is run once through observed months, from a stated state, and every flux of every month
is kept. What the assessment counts on is taken from the whole record: rules of this kind do know
it, but in a replay it is hindsight, and said so.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import numpy as np

from model.errors import Fault, InputError
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.slices import IntArray
from model.valley.rules import rules_of
from model.valley.run import NEW_WATER, commitments, keep, ledger_columns, run
from model.valley.state import forcing_of, opening_state
from model.water_year import format_month, parse_month


@dataclass(frozen=True, slots=True)
class Ledger:
    """The month-by-month account of the valley."""

    first_month: int  # month number
    columns: dict[str, FloatArray]  # of the ledger and what is set aside, each (month,)
    names: tuple[str, ...]  # of the ledger's own columns, in order

    @property
    def months(self) -> list[str]:
        """The months, YYYY-MM."""
        count = self.columns["storage_end_ml"].size
        return [format_month(self.first_month + t) for t in range(count)]


def replay_months(plan: Plan, record: Record, first: int, last: int) -> Ledger:
    """Run the valley through observed months.

    Parameters
    ----------
    plan
        Its opening state stands at the start of `first`, whatever month it names.
    record
        The observed record.
    first, last
        Month numbers, both in the record.

    Raises
    ------
    InputError
        The months are not in the record, or in the wrong order.

    Examples
    --------
    >>> from model.water_year import parse_month
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> ledger = replay_months(plan, record, parse_month("1990-07"), parse_month("1991-06"))
    >>> len(ledger.months), ledger.names[0]
    (12, 'storage_start_ml')
    """
    _check_span(record, first, last)
    rows = np.arange(first - record.first_month, last - record.first_month + 1)
    return ledger_of_rows(plan, record, rows, first)


def ledger_of_rows(
    plan: Plan,
    record: Record,
    rows: IntArray,
    first_month: int,
    *,
    flow_factor: float | FloatArray = 1.0,
    factors: FloatArray | None = None,
) -> Ledger:
    """Keep the ledger of one sequence.

    Parameters
    ----------
    plan, record
        Valley, opening state and what was observed.
    rows
        (month,) rows of the record.
    first_month
        Month number that the sequence begins in.
    flow_factor
        Multiplies inflow and tributary: one number, or one for each month of the record.
    factors
        (1, month) multiplies them too, month by month of the sequence.
    """
    rules = rules_of(plan.valley, record)
    months = run(
        opening_state(plan.opening, 1),
        forcing_of(rows[None, :], record, plan.valley, flow_factor=flow_factor, factors=factors),
        rules,
        first_month,
    )
    ledger = ledger_columns(rules)
    kept = keep(months, {**ledger, **commitments(rules), **NEW_WATER})
    columns = {name: values[0] for name, values in kept.items()}
    return Ledger(first_month, columns, tuple(ledger))


def ledger_csv(ledger: Ledger) -> str:
    """Write a ledger as CSV text, one row a month, numbers in full."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["month", *ledger.names])
    columns = [ledger.columns[name].tolist() for name in ledger.names]
    writer.writerows(zip(ledger.months, *columns, strict=True))
    return text.getvalue()


def parse_option_month(option: str, text: str) -> int:
    """Read a month given on the command line.

    Raises
    ------
    InputError
        It is no month.
    """
    try:
        return parse_month(text)
    except ValueError as error:
        fault = Fault(option, text, "it is not a month", "YYYY-MM, such as 1987-03")
        raise InputError("command line", [fault]) from error


def _check_span(record: Record, first: int, last: int) -> None:
    """Refuse months outside the record, or an end before the beginning."""
    allowed = f"a month from {record.span[0]} to {record.span[1]}, the record"
    faults = [
        Fault(option, format_month(month), "it is not in the record", allowed)
        for option, month in (("--from", first), ("--to", last))
        if not record.first_month <= month <= record.last_month
    ]
    if first > last:
        faults.append(
            Fault("--to", format_month(last), f"it comes before {format_month(first)}", allowed)
        )
    if faults:
        raise InputError("command line", faults)
