"""Which of many sequences are the same, so that each different one is run once?

Drawn in runs of observed years, most sequences of a few seasons come more than once: the valley
does to all of them what it does to one. Of those that differ, most begin alike: they are one until
they part. Nothing is lost or rounded; results are laid out again in the order of the sequences.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.sequences.slices import IntArray, Sequences
from model.sequences.years import KINDS, YearsDrawn
from model.water_year import MONTHS_IN_YEAR

AT_ONCE: Final = 20_000
"""Different sequences run in one batch: most part late, so most arrays are short (measured)."""

NEARLY_ALL: Final = 0.9
"""Where more of them have parted, all are run as if they had."""


@dataclass(frozen=True, slots=True)
class UniqueSequences:
    """The different ones of some sequences."""

    sequences: Sequences  # the different ones; those that begin alike, together
    places: IntArray  # (sequence,) which of them each sequence is
    kinds: IntArray | None = None  # (different sequence,) of the years met; None: nothing varies

    @property
    def rows(self) -> IntArray:
        """(different sequence, month) rows of the record."""
        return self.sequences.rows

    def meeting(self, years: YearsDrawn | None) -> UniqueSequences:
        """Return the different ones with the years they meet; those of a kind stay together."""
        if years is None:
            return self
        starts = self.rows[:, ::MONTHS_IN_YEAR]
        kinds = years.kinds(starts[self.places])
        met, places = np.unique(self.places * KINDS + kinds, return_inverse=True)
        which, kinds = np.divmod(met, KINDS)
        starts = starts[which]
        order = np.lexsort([*starts[:, :0:-1].T, kinds, starts[:, 0]])
        place = np.empty_like(order)
        place[order] = np.arange(order.size)
        return UniqueSequences(self.sequences[which[order]], place[places], kinds[order])

    def batches(self) -> tuple[tuple[Leg, ...], ...]:
        """Return the different ones as legs, AT_ONCE at once."""
        firsts = range(0, len(self.sequences), AT_ONCE)
        return tuple(
            legs_of(
                self.sequences[first : first + AT_ONCE],
                None if self.kinds is None else self.kinds[first : first + AT_ONCE],
            )
            for first in firsts
        )


@dataclass(frozen=True, slots=True)
class Leg:
    """The months of one slice, of sequences that are one for as long as they began alike."""

    rows: IntArray  # (sequence so far, month) rows of the record
    parents: IntArray | None  # (sequence so far,) which of the leg before; None: its own place's
    kinds: IntArray | None = None  # (sequence so far,) of the years met
    factors: FloatArray | None = None  # (sequence so far, month) on flow; None: all 1


def unique_sequences(sequences: Sequences | IntArray) -> UniqueSequences:
    """Find the different ones of sequences that are made of twelve-month slices.

    Sequences are the same where both rows and factors are.

    Parameters
    ----------
    sequences
        What may come; bare rows, (sequence, month), as they were observed.

    Examples
    --------
    >>> found = unique_sequences(np.array([[3, 4], [0, 1], [3, 4]]))
    >>> found.rows.tolist(), found.places.tolist()
    ([[0, 1], [3, 4]], [1, 0, 1])
    """
    sequences = Sequences.of(sequences)
    starts = sequences.rows[:, ::MONTHS_IN_YEAR].T
    numbered = np.ravel_multi_index(tuple(starts), (int(sequences.rows.max()) + 1,) * len(starts))
    if sequences.factors is None:
        _, first, places = np.unique(numbered, return_index=True, return_inverse=True)
        return UniqueSequences(sequences[first], places)
    return _unique_with_factors(sequences, numbered, sequences.factors)


def _unique_with_factors(
    sequences: Sequences, numbered: IntArray, factors: FloatArray
) -> UniqueSequences:
    """Find the different ones by the number of their slices and by the factors of each month."""
    by_month = factors.T
    changes = [t for t in range(len(by_month)) if not t or (by_month[t] != by_month[t - 1]).any()]
    if np.unique(by_month[changes].sum(axis=0)).size == len(sequences):
        return UniqueSequences(sequences, np.arange(len(sequences)))  # each moved by its own
    keys = [numbered, *by_month[changes]]
    order = np.lexsort(keys[::-1])
    differs = np.ones(len(order), dtype=np.bool_)
    differs[1:] = np.any([key[order[1:]] != key[order[:-1]] for key in keys], axis=0)
    places = np.empty(len(order), dtype=np.intp)
    places[order] = np.cumsum(differs) - 1
    return UniqueSequences(sequences[order[differs]], places)


def legs_of(sequences: Sequences | IntArray, kinds: IntArray | None = None) -> tuple[Leg, ...]:
    """Cut sequences that are made of twelve-month slices where their slices end.

    Sequences side by side that begin alike are one until they part; in the last leg each stands in
    its own place. In the first leg all go on from one parent, the opening.

    Parameters
    ----------
    sequences
        Each sequence once, as `unique_sequences` gives them.
    kinds
        (sequence,) of the years they meet: sequences of different kinds are never one.

    Examples
    --------
    >>> first, second = legs_of(np.repeat([[0, 1], [0, 5], [4, 1]], 12, axis=1))
    >>> first.rows[:, 0].tolist(), second.rows[:, 0].tolist(), second.parents.tolist()
    ([0, 4], [1, 5, 1], [0, 0, 1])
    """
    sequences = Sequences.of(sequences)
    rows, factors = sequences.rows, sequences.factors
    parted = np.zeros(len(rows), dtype=np.bool_)
    parted[:1] = True
    if kinds is not None:
        parted[1:] = kinds[1:] != kinds[:-1]
    before = np.zeros(len(rows), dtype=np.intp)
    legs: list[Leg] = []
    were_alone = False
    for t in range(0, rows.shape[1], MONTHS_IN_YEAR):
        own = slice(t, t + MONTHS_IN_YEAR)
        parted[1:] |= rows[1:, t] != rows[:-1, t]
        if factors is not None:
            parted[1:] |= np.any(factors[1:, own] != factors[:-1, own], axis=1)
        if np.count_nonzero(parted) > NEARLY_ALL * parted.size:
            parted[:] = True  # picking out the others takes longer than running them
        alone = bool(parted.all())
        firsts = slice(None) if alone else np.flatnonzero(parted)
        leg_rows = np.asfortranarray(rows[firsts, own])
        moved = None if factors is None else np.asfortranarray(factors[firsts, own])
        of_kinds = None if kinds is None else kinds[firsts]
        parents = None if legs and alone and were_alone else before[firsts]
        legs.append(Leg(leg_rows, parents, of_kinds, moved))
        were_alone = alone
        before = np.cumsum(parted) - 1
    return tuple(legs)


def laid_out(
    months: Sequence[NDArray[Any]],
    parents: Sequence[IntArray | None],
    places: IntArray | None = None,
) -> list[NDArray[Any]]:
    """Follow sequences that are one until they part back through their months.

    Parameters
    ----------
    months
        (sequence so far,) amounts of each month.
    parents
        (sequence so far,) which of the month before each goes on from; None: its own place's.
    places
        (sequence,) which of the last month's sequences are wanted; all if left out.

    Returns
    -------
    list
        (sequence,) the amounts of each month.

    Examples
    --------
    >>> months, parents = [np.array([7]), np.array([1, 2])], [None, np.zeros(2, int)]
    >>> [each.tolist() for each in laid_out(months, parents)]
    [[7, 7], [1, 2]]
    """
    laid = []
    places = np.arange(months[-1].shape[-1]) if places is None else places
    for amounts, grew_from in zip(reversed(months), reversed(parents), strict=True):
        laid.append(amounts.take(places, axis=-1))
        places = forebears([grew_from], places)
    return laid[::-1]


def forebears(parents: Sequence[IntArray | None], places: IntArray) -> IntArray:
    """Return the places that sequences came from, before the months of these parents.

    Examples
    --------
    >>> forebears([np.array([0, 0, 1]), None], np.array([2, 1])).tolist()
    [1, 0]
    """
    for grew_from in reversed(parents):
        if grew_from is not None:
            places = grew_from[places]
    return places
