"""How is the record cut into pieces that sequences are made of, and put together again?

A slice is twelve consecutive observed months that begin in the calendar month in which the run
opens, so that a season of the run is made of months that did follow one another. A sequence is a
list of row numbers of the record: flow, rain and evaporation of a month stay together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray, Record
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

IntArray = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Slices:
    """The slices of a record, in the order of time (or resampled from it)."""

    first_rows: IntArray  # (slices,) row of the record at which each begins
    totals_ml: FloatArray  # (slices,) inflow of its twelve months

    @property
    def count(self) -> int:
        """How many slices there are."""
        return self.first_rows.size

    def picked(self, order: IntArray) -> Slices:
        """Return the slices in another order, or some of them more than once."""
        return Slices(self.first_rows[order], self.totals_ml[order])


@dataclass(frozen=True, slots=True)
class Sequences:
    """Possible runs of seasons: observed months, and a factor on the flow of each."""

    rows: IntArray  # (sequence, month) row numbers of the record
    factors: FloatArray | None = None  # (sequence, month) on inflow and tributary; None: all 1

    @classmethod
    def of(cls, sequences: Self | IntArray) -> Self:
        """Return sequences; bare rows of the record come as they were observed."""
        return sequences if isinstance(sequences, cls) else cls(np.asarray(sequences))

    @classmethod
    def joined(cls, parts: Iterable[Self | IntArray]) -> Self:
        """Join sequences of the same months, one part after the other."""
        whole = [cls.of(part) for part in parts]
        rows = np.concatenate([part.rows for part in whole])
        if all(part.factors is None for part in whole):
            return cls(rows)
        factors = [np.ones(p.rows.shape) if p.factors is None else p.factors for p in whole]
        return cls(rows, np.concatenate(factors))

    def __len__(self) -> int:
        """Return how many sequences there are."""
        return len(self.rows)

    def __getitem__(self, of: slice | IntArray) -> Self:
        """Return some of the sequences."""
        return type(self)(self.rows[of], None if self.factors is None else self.factors[of])


class Method(Protocol):
    """A way of drawing sequences of slices."""

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Draw slice numbers, (sequence, season)."""
        ...

    def settings(self) -> dict[str, str | float]:
        """Return the method's name and settings, as an output prints them."""
        ...

    def count(self, slices: Slices, asked: int) -> int:
        """Return how many sequences it draws when so many are asked for."""
        return asked

    def noise(self, count: int, *, rng: np.random.Generator) -> FloatArray | None:
        """Draw what `factors` needs of chance for so many sequences; the first axis is theirs.

        It comes from a child of the stream, so that it moves no number of `draw`. None: nothing.
        """
        return None

    def factors(
        self, slices: Slices, drawn: IntArray, months: int, noise: FloatArray | None
    ) -> FloatArray | None:
        """Return the factor on the flow of each month, (sequence, month); None: as observed.

        Parameters
        ----------
        slices, drawn
            What was drawn from, and the numbers that `draw` gave.
        months
            How many months the run has.
        noise
            What `noise` drew for these sequences.
        """
        return None

    def refitted(self, slices: Slices, orders: IntArray) -> Method:
        """Return the method as fitted to resampled records, all at once.

        Its `factors` take the sequences of all those records, as many of each, one after the other.

        Parameters
        ----------
        slices
            Those of the record, in the order of time.
        orders
            (resample, slice) which of them each resampled record is made of.
        """
        return self


def cut(record: Record, opening_month: int) -> Slices:
    """Cut a record into slices that begin in the calendar month of `opening_month`."""
    first_rows = record.slice_starts(opening_month)
    rows = first_rows[:, None] + np.arange(MONTHS_IN_YEAR)
    return Slices(first_rows.astype(np.intp), record.inflow_ml[rows].sum(axis=1))


def months_of_run(opening_month: int, seasons: int) -> int:
    """Count the months of a run: what is left of the opening water year, then whole ones.

    Examples
    --------
    >>> from model.water_year import parse_month
    >>> months_of_run(parse_month("2025-09"), 3)
    34
    """
    return MONTHS_IN_YEAR * seasons - month_of_water_year(opening_month)


def rows_of(slices: Slices, drawn: IntArray, months: int) -> IntArray:
    """Join drawn slices end to end.

    Parameters
    ----------
    slices
        The slices drawn from.
    drawn
        (sequence, season) slice numbers.
    months
        How many months the run has; the last slice is cut short to fit.

    Returns
    -------
    ndarray
        (sequence, month) row numbers of the record.
    """
    first_rows = np.ascontiguousarray(slices.first_rows[drawn].T)
    rows = np.empty((months, drawn.shape[0]), dtype=np.intp)
    for t in range(months):
        np.add(first_rows[t // MONTHS_IN_YEAR], t % MONTHS_IN_YEAR, out=rows[t])
    return rows.T
