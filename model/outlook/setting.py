"""What is needed to run a plan's valley through sequences, and how are many run at once?

A setting joins plan and record: calendar, slices, method and rules, made once. Sequences run in
batches that stay in the processor's cache, one batch after the other: threads were measured to take
longer, since each waits for the interpreter between two short sums. Very many sequences are shared
out to processes, one a core, where the system can fork; each draws its own batches, so the results
are the same to the bit.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from multiprocessing.queues import SimpleQueue
from typing import Final

import numpy as np

from model.outlook.seasons import SeasonResults, gather, shared_array
from model.plan.plan import Plan
from model.record.record import Record
from model.sequences.draw import (
    BATCH_SEQUENCES,
    Calendar,
    batch_count,
    calendar_of,
    draw_batch,
    draw_sequences,
    method_of,
    sequence_count,
    slices_of,
)
from model.sequences.drying import dried_weather, flow_factors
from model.sequences.slices import IntArray, Method, Sequences, Slices
from model.sequences.unique import Leg, unique_sequences
from model.sequences.view import POOL_SEQUENCES, Viewed, ViewRuns
from model.streams import Stream, generator
from model.valley.rules import Rules, rules_of
from model.valley.run import Month, run, run_legs
from model.valley.state import forcing_of, opening_state
from model.water_year import MONTH_NAMES

Progress = Callable[[int, int], None]
"""Called with the sequences done and the sequences in all."""

MANY_SEQUENCES: Final = 100_000
"""From here on sharing the work out is quicker than beginning at once (measured)."""


@dataclass(frozen=True, slots=True)
class Setting:
    """All that is needed to run a plan's valley: made once, used for every batch."""

    plan: Plan
    record: Record
    calendar: Calendar
    slices: Slices
    method: Method
    rules: Rules
    viewed: Viewed | None = None  # the user's own view of the season

    @property
    def weather(self) -> Record:
        """The record with rain, ETo and evaporation moved as the plan states."""
        return dried_weather(self.record, self.plan.valley, self.plan.sequences)

    def months(self, sequences: Sequences | IntArray) -> Iterator[Month]:
        """Run the valley through sequences; bare rows of the record come as they were observed."""
        sequences = Sequences.of(sequences)
        forcing = forcing_of(
            sequences.rows,
            self.weather,
            self.plan.valley,
            flow_factor=flow_factors(self.record, self.plan.sequences),
            factors=sequences.factors,
        )
        opening = opening_state(self.plan.opening, len(sequences))
        return run(opening, forcing, self.rules, self.calendar.opening_month)

    def months_of_legs(self, legs: Iterable[Leg]) -> Iterator[Month]:
        """Run the valley through sequences that are one until they part; see `legs_of`."""
        flow_factor, weather = flow_factors(self.record, self.plan.sequences), self.weather
        forced = (
            (
                leg.parents,
                forcing_of(
                    leg.rows,
                    weather,
                    self.plan.valley,
                    flow_factor=flow_factor,
                    factors=leg.factors,
                ),
            )
            for leg in legs
        )
        opening = opening_state(self.plan.opening, 1)
        return run_legs(opening, forced, self.rules, self.calendar.opening_month)

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

    def played(self, sequences: Sequences | IntArray) -> SeasonResults:
        """Return what the seasons of sequences bring; bare rows come as they were observed.

        Each different one is run once, and those that begin alike are one until they part.
        """
        different = unique_sequences(sequences)
        parts = [self.gathered(self.months_of_legs(legs), 1) for legs in different.batches()]
        return SeasonResults.joined(parts).of(different.places)

    def view_runs(self) -> ViewRuns | None:
        """Count the different runs that the user's view rests on; None where there is none."""
        if self.viewed is None:
            return None
        drawing = self.plan.sequences
        rng = generator(drawing.seed, Stream.SEQUENCES, 0)
        pool = draw_sequences(self.method, self.slices, self.calendar, POOL_SEQUENCES, rng=rng)
        return self.viewed.runs_of(pool)

    @property
    def count(self) -> int:
        """How many sequences the plan asks for."""
        return sequence_count(self.method, self.slices, self.plan.sequences.count, self.viewed)

    def batches(self) -> Iterator[Sequences]:
        """Draw the plan's sequences, batch by batch."""
        return (self.batch(number) for number in range(self.batch_count))

    def first_sequences(self, count: int) -> Sequences:
        """Return the first of the plan's sequences; no more than a batch."""
        return next(self.batches())[:count]

    @property
    def batch_count(self) -> int:
        """How many batches the plan's sequences come in."""
        return batch_count(self.count)

    def batch(self, number: int) -> Sequences:
        """Draw one batch of the plan's sequences."""
        drawing = self.plan.sequences
        return draw_batch(
            self.method,
            self.slices,
            self.calendar,
            count=drawing.count,
            seed=drawing.seed,
            batch=number,
            viewed=self.viewed,
        )

    def played_batch(self, number: int) -> tuple[IntArray, SeasonResults]:
        """Return where each season of a batch's sequences begins, and what it brought.

        (sequence, season) rows of the record; the same whenever and wherever it is asked.
        """
        sequences = self.batch(number)
        return sequences.rows[:, self.season_firsts], self.played(sequences)

    @property
    def season_firsts(self) -> list[int]:
        """The first month of each season, counted from the run's first month."""
        return [self.calendar.first_t(season) for season in range(self.calendar.seasons)]


