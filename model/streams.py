"""Which random numbers does each purpose use?

One whole number, the seed, starts everything. Each purpose has a stream of its own under it, named
here: adding a purpose does not move the numbers of the others. Long draws are made in batches of a
fixed size, each with its own child stream, so one core and many draw the same numbers.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np


class Stream(IntEnum):
    """The purposes that draw random numbers. Numbers are never used again for another purpose."""

    SEQUENCES = 1
    RECORD_RESAMPLES = 2
    TRAINING = 3  # sequences on which expectations are fitted, never played
    YEARS_MET = 4  # full yields and prices, where the plan states how they vary
    BOOK_RESAMPLES = 5  # runs taken again for the range of many farms
    BOOK_INDEPENDENT = 6  # valleys that share no weather, put side by side
    REGIME_FIT = 11
    HINDCAST = 12
    DIAGNOSIS = 13
    SCORE_RESAMPLES = 20


def generator(seed: int, stream: Stream, *batch: int) -> np.random.Generator:
    """Open the random numbers of one purpose.

    Parameters
    ----------
    seed
        The plan's seed.
    stream
        The purpose.
    batch
        Which child of the stream, where it is drawn in batches.
    """
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(int(stream), *batch)))
