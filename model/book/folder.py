"""Which farm plans does a folder hold, and which of them share a valley?

Plans share a valley where the record's numbers, the valley's rules, its state today, the drawing
and the seasons of the run are the same: then one run of the valley serves them all. A plan that
cannot be read is listed with its faults and never stops the others.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from pathlib import Path
from typing import Final

from model.book.cores import in_order
from model.decide.strategy import strategies_of
from model.errors import Fault, InputError
from model.farm.setting import decision_seasons, farm_of
from model.files import read_bytes
from model.plan.plan import Plan
from model.plan.text import check_plan, parse_plan
from model.record.reading import HowToRead
from model.record.record import FillPolicy, Record, parse_record

FILES_EACH: Final = 20
"""Plans read at once by a process: about a fifth of a second."""

RECORDS_KEPT: Final = 16
"""Records read and kept: a folder's plans name few, one after the other."""


@dataclass(frozen=True, slots=True)
class FileFault:
    """One problem of one file."""

    file: str  # its path inside the folder
    fault: Fault


@dataclass(frozen=True, slots=True, eq=False)
class Valley:
    """A valley that plans share: all that is needed to run it anywhere."""

    key: str  # a hash of what makes it
    plan: Plan  # of one of its farms: the valley, where it stands, and the drawing are all farms'
    record_name: str
    record_data: bytes
    varies: bool = False  # whether any farm's yields or prices differ from year to year

    @property
    def record(self) -> Record:
        """The record, read as the plan says."""
        plan = self.plan
        return _record_of(
            self.record_data,
            self.record_name,
            plan.record_fill,
            plan.record_missing_days_frac,
            plan.how_to_read,
        )

    def plan_of(self, plan: Plan) -> Plan:
        """Return a farm's plan as it stands on this valley."""
        return plan.model_copy(update={"sequences": self.plan.sequences})


@dataclass(frozen=True, slots=True)
class PlanFile:
    """A farm plan that can be read."""

    file: str  # its path inside the folder
    sha256: str
    valley: str  # key of its valley
    farm: str
    strategies: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Folder:
    """The farm plans of a folder."""

    place: Path
    plans: tuple[PlanFile, ...]  # by valley, then by file
    valleys: Mapping[str, Valley]
    faults: tuple[FileFault, ...]

    def on(self, key: str) -> list[PlanFile]:
        """Return the plans on a valley."""
        return [plan for plan in self.plans if plan.valley == key]


def read_folder(
    place: Path,
    changes: Mapping[str, object] | None = None,
    progress: Callable[[int, int], None] | None = None,
    cores: int = 1,
) -> Folder:
    """Read every plan (*.toml) of a folder and of the folders in it.

    Parameters
    ----------
    place
        The folder.
    changes
        Settings of `[sequences]` that stand in place of every plan's own.
    progress
        Told the files read and the files in all.
    cores
        That read.

    Raises
    ------
    InputError
        It is no folder, or holds no plan.
    """
    files = plan_files(place)
    pieces = [files[first : first + FILES_EACH] for first in range(0, len(files), FILES_EACH)]
    plans: list[PlanFile] = []
    valleys: dict[str, Valley] = {}
    faults: list[FileFault] = []
    read, done = partial(_read_some, place, dict(changes or {})), 0
    for files_of, found in zip(
        pieces, in_order(read, pieces, min(cores, len(pieces))), strict=True
    ):
        plans += found.plans
        faults += found.faults
        for valley in found.valleys:
            _note(valley, valleys)
        done += len(files_of)
        if progress is not None:
            progress(done, len(files))
    order = sorted(valleys.values(), key=lambda valley: (valley.plan.valley.name, valley.key))
    rank = {valley.key: at for at, valley in enumerate(order)}
    return Folder(
        place=place,
        plans=tuple(sorted(plans, key=lambda plan: (rank[plan.valley], plan.file))),
        valleys={valley.key: valley for valley in order},
        faults=tuple(faults),
    )


