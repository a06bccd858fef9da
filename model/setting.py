"""What is needed to run a plan's valley through sequences, and how are many run at once?

A setting joins plan and record: calendar, slices, method and rules, made once. Sequences run in
batches that stay in the processor's cache, one batch after the other: threads were measured to take
longer, since each waits for the interpreter between two short sums.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from model.plan import Plan
from model.record import Record
from model.seasons import SeasonResults, gather
from model.sequences.draw import (
    BATCH_SEQUENCES,
    Calendar,
    Sequences,
    calendar_of,
    draw_batches,
    method_of,
    sequence_count,
    slices_of,
)
from model.sequences.drying import flow_factors
from model.sequences.slices import IntArray, Method, Slices
from model.valley.rules import Rules, rules_of
from model.valley.run import Month, run
from model.valley.state import forcing_of, opening_state
from model.water_year import MONTH_NAMES

Progress = Callable[[int, int], None]
"""Called with the sequences done and the sequences in all."""


@dataclass(frozen=True, slots=True)
class Setting:
    """All that is needed to run a plan's valley: made once, used for every batch."""

    plan: Plan
    record: Record
    calendar: Calendar
    slices: Slices
    method: Method
    rules: Rules

    def months(self, rows: IntArray) -> Iterator[Month]:
        """Run the valley through sequences, (sequence, month) rows of the record."""
        forcing = forcing_of(
            rows,
            self.record,
            self.plan.valley,
            flow_factor=flow_factors(self.record, self.plan.sequences),
        )
        opening = opening_state(self.plan.opening, rows.shape[0])
        return run(opening, forcing, self.rules, self.calendar.opening_month)

    def gathered(self, months: Iterable[Month], sequences: int) -> SeasonResults:
        """Gather a run of the valley to seasons."""
        return gather(
            months,
            self.calendar,
            self.rules,
            sequences=sequences,
            planting_k=MONTH_NAMES.index(self.plan.outlook.planting_month),
            finish_k=MONTH_NAMES.index(self.plan.outlook.finish_month),
        )

    @property
    def count(self) -> int:
        """How many sequences the plan asks for."""
        return sequence_count(self.method, self.slices, self.plan.sequences.count)

    def split(self, rows: IntArray) -> Iterator[Sequences]:
        """Split many sequences into batches."""
        for first in range(0, rows.shape[0], BATCH_SEQUENCES):
            yield Sequences(rows[first : first + BATCH_SEQUENCES], self.calendar.opening_month)

    def batches(self) -> Iterator[Sequences]:
        """Draw the plan's sequences, batch by batch."""
        drawing = self.plan.sequences
        return draw_batches(
            self.method, self.slices, self.calendar, count=drawing.count, seed=drawing.seed
        )


def setting_of(plan: Plan, record: Record) -> Setting:
    """Prepare a plan and its record.

    Raises
    ------
    PlanError
        Plan and record do not fit together.
    """
    calendar = calendar_of(plan.opening.month, plan.sequences)
    slices = slices_of(record, calendar)
    return Setting(
        plan=plan,
        record=record,
        calendar=calendar,
        slices=slices,
        method=method_of(plan.sequences, slices, record, calendar),
        rules=rules_of(plan.valley, record),
    )


def play_sequences(
    setting: Setting, progress: Progress | None = None
) -> tuple[IntArray, SeasonResults]:
    """Run the valley through the plan's sequences.

    Returns
    -------
    rows, results
        (sequence, season) row of the record at which each season of each sequence begins; what each
        season brought. The same to the bit on one core and on many.
    """
    calendar = setting.calendar
    season_firsts = [calendar.first_t(season) for season in range(calendar.seasons)]
    rows, parts, done = [], [], 0
    for sequences, results in played_in_batches(setting, setting.batches()):
        rows.append(sequences.rows[:, season_firsts])
        parts.append(results)
        done += sequences.count
        if progress is not None:
            progress(done, setting.count)
    return np.concatenate(rows), SeasonResults.joined(parts)


def played_in_batches(
    setting: Setting, batches: Iterable[Sequences]
) -> Iterator[tuple[Sequences, SeasonResults]]:
    """Run the valley through batches, one after the other."""
    for sequences in batches:
        yield sequences, setting.gathered(setting.months(sequences.rows), sequences.count)
