"""Which years of yield and price does a sequence of months meet?

Where a plan states how full yield and price vary, a year of each is drawn for every year of a run,
from a stream of its own, the same for every strategy. The draws belong to the sequence and to how
often it was drawn before: the first sequences of a plan meet the same years however many are drawn.
Sequences that begin alike, and those that are the same, are of several KINDS, each with a draw of
its own; within a start of the record the kinds are spread evenly over what may be drawn (a Latin
square: McKay, Beckman and Conover 1979, Technometrics 21:239, from memory), so that few draws stand
for many.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np

from model.plan.plan import Plan
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.streams import Stream, generator
from model.water_year import MONTHS_IN_YEAR

KINDS: Final = 16
"""A slice of the record that opens a hundred sequences is met with so many different years."""

DRAWN_ALIKE: Final = 4
"""So many sequences of the same slices meet the same years: each further kind is one to be run.
Of the demonstration's 35,000 sequences 19,000 differ then (17,000 if all met the same), and the
years met from one start of the record are as many as 13 that come equally often (not 3)."""


@dataclass(frozen=True, slots=True)
class YearsDrawn:
    """The years that sequences meet, for each slice of a run and each start in the record."""

    mix: IntArray  # (slice, start) sums to a kind
    even: FloatArray  # (crop, 2, slice, start, kind)

    @classmethod
    def of(cls, crops: int, slices: int, record_months: int, rng: np.random.Generator) -> Self:
        """Draw the years.

        Parameters
        ----------
        crops, slices
            How many vary; slices of twelve months in a run.
        record_months
            Of the record: slices start twelve months apart in it.
        rng
            Of the stream for this purpose.
        """
        starts = -(-record_months // MONTHS_IN_YEAR)
        mix = rng.integers(0, KINDS, (slices, starts))
        shape = (crops, 2, slices, starts, KINDS)
        stratum = rng.permuted(np.broadcast_to(np.arange(KINDS), shape), axis=-1)
        return cls(mix, (stratum + rng.random(shape)) / KINDS)

    def kinds(self, starts: IntArray) -> IntArray:
        """Return the kind of each sequence, (sequence,).

        By its slices, and one further whenever the same slices have come DRAWN_ALIKE times more:
        what is drawn most often is met with the most different years.

        Parameters
        ----------
        starts
            (sequence, slice) record rows at which the slices start, in the order drawn: sequences
            drawn after these change nothing.
        """
        number = starts // MONTHS_IN_YEAR
        of_slice = (self.mix[at, number[:, at]] for at in range(number.shape[1]))
        return np.asarray(sum(of_slice) + turns(number) // DRAWN_ALIKE) % KINDS

    def met(self, crop: int, at: int, starts: IntArray, kinds: IntArray) -> FloatArray:
        """Return the even numbers of one crop in one slice, (2, sequence)."""
        return self.even[crop, :, at, starts // MONTHS_IN_YEAR, kinds].T


def turns(rows: IntArray) -> IntArray:
    """Count, for each row, how many equal ones come before it.

    Examples
    --------
    >>> turns(np.array([[1, 2], [3, 4], [1, 2], [1, 2]])).tolist()
    [0, 0, 1, 2]
    """
    numbered = np.ravel_multi_index(tuple(rows.T), (int(rows.max()) + 1,) * rows.shape[1])
    order = np.argsort(numbered, kind="stable")
    differs = np.ones(order.size, dtype=np.bool_)
    differs[1:] = numbered[order[1:]] != numbered[order[:-1]]
    at = np.arange(order.size)
    counted = np.empty_like(order)
    counted[order] = at - np.maximum.accumulate(np.where(differs, at, 0))
    return counted


def years_of(plan: Plan, record_months: int, slices: int) -> YearsDrawn | None:
    """Draw the years that a plan's sequences meet; None where nothing varies.

    Parameters
    ----------
    plan
        Its farm states which crops vary; its seed draws.
    record_months, slices
        Of the record, and of twelve months in a run.
    """
    if plan.farm is None or not plan.farm.risk:
        return None
    rng = generator(plan.sequences.seed, Stream.YEARS_MET)
    return YearsDrawn.of(len(plan.farm.crops), slices, record_months, rng)
