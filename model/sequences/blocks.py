"""What may come, if runs of observed years come again in another order?

Slices are drawn in blocks, so that dry runs as long as a block stay whole. Four kinds:

- `independent`: single slices, each as likely as any other. Keeps no dry runs.
- `circular`: blocks of a fixed length from any slice, the record closed to a circle.
- `moving`: blocks of a fixed length that lie wholly in the record; its ends come up less often.
- `stationary`: from each slice to the next the record goes on with chance `1 - 1/block_years`, else
  begins anew anywhere on the circle: lengths are geometric with that mean.

References
----------
Künsch 1989 (Ann. Statist. 17:1217); Politis and Romano 1992 (circular) and 1994 (stationary,
J. Am. Stat. Assoc. 89:1303). Titles from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from model.errors import Fault, PlanError
from model.sequences.slices import IntArray, Method, Slices

Kind = Literal["independent", "circular", "moving", "stationary"]


@dataclass(frozen=True, slots=True)
class Blocks(Method):
    """Blocks of slices of one kind; `block_years` is their length, or their mean length."""

    kind: Kind
    block_years: float

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Draw slice numbers, (sequence, season).

        A longer draw from the same numbers begins with the shorter one.

        Raises
        ------
        PlanError
            Blocks that may not wrap are longer than the record.
        """
        anywhere, goes_on = np.moveaxis(rng.random((count, seasons, 2)), 2, 0)
        season = np.arange(seasons)
        if self.kind == "stationary":
            begins = goes_on * self.block_years < 1.0
            begins[:, 0] = True
        else:
            length = 1 if self.kind == "independent" else int(self.block_years)
            begins = np.broadcast_to(season % length == 0, (count, seasons))
        starts = (anywhere * self._starts_allowed(slices, seasons)).astype(np.intp)
        began = np.maximum.accumulate(np.where(begins, season, 0), axis=1)
        start = np.take_along_axis(starts, began, axis=1)
        return (start + season - began) % slices.count

    def settings(self) -> dict[str, str | float]:
        """Return the method's name, kind and length of block."""
        length = 1.0 if self.kind == "independent" else self.block_years
        return {"method": "blocks", "kind": self.kind, "block_years": length}

    def _starts_allowed(self, slices: Slices, seasons: int) -> int:
        """Count the slices a block may begin at; of a long one only the seasons are used."""
        if self.kind != "moving":
            return slices.count
        if self.block_years > slices.count:
            fault = Fault(
                "sequences.block_years",
                f"{self.block_years:g}",
                "a moving block is longer than the record",
                f"{slices.count} or less",
            )
            raise PlanError("plan", [fault])
        return slices.count - min(int(self.block_years), seasons) + 1