def plan_files(place: Path) -> list[str]:
    """Return the paths of a folder's plans inside it, in order; hidden ones are left out."""
    if not place.is_dir():
        fault = Fault("FOLDER", str(place), "it is not a folder", "a folder of plan files (*.toml)")
        raise InputError("portfolio", [fault])
    inside = sorted(path.relative_to(place) for path in place.rglob("*.toml") if path.is_file())
    files = [p.as_posix() for p in inside if not any(part.startswith(".") for part in p.parts)]
    if not files:
        fault = Fault("FOLDER", str(place), "it holds no plan", "plan files (*.toml)")
        raise InputError("portfolio", [fault])
    return files


@dataclass(frozen=True, slots=True)
class _Read:
    """What some files hold."""

    plans: tuple[PlanFile, ...]
    valleys: tuple[Valley, ...]
    faults: tuple[FileFault, ...]


def _read_some(place: Path, changes: Mapping[str, object], files: Sequence[str]) -> _Read:
    """Read some plans."""
    plans: list[PlanFile] = []
    valleys: dict[str, Valley] = {}
    faults: list[FileFault] = []
    for file in files:
        try:
            plan, valley = read_one(place, file, changes)
        except Exception as error:  # whatever is the matter with one plan, the others go on
            faults += faults_of(file, error)
        else:
            plans.append(plan)
            _note(valley, valleys)
    return _Read(tuple(plans), tuple(valleys.values()), tuple(faults))


def _note(valley: Valley, valleys: dict[str, Valley]) -> None:
    """Note a valley; it varies where it does for any of its farms."""
    known = valleys.setdefault(valley.key, valley)
    valleys[valley.key] = replace(known, varies=known.varies or valley.varies)


def read_one(place: Path, file: str, changes: Mapping[str, object]) -> tuple[PlanFile, Valley]:
    """Read one plan and the record it names.

    Raises
    ------
    InputError
        With every fault found in the first of the two that has one.
    """
    text = read_bytes(place / file, "plan")
    plan = changed(parse_plan(text, Path(file).name), changes)
    farm = farm_of(plan)
    record_path = (place / file).parent / plan.record
    valley = valley_of(plan, record_path.name, read_bytes(record_path, "record"))
    names = tuple(strategy.name for strategy in strategies_of(plan))
    return PlanFile(file, hashlib.sha256(text).hexdigest(), valley.key, farm.name, names), valley


def faults_of(file: str, error: Exception) -> list[FileFault]:
    """Return what is the matter with a plan: its own faults, or one of the tool itself."""
    if isinstance(error, InputError):
        return [FileFault(file, fault) for fault in error.faults]
    problem = f"something went wrong in the tool itself: {error!r}"
    return [FileFault(file, Fault("the tool", "", problem, "please report it"))]


def changed(plan: Plan, changes: Mapping[str, object]) -> Plan:
    """Return a plan with settings of `[sequences]` in place of its own, checked.

    Raises
    ------
    PlanError
        They do not fit.
    """
    if not changes:
        return plan
    raw = plan.model_dump(exclude_unset=True)
    raw["sequences"] = raw.get("sequences", {}) | dict(changes)
    return check_plan(raw, "command line")


def valley_of(plan: Plan, record_name: str, data: bytes) -> Valley:
    """Return the valley that a plan stands on.

    Raises
    ------
    RecordError
        The record cannot be read as the plan says.
    """
    valley = Valley("", plan, record_name, data, bool(plan.farm and plan.farm.risk))
    made_of = {
        "record": valley.record.values_sha256,
        "valley": plan.valley.model_dump(mode="json"),
        "opening": plan.opening.model_dump(mode="json"),
        "sequences": plan.sequences.model_dump(mode="json"),
        "seasons": decision_seasons(plan),
    }
    return replace(valley, key=hash_of([json.dumps(made_of, sort_keys=True)]))


def hash_of(texts: Iterable[str | bytes]) -> str:
    """Return the SHA-256 of texts, each apart from the next."""
    digest = hashlib.sha256()
    for text in texts:
        data = text.encode() if isinstance(text, str) else text
        digest.update(f"{len(data)}:".encode() + data)
    return digest.hexdigest()


@lru_cache(maxsize=RECORDS_KEPT)
def _record_of(
    data: bytes, name: str, fill: FillPolicy, missing_days_frac: float, how: HowToRead
) -> Record:
    """Read a record once for all plans that name it."""
    return parse_record(data, name, fill=fill, missing_days_frac=missing_days_frac, how=how)
