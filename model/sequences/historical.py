"""What came next, each time that the record was at this time of the year?

Every slice in turn is taken as a start and followed by the slices that did follow it; at the end
the record goes on from its beginning. Known as the index-sequential method. Nothing is drawn at
random. The sequences overlap, so their count is no sample size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.sequences.slices import IntArray, Method, Slices


@dataclass(frozen=True, slots=True)
class Historical(Method):
    """Every observed start in turn."""

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Return the slice numbers, (slice, season); `count` and `rng` are not used."""
        starts = np.arange(slices.count)
        return (starts[:, None] + np.arange(seasons)) % slices.count

    def count(self, slices: Slices, asked: int) -> int:
        """Return the number of slices, whatever is asked for."""
        return slices.count

    def settings(self) -> dict[str, str | float]:
        """Return the method's name."""
        return {"method": "historical"}
