"""Which sequences does a plan ask for, and from which random numbers?

A sequence is one possible run of seasons: the months left of the opening water year, then whole
water years. Sequences are drawn in batches of a fixed size, each from a child stream of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from model.errors import Fault, PlanError
from model.plan.plan import Drawing
from model.record.memory import optimal_block_years
from model.record.record import FloatArray, Record
from model.sequences.blocks import Blocks, Kind
from model.sequences.fallback import Instead
from model.sequences.historical import Historical
from model.sequences.neighbours import Neighbours
from model.sequences.regimes import Regimes, log_totals, why_not
from model.sequences.slices import IntArray, Method, Slices, cut, months_of_run, rows_of
from model.sequences.switching import Switching, fit_switching
from model.streams import Stream, generator
from model.water_year import MONTHS_IN_YEAR, format_month, parse_month, water_year_label

BATCH_SEQUENCES: Final = 10_000
"""Drawn and run at once: their arrays stay in the processor's cache (measured)."""


@dataclass(frozen=True, slots=True)
class Sequences:
    """Possible runs of seasons, as rows of the record."""

    rows: IntArray  # (sequence, month) row numbers of the record
    opening_month: int  # month number

    @property
    def count(self) -> int:
        """How many sequences there are."""
        return int(self.rows.shape[0])


@dataclass(frozen=True, slots=True)
class Calendar:
    """The months and seasons of a run."""

    opening_month: int  # month number
    seasons: int

    @property
    def months(self) -> int:
        """How many months the run has."""
        return months_of_run(self.opening_month, self.seasons)

    @property
    def slices(self) -> int:
        """How many slices of twelve months a sequence is made of."""
        return -(-self.months // MONTHS_IN_YEAR)

    def season_of(self, t: int) -> int:
        """Give the season, from 0, of a month of the run, counted from 0."""
        return (t + MONTHS_IN_YEAR - self.first_season_months) // MONTHS_IN_YEAR

    @property
    def first_season_months(self) -> int:
        """How many months are left of the opening water year."""
        return months_of_run(self.opening_month, 1)

    def first_t(self, season: int) -> int:
        """Give the first month of a season (from 0), counted from the run's first month."""
        return max(0, self.first_season_months + MONTHS_IN_YEAR * (season - 1))

    def last_t(self, season: int) -> int:
        """Give the last month of a season (from 0), counted from the run's first month."""
        return self.first_season_months + MONTHS_IN_YEAR * season - 1

    def t_of(self, season: int, k: int) -> int | None:
        """Find month `k` of a season's water year in the run; None where it is past."""
        t = self.last_t(season) - (MONTHS_IN_YEAR - 1) + k
        return t if t >= 0 else None

    def water_year(self, season: int) -> str:
        """Name the water year of a season (from 0)."""
        return water_year_label(self.opening_month + self.last_t(season))


def calendar_of(opening_month: str, drawing: Drawing) -> Calendar:
    """Give the months and seasons that a plan looks ahead to."""
    return Calendar(parse_month(opening_month), drawing.seasons)


Fit = Callable[[FloatArray], Switching]
"""Fits two states to a series."""


def method_of(
    drawing: Drawing,
    slices: Slices,
    record: Record,
    calendar: Calendar,
    *,
    fit: Fit | None = None,
) -> Method:
    """Choose the method that a plan names; a block length left out is taken from the record.

    Where the record does not support what is asked for, blocks stand in for it and say so.

    Parameters
    ----------
    drawing
        The plan's settings.
    slices
        Of the record, for the run.
    record, calendar
        The record, and the months and seasons of the run.
    fit
        How dry and wet states are fitted; by default afresh, from the plan's seed.

    Raises
    ------
    PlanError
        What the method needs to know is neither in the record nor in the plan.
    """
    if drawing.method == "historical":
        return Historical()
    if drawing.method == "neighbours":
        return Neighbours.of(
            record,
            calendar.opening_month,
            indices=drawing.climate_indices,
            last_twelve_months_inflow_ml=drawing.last_twelve_months_inflow_ml,
        )
    blocks = Blocks(drawing.kind, drawing.block_years or asked_block_years(slices, drawing.kind))
    if drawing.method == "regimes":
        opening_row = calendar.opening_month - record.first_month
        return _regimes_or(blocks, drawing, slices, opening_row, fit or _fit_afresh(drawing.seed))
    return blocks


def _fit_afresh(seed: int) -> Fit:
    """Fit from many starts drawn from the plan's seed."""
    return lambda values: fit_switching(values, rng=generator(seed, Stream.REGIME_FIT))


def _regimes_or(
    blocks: Blocks, drawing: Drawing, slices: Slices, opening_row: int, fit: Fit
) -> Method:
    """Fit dry and wet states; give blocks instead where the record does not support two."""
    try:
        fitted = fit(log_totals(slices.totals_ml))
    except ArithmeticError as error:
        return Instead(blocks, asked="regimes", because=str(error))
    refused = why_not(fitted)
    if refused is not None:
        return Instead(blocks, asked="regimes", because=refused)
    return Regimes.of(fitted, slices, opening_row, drawing.opening_dry_chance)


def asked_block_years(slices: Slices, kind: Kind) -> float:
    """Give the block length that the slices ask for; whole years for blocks of a fixed length."""
    asked = optimal_block_years(slices.totals_ml)
    if kind == "stationary":
        return max(1.0, asked.stationary)
    return float(max(1, round(asked.circular)))


def draw_batches(
    method: Method, slices: Slices, calendar: Calendar, *, count: int, seed: int
) -> Iterator[Sequences]:
    """Draw sequences, batch by batch.

    Parameters
    ----------
    method, slices
        How, and from what.
    calendar
        Months and seasons of the run.
    count
        How many; a method without randomness gives its own number.
    seed
        The plan's seed.
    """
    for batch in range(batch_count(method, slices, count)):
        yield draw_batch(method, slices, calendar, count=count, seed=seed, batch=batch)


def draw_batch(
    method: Method, slices: Slices, calendar: Calendar, *, count: int, seed: int, batch: int
) -> Sequences:
    """Draw one batch, by its number, whatever was drawn before; see `draw_batches`."""
    left = sequence_count(method, slices, count) - BATCH_SEQUENCES * batch
    drawn = method.draw(
        slices,
        calendar.seasons,
        min(BATCH_SEQUENCES, left),
        rng=generator(seed, Stream.SEQUENCES, batch),
    )
    return Sequences(rows_of(slices, drawn, calendar.months), calendar.opening_month)


def batch_count(method: Method, slices: Slices, count: int) -> int:
    """Give how many batches a method draws when `count` sequences are asked for."""
    return -(-sequence_count(method, slices, count) // BATCH_SEQUENCES)


def sequence_count(method: Method, slices: Slices, count: int) -> int:
    """Give how many sequences a method draws when `count` are asked for."""
    return slices.count if isinstance(method, Historical) else count


def slices_of(record: Record, calendar: Calendar) -> Slices:
    """Cut the record for a run.

    Raises
    ------
    PlanError
        The record holds fewer slices than the run has seasons.
    """
    slices = cut(record, calendar.opening_month)
    if slices.count < calendar.seasons:
        fault = Fault(
            "sequences.seasons",
            str(calendar.seasons),
            f"the record holds {slices.count} runs of twelve months from "
            f"{format_month(calendar.opening_month)[-2:]}",
            f"{slices.count} or less",
        )
        raise PlanError("plan", [fault])
    return slices
