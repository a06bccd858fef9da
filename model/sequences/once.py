"""Which of many sequences are the same, so that each different one is run once?

Drawn in runs of observed years, most sequences of a few seasons come more than once: the valley
does to all of them what it does to one. Nothing is lost or rounded; results are laid out again in
the order of the sequences.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.sequences.slices import IntArray
from model.water_year import MONTHS_IN_YEAR


@dataclass(frozen=True, slots=True)
class Once:
    """The different ones of some sequences."""

    rows: IntArray  # (different sequence, month) rows of the record
    places: IntArray  # (sequence,) which of them each sequence is


def once(rows: IntArray) -> Once:
    """Find the different ones of sequences that are made of twelve-month slices.

    Parameters
    ----------
    rows
        (sequence, month) rows of the record.

    Examples
    --------
    >>> found = once(np.array([[3, 4], [0, 1], [3, 4]]))
    >>> found.rows.tolist(), found.places.tolist()
    ([[0, 1], [3, 4]], [1, 0, 1])
    """
    starts = rows[:, ::MONTHS_IN_YEAR].T
    numbered = np.ravel_multi_index(tuple(starts), (int(rows.max()) + 1,) * len(starts))
    _, first, places = np.unique(numbered, return_index=True, return_inverse=True)
    return Once(rows[first], places)
