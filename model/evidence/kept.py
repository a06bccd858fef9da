"""Where is what was tried kept, so that a trial goes on where it was stopped?

A stand's scores are a small file, written whole, in a folder named by a hash of all that they hang
on: the valley and its rules, how sequences are drawn, where the replay opens, the record, the
number of draws, the seed and the release. A trial that is stopped loses at most one stand; a trial
of the same plan and record again is read. Nothing is kept where no folder is given.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from model.evidence.fingerprint import rules_fingerprint
from model.evidence.stand import StandScored
from model.files import plain, read_plain, write_whole
from model.plan.plan import Plan
from model.record.record import Record


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept of one trial."""

    folder: Path

    @classmethod
    def of(cls, folder: Path, plan: Plan, record: Record, draws_each: int) -> Kept:
        """Return the place of a trial inside the folder of all trials."""
        return cls(folder / trial_sha256(plan, record, draws_each)[:32])

    def read(self, method: str, year: int) -> StandScored | None:
        """Return what a method scored at a stand; None where it is not kept, or not whole."""
        try:
            document = json.loads(self._path(method, year).read_bytes())
            scored: StandScored = read_plain(StandScored, document)
        except (OSError, ValueError):
            return None
        return scored

    def write(self, method: str, year: int, scored: StandScored) -> None:
        """Keep what a method scored at a stand."""
        self.folder.mkdir(parents=True, exist_ok=True)
        write_whole(self._path(method, year), json.dumps(plain(scored), allow_nan=False))

    def _path(self, method: str, year: int) -> Path:
        return self.folder / f"{method}-{year:03d}.json"


def trial_sha256(plan: Plan, record: Record, draws_each: int) -> str:
    """Return the SHA-256 of all that a trial's scores hang on; not of the method that is in use."""
    any_method = plan.with_drawing(method="historical")
    parts = (
        rules_fingerprint(any_method),
        any_method.opening.model_dump_json(exclude={"sources"}),
        record.sha256,
        str(record.first_month),
        str(draws_each),
        str(plan.sequences.seed),
        version("seasons-in-hand"),
    )
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()
