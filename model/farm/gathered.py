"""What has a season brought so far, while sequences that are one until they part go on?

A season that is over stays as it is, in as many sequences as there were when it ended: only where
each later one came from is kept, and amounts are laid out when they are asked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from model.outlook.lazy import LazyResults
from model.record.record import FloatArray
from model.sequences.slices import IntArray


class GatheredSeason:
    """What one season has brought so far, by name, each (..., sequence so far)."""

    def __init__(self) -> None:
        self.values: dict[str, FloatArray] = {}
        self._own: set[str] = set()  # sums, which nobody else holds and which grow in place
        self._places: IntArray | None = None  # (sequence,) where each came from since it was over

    def add(self, name: str, value: FloatArray) -> None:
        """Add to an amount, 0 before."""
        before = self.values.get(name)
        if before is None:
            self.values[name] = value
        elif name in self._own and np.broadcast_shapes(before.shape, value.shape) == before.shape:
            np.add(before, value, out=before)
        else:
            self.values[name] = before + value
            self._own.add(name)

    def note(self, name: str, value: FloatArray) -> None:
        """Note an amount as it stands, in place of what was noted before."""
        self.values[name] = value
        self._own.discard(name)

    def part(self, parents: IntArray) -> None:
        """Go on in the sequences that part, while the season still gathers."""
        self.values = {name: _of(value, parents) for name, value in self.values.items()}

    def over_and_part(self, parents: IntArray) -> None:
        """Note where the sequences that part came from, once the season is over."""
        self._places = parents if self._places is None else self._places[parents]

    def lay_out(self, name: str, blank: float, out: FloatArray) -> None:
        """Fill in an amount, (..., sequence), with a blank where none was gathered."""
        if name not in self.values:
            out[...] = blank
        elif self._places is None:
            out[...] = self.values[name]
        else:
            out[...] = _of(self.values[name], self._places)


def _of(value: FloatArray, places: IntArray) -> FloatArray:
    """Return the sequences at some places; what is the same in all of them stays one."""
    return value if value.shape[-1] == 1 else value.take(places, axis=-1)


def laid_out(
    seasons: Sequence[GatheredSeason], blanks: Mapping[str, float], shape: tuple[int, int]
) -> LazyResults[str, FloatArray]:
    """Return amounts by name, (strategy, sequence, season), each laid out when it is asked for.

    Parameters
    ----------
    seasons
        In their order.
    blanks
        Of each name, what stands where nothing was gathered.
    shape
        Strategies and sequences.
    """

    def of(name: str) -> FloatArray:
        by_season = np.empty((len(seasons), *shape))
        for season, out in zip(seasons, by_season, strict=True):
            season.lay_out(name, blanks[name], out)
        return np.moveaxis(by_season, 0, -1)

    return LazyResults(blanks, of)