def setting_of(
    plan: Plan, record: Record, method: Method | None = None, seasons: int | None = None
) -> Setting:
    """Prepare a plan and its record.

    Parameters
    ----------
    plan, record
        What the user gave.
    method
        Made before of the same record, drawing and opening month; made if left out.
    seasons
        Of the run; as many as the plan says if left out.

    Raises
    ------
    PlanError
        Plan and record do not fit together.
    """
    calendar = calendar_of(plan.opening.month, plan.sequences)
    if seasons is not None:
        calendar = replace(calendar, seasons=seasons)
    slices = slices_of(record, calendar)
    return Setting(
        plan=plan,
        record=record,
        calendar=calendar,
        slices=slices,
        method=method or method_of(plan.sequences, slices, record, calendar),
        rules=rules_of(plan.valley, record),
        viewed=None
        if plan.sequences.view is None
        else Viewed.of(plan.sequences.view, record, calendar.opening_month, calendar.months),
    )


def play_sequences(
    setting: Setting, progress: Progress | None = None, names: Collection[str] | None = None
) -> tuple[IntArray, SeasonResults]:
    """Run the valley through the plan's sequences.

    Parameters
    ----------
    setting
        What is run.
    progress
        Told after each batch.
    names
        Which results to keep; all if left out. A million sequences fill 24 MB with each.

    Returns
    -------
    rows, results
        (sequence, season) row of the record at which each season of each sequence begins; what each
        season brought. The same to the bit on one core and on many.
    """
    if setting.count >= MANY_SEQUENCES and can_share_work():
        return play_on_all_cores(setting, progress, names)
    rows, parts, done = [], [], 0
    for number in range(setting.batch_count):
        first_rows, results = setting.played_batch(number)
        rows.append(first_rows)
        parts.append(results if names is None else results.only(names))
        done += results.count
        if progress is not None:
            progress(done, setting.count)
    return np.concatenate(rows), SeasonResults.joined(parts)


class _WorkFailedError(RuntimeError):
    """A process that took on a part of the work could not do it."""


def can_share_work() -> bool:
    """Return whether the work can be shared out to other cores."""
    return (os.cpu_count() or 1) > 1 and "fork" in multiprocessing.get_all_start_methods()


def play_on_all_cores(
    setting: Setting, progress: Progress | None = None, names: Collection[str] | None = None
) -> tuple[IntArray, SeasonResults]:
    """Run the valley through the plan's sequences on all cores; see `play_sequences`.

    Each process writes its batches' results where all can read them.
    """
    seasons, context = setting.calendar.seasons, multiprocessing.get_context("fork")
    results = SeasonResults.shared(setting.count, seasons, names)
    rows = shared_array((seasons, setting.count), np.intp).T
    done = context.SimpleQueue()
    cores = os.cpu_count() or 1
    workers = [
        context.Process(
            target=_play_some,
            args=(setting, range(at, setting.batch_count, cores), rows, results, done),
        )
        for at in range(cores)
    ]
    try:
        for worker in workers:
            worker.start()
        _hear(setting, done, progress)
        for worker in workers:
            worker.join()
    finally:
        for worker in workers:
            worker.terminate()
    return rows, results


def _play_some(
    setting: Setting,
    numbers: Iterable[int],
    rows: IntArray,
    results: SeasonResults,
    done: SimpleQueue[int | str],
) -> None:
    """Run some batches, and say after each how many sequences it had."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that shares out the work ends it
    try:
        for number in numbers:
            first_rows, part = setting.played_batch(number)
            place = slice(BATCH_SEQUENCES * number, BATCH_SEQUENCES * number + part.count)
            rows[place] = first_rows
            results.put(place, part)
            done.put(part.count)
    except Exception as error:
        done.put(repr(error))


def _hear(setting: Setting, done: SimpleQueue[int | str], progress: Progress | None) -> None:
    """Wait for every batch; pass on how far it is."""
    so_far = 0
    while so_far < setting.count:
        said = done.get()
        if isinstance(said, str):
            raise _WorkFailedError(said)
        so_far += said
        if progress is not None:
            progress(so_far, setting.count)


LARGEST_LEARNT_BYTES: Final = 31 * 2**20
"""Just below the 32 MiB from which the library learns nothing (mallopt(3), M_MMAP_THRESHOLD)."""


def keep_dropped_memory() -> None:
    """Drop one large piece of memory, never written to, so that smaller ones are kept.

    A run makes and drops arrays of a few hundred kilobytes every month. The C library of Linux
    returns such memory to the system at once, and fetching it again, page by page, was measured to
    take a fifth of a run. It learns to keep what is dropped from the largest piece dropped so far.
    Elsewhere this does nothing.
    """
    bytearray(LARGEST_LEARNT_BYTES)
