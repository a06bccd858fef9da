"""What full yield and price does a year bring, where the plan states how they vary?

Either the user's own past years, one drawn whole for each year of a run, so that a year's yield and
price stay together; or the values reached 90, 50 and 10 times in 100, yield and price each by
itself. Between and beyond those three a value runs straight with the normal score, never below 0.
A decision sees only the plan's own figures: what is drawn is met at harvest.

The draws come from a stream of their own and are the same for every strategy. They belong to the
sequence: wherever a sequence of months is played, the same years are met in it. Sequences that are
one for as long as they begin alike part at harvest into KINDS, each with a draw of its own; within
a start of the record the kinds are spread evenly over what may be drawn (a Latin square, McKay,
Beckman and Conover 1979, title from memory), so that few draws stand for many.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from scipy.special import ndtri

from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.water_year import MONTHS_IN_YEAR

KINDS: Final = 16
"""A slice of the record that opens a hundred sequences is met with so many different years."""

TENTH_SCORE: Final = 1.2815515655446004
"""The normal score passed 10 times in 100."""


@dataclass(frozen=True, slots=True)
class Varying:
    """How one crop's full yield and price vary, as factors on the plan's own figures."""

    past: FloatArray | None  # (year, 2) yield and price of own past years
    yield_10_50_90: FloatArray | None  # (3,)
    price_10_50_90: FloatArray | None  # (3,)

    def factors(self, even: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the factors on full yield and price, each (sequence,).

        Parameters
        ----------
        even
            (2, sequence) numbers drawn evenly between 0 and 1, for yield and for price.
        """
        if self.past is not None:
            year = np.minimum((even[0] * len(self.past)).astype(np.intp), len(self.past) - 1)
            return self.past[year, 0], self.past[year, 1]
        return _of_three(self.yield_10_50_90, even[0]), _of_three(self.price_10_50_90, even[1])


def _of_three(low_middle_high: FloatArray | None, even: FloatArray) -> FloatArray:
    """Return the value at an even draw, of a variable reached 90, 50 and 10 times in 100."""
    if low_middle_high is None:
        return np.ones_like(even)
    low, middle, high = low_middle_high
    score = ndtri(even) / TENTH_SCORE
    value = middle + np.where(score > 0.0, (high - middle) * score, (middle - low) * score)
    factor: FloatArray = np.maximum(0.0, value)
    return factor


@dataclass(frozen=True, slots=True)
class YearsDrawn:
    """The years that sequences meet, for each slice of a run and each start in the record."""

    mix: IntArray  # (slice, slice, start) sums to a kind
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
        mix = rng.integers(0, KINDS, (slices, slices, starts))
        shape = (crops, 2, slices, starts, KINDS)
        stratum = rng.permuted(np.broadcast_to(np.arange(KINDS), shape), axis=-1)
        return cls(mix, (stratum + rng.random(shape)) / KINDS)

    def kinds(self, starts: IntArray) -> IntArray:
        """Return the kind of each slice of each sequence, (sequence, slice).

        Parameters
        ----------
        starts
            (sequence, slice) record rows at which the slices start.
        """
        number = starts // MONTHS_IN_YEAR
        slices = np.arange(number.shape[1])
        of_slice = [self.mix[slices, at, number[:, [at]]] for at in slices]
        return np.asarray(sum(of_slice)) % KINDS

    def met(self, crop: int, at: int, starts: IntArray, kinds: IntArray) -> FloatArray:
        """Return the even numbers of one crop in one slice, (2, sequence)."""
        return self.even[crop, :, at, starts // MONTHS_IN_YEAR, kinds].T
