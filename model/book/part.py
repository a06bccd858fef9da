"""What becomes of some farms of a valley, played one after the other, and how is it kept?

A part is some farms' rows, their faults, and their sums. It is the piece of work that is handed
out, and the piece that is kept on disk, so that a book that was stopped goes on with the farms that
are left. A part depends on what it is made from alone: not on who made it, when, or beside whom.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Final, Self

import numpy as np

from model.book.drawn import PlayedValley, play_valley
from model.book.farm import OWED, FarmPlayed, Row, play_farm
from model.book.folder import FileFault, Valley, faults_of, hash_of
from model.errors import Fault
from model.files import plain
from model.plan.text import parse_plan
from model.record.record import FloatArray
from model.sequences.slices import Sequences

FARMS_EACH: Final = 20
"""Farms of a part: some seconds of work, so little is lost when it is stopped."""

FIRST_OF_EACH: Final = None
"""In place of a strategy's name: each farm under the first strategy of its plan."""

Pools = tuple[str | None, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Shared:
    """What all parts of a valley share."""

    valley: Valley
    sequences: Sequences | None  # drawn for many valleys; None: the valley's own
    pools: Pools  # names of strategies that every farm has; FIRST_OF_EACH

    @property
    def key(self) -> str:
        """A hash of what it is made from."""
        rows = b"" if self.sequences is None else self.sequences.rows.tobytes()
        drawing = self.valley.plan.sequences.model_dump_json()
        pools, varies = json.dumps(self.pools), str(self.valley.varies)
        return hash_of([version("seasons-in-hand"), self.valley.key, drawing, varies, pools, rows])


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """Some farms to play."""

    shared: Shared
    shared_key: str
    key: str  # a hash of what the part is made from
    plans: tuple[tuple[str, bytes], ...]  # path inside the folder, and the plan's text


@dataclass(frozen=True, slots=True)
class Part:
    """Some farms, played."""

    rows: tuple[Row, ...]  # by farm and strategy
    faults: tuple[FileFault, ...]
    farms: int  # that were played
    sums: Mapping[str, FloatArray]  # (pool, season, different sequence) over these farms
    owed_aud: FloatArray  # (row, different sequence) beyond the terms as the run ends

    def to_bytes(self) -> bytes:
        """Return the part as a file holds it."""
        said = {"rows": self.rows, "faults": [plain(f) for f in self.faults], "farms": self.farms}
        file = io.BytesIO()
        arrays = {**self.sums, "said": np.array(json.dumps(said)), "owed_aud": self.owed_aud}
        np.savez_compressed(file, allow_pickle=False, **arrays)
        return file.getvalue()

    @classmethod
    def from_bytes(cls, data: bytes) -> Self:
        """Return the part that a file holds.

        Raises
        ------
        ValueError
            It holds none.
        """
        try:
            with np.load(io.BytesIO(data)) as kept:
                arrays = {name: kept[name] for name in kept.files}
            said = json.loads(str(arrays.pop("said")))
            return cls(
                rows=tuple(said["rows"]),
                faults=tuple(FileFault(f["file"], Fault(**f["fault"])) for f in said["faults"]),
                farms=said["farms"],
                owed_aud=arrays.pop("owed_aud"),
                sums=arrays,
            )
        except Exception as error:  # a file of another kind fails in as many ways
            raise ValueError("not a part of a book") from error


def play_task(task: Task) -> bytes:
    """Play some farms; the part that a file holds. A fault of one farm never stops the others."""
    valley = _played(_Keyed(task.shared_key, task.shared))
    faults: list[FileFault] = []
    played: list[FarmPlayed] = []
    for file, data in task.plans:
        try:
            plan = task.shared.valley.plan_of(parse_plan(data, Path(file).name))
            played.append(play_farm(valley, plan, file))
        except Exception as error:
            faults += faults_of(file, error)
    return part_of(played, faults, task.shared.pools, valley.different).to_bytes()


def part_of(
    played: Sequence[FarmPlayed], faults: Sequence[FileFault], pools: Pools, different: int
) -> Part:
    """Add up farms that were played."""
    sums: dict[str, FloatArray] = {}
    for farm in played:
        places = [place_in(pool, farm.rows) for pool in pools]
        for name, values in farm.sums.items():
            sums[name] = sums.get(name, 0.0) + values[places]
    owed_aud = [farm.sums[OWED][:, -1] for farm in played]
    return Part(
        rows=tuple(row for farm in played for row in farm.rows),
        faults=tuple(faults),
        farms=len(played),
        sums=sums,
        owed_aud=np.concatenate(owed_aud) if owed_aud else np.zeros((0, different)),
    )


def place_in(pool: str | None, rows: Sequence[Row]) -> int:
    """Return which of a farm's strategies takes part in a pool."""
    names = [row["strategy"] for row in rows]
    return 0 if pool is FIRST_OF_EACH else names.index(pool)


class _Keyed:
    """What a worker plays a valley from, known by its key."""

    def __init__(self, key: str, shared: Shared) -> None:
        self.key, self.shared = key, shared

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Keyed) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)


@lru_cache(maxsize=1)
def _played(of: _Keyed) -> PlayedValley:
    """Run a valley once in each process that plays farms on it."""
    return play_valley(of.shared.valley, of.shared.sequences)
