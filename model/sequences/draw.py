"""Which sequences does a plan ask for, and from which random numbers?

A sequence is one possible run of seasons: the months left of the opening water year, then whole
water years. Sequences are drawn in batches of a fixed size, each from a child stream of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.errors import Fault, PlanError
from model.plan.plan import Drawing
from model.record.memory import optimal_block_years
from model.record.record import FloatArray, Record
from model.sequences.blocks import Blocks, Kind
from model.sequences.fallback import Because, Fallback
from model.sequences.historical import Historical
from model.sequences.neighbours import Neighbours
from model.sequences.present import FEWEST_BLOCK_YEARS, Present
from model.sequences.regimes import Regimes, log_totals, why_not
from model.sequences.slices import (
    IntArray,
    Method,
    Sequences,
    Slices,
    cut,
    months_of_run,
    rows_of,
)
from model.sequences.switching import Switching, fit_switching, has_spread
from model.sequences.view import POOL_SEQUENCES, Viewed
from model.streams import Stream, generator
from model.water_year import MONTHS_IN_YEAR, format_month, parse_month, water_year_label

BATCH_SEQUENCES: Final = 10_000
"""Drawn and run at once: their arrays stay in the processor's cache (measured)."""


RECOMMENDED: Final = "recommended"
"""What a plan without a method asks for."""


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
        """Return the season, from 0, of a month of the run, counted from 0."""
        return (t + MONTHS_IN_YEAR - self.first_season_months) // MONTHS_IN_YEAR

    @property
    def first_season_months(self) -> int:
        """How many months are left of the opening water year."""
        return months_of_run(self.opening_month, 1)

    def first_t(self, season: int) -> int:
        """Return the first month of a season (from 0), counted from the run's first month."""
        return max(0, self.first_season_months + MONTHS_IN_YEAR * (season - 1))

    def last_t(self, season: int) -> int:
        """Return the last month of a season (from 0), counted from the run's first month."""
        return self.first_season_months + MONTHS_IN_YEAR * season - 1

    def t_of(self, season: int, k: int) -> int | None:
        """Find month `k` of a season's water year in the run; None where it is past."""
        t = self.last_t(season) - (MONTHS_IN_YEAR - 1) + k
        return t if t >= 0 else None

    def water_year(self, season: int) -> str:
        """Name the water year of a season (from 0)."""
        return water_year_label(self.opening_month + self.last_t(season))


def calendar_of(opening_month: str, drawing: Drawing) -> Calendar:
    """Return the months and seasons that a plan looks ahead to."""
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
    if drawing.method is None:
        return Fallback(Historical(), asked=RECOMMENDED, because=Because("not_tried"))
    if drawing.method == "historical":
        return Historical()
    if drawing.method == "neighbours":
        return Neighbours.of(
            record,
            calendar.opening_month,
            indices=drawing.climate_indices,
            today=drawing.climate_index_today,
            last_twelve_months_inflow_ml=drawing.last_twelve_months_inflow_ml,
        )
    blocks = Blocks(drawing.kind, drawing.block_years or asked_block_years(slices, drawing.kind))
    if drawing.method == "present":
        return _present_or_historical(blocks, drawing, record, calendar.opening_month)
    if drawing.method == "regimes":
        opening_row = calendar.opening_month - record.first_month
        return _regimes_or(blocks, drawing, slices, opening_row, fit or _fit_afresh(drawing.seed))
    return blocks


def _present_or_historical(
    blocks: Blocks, drawing: Drawing, record: Record, opening_month: int
) -> Method:
    """Move blocks to today's river; play every start where the record does not reach today."""
    if not record.first_month < opening_month <= record.last_month + 1:
        return Fallback(Historical(), asked="present", because=Because("opening_off_the_record"))
    kind = "stationary" if blocks.kind == "independent" else blocks.kind
    long_enough = Blocks(kind, max(FEWEST_BLOCK_YEARS, blocks.block_years))
    return Present.of(
        record,
        opening_month,
        long_enough,
        indices=drawing.climate_indices,
        today=drawing.climate_index_today,
    )


def _fit_afresh(seed: int) -> Fit:
    """Fit from many starts drawn from the plan's seed."""
    return lambda values: fit_switching(values, rng=generator(seed, Stream.REGIME_FIT))


def _regimes_or(
    blocks: Blocks, drawing: Drawing, slices: Slices, opening_row: int, fit: Fit
) -> Method:
    """Fit dry and wet states; give blocks instead where the record does not support two."""
    totals = log_totals(slices.totals_ml)
    try:
        fitted = fit(totals)
    except ArithmeticError:
        because = Because("fit_led_nowhere" if has_spread(totals) else "years_alike")
        return Fallback(blocks, asked="regimes", because=because)
    refused = why_not(fitted)
    if refused is not None:
        return Fallback(blocks, asked="regimes", because=refused)
    return Regimes.of(fitted, slices, opening_row, drawing.opening_dry_chance)


def asked_block_years(slices: Slices, kind: Kind) -> float:
    """Return the block length that the slices ask for; whole years for blocks of a fixed length."""
    asked = optimal_block_years(slices.totals_ml)
    if kind == "stationary":
        return max(1.0, asked.stationary)
    return float(max(1, round(asked.circular)))


def draw_batch(
    method: Method,
    slices: Slices,
    calendar: Calendar,
    *,
    count: int,
    seed: int,
    batch: int,
    viewed: Viewed | None = None,
) -> Sequences:
    """Draw one batch, by its number, whatever was drawn before.

    Parameters
    ----------
    method, slices
        How, and from what.
    calendar
        Months and seasons of the run.
    count
        How many in all batches; a method without randomness gives its own number.
    seed
        The plan's seed.
    batch
        Its number, from 0.
    viewed
        The user's own view, where there is one.
    """
    left = sequence_count(method, slices, count, viewed) - BATCH_SEQUENCES * batch
    rng, own = generator(seed, Stream.SEQUENCES, batch), min(BATCH_SEQUENCES, left)
    if viewed is None:
        return draw_sequences(method, slices, calendar, own, rng=rng)
    pool = draw_sequences(method, slices, calendar, POOL_SEQUENCES, rng=rng)
    return viewed.taken(pool, own)


def draw_sequences(
    method: Method, slices: Slices, calendar: Calendar, count: int, *, rng: np.random.Generator
) -> Sequences:
    """Draw sequences by a method: slices laid end to end, and their factors.

    A longer draw from the same numbers begins with the shorter one.
    """
    drawn = method.draw(slices, calendar.seasons, count, rng=rng)
    noise = method.noise(len(drawn), rng=rng)
    factors = method.factors(slices, drawn, calendar.months, noise)
    return Sequences(rows_of(slices, drawn, calendar.months), factors)


def draw_resampled(
    method: Method,
    slices: Slices,
    calendar: Calendar,
    orders: IntArray,
    count: int,
    rngs: Sequence[np.random.Generator],
) -> Sequences:
    """Draw from resampled records, the method fitted to each; all their sequences end to end.

    Parameters
    ----------
    method, slices, calendar
        As fitted to the record; its slices in the order of time; months and seasons of the run.
    orders
        (resample, slice) which slices each resampled record is made of.
    count
        Sequences drawn from each.
    rngs
        Of each resampled record.

    Returns
    -------
    Sequences
        As many of each record, and each record's the same as if it were drawn from alone.
    """
    drawn, noise = [], []
    for order, rng in zip(orders, rngs, strict=True):
        of_record = method.draw(slices.picked(order), calendar.seasons, count, rng=rng)
        drawn.append(order[of_record])
        noise.append(method.noise(len(of_record), rng=rng))
    numbers, known = np.concatenate(drawn), [each for each in noise if each is not None]
    factors = method.refitted(slices, orders).factors(
        slices, numbers, calendar.months, np.concatenate(known) if known else None
    )
    return Sequences(rows_of(slices, numbers, calendar.months), factors)


def sequence_count(method: Method, slices: Slices, count: int, viewed: Viewed | None) -> int:
    """Return how many sequences there are; of a view as many as are asked for."""
    return method.count(slices, count) if viewed is None else count


def batch_count(sequences: int) -> int:
    """Return in how many batches so many sequences are drawn."""
    return -(-sequences // BATCH_SEQUENCES)


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
