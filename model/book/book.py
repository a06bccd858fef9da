"""What do the farm plans of a folder come to, each alone and all together?

Every valley is drawn and run once; its farms are played in parts, by whoever has a hand free, and
reduced to sums at once, so that memory does not grow with the book. Parts are kept beside the
results until these are written: a book that was stopped goes on with what is left. Sums are taken
in the order of the files, so the results are the same to the byte however the work was shared out.
"""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from model.book.drawn import draw, sequences_of, valley_setting
from model.book.farm import Row
from model.book.folder import FileFault, Folder, PlanFile, Valley, faults_of, hash_of
from model.book.joint import Joint, SameYears, Together, check_joint, same_years, together
from model.book.part import FARMS_EACH, FIRST_OF_EACH, Part, Pools, Shared, Task
from model.book.pool import Pool, Scope, Sums, scope_of
from model.errors import Fault, InputError
from model.files import read_bytes, write_whole
from model.outlook.ahead import Drawn
from model.outlook.outlook import RecordResampling
from model.outlook.setting import Progress, Setting
from model.record.record import FloatArray

UNFINISHED: Final = "unfinished"
"""The folder of parts, inside that of the results."""

MOST_SEQUENCES: Final = 20_000
"""Of a book: the months of so many different ones are held at once."""

Hands = Callable[[Iterable[Task]], Iterator[tuple[Task, bytes]]]
"""Whoever plays tasks, in any order, and gives each with its part as a file holds it."""


@dataclass(frozen=True, slots=True)
class BookValley:
    """A valley of the book, drawn."""

    valley: Valley
    setting: Setting
    drawn: Drawn

    @property
    def name(self) -> str:
        """As the plans have it."""
        return self.valley.plan.valley.name


@dataclass(frozen=True, slots=True)
class Driver:
    """What one farm adds to the worst tenth of farms together."""

    file: str
    farm: str
    aud: float


@dataclass(frozen=True, slots=True)
class Drivers:
    """Where what is owed in the worst tenth comes from."""

    most: tuple[Driver, ...]  # the farms that add most, the first most
    farms_of_half: int  # so few farms add half of it


@dataclass(frozen=True, slots=True)
class Book:
    """The farms of a folder, alone and together."""

    name: str  # of the folder
    joint: Joint | None
    valleys: Mapping[str, BookValley]  # by key
    by_valley: tuple[Scope, ...]
    whole: Scope | None  # None: valleys are not added up, since nobody said how they are joint
    drivers: Mapping[tuple[str, int], Drivers]  # by scope's name (or key) and pool
    farms: int  # that were played
    faults: tuple[FileFault, ...]
    parts: tuple[tuple[str, Path], ...]  # key of the valley, and where the part is kept

    def scope_of(self, key: str) -> Scope:
        """Return the widest look that takes a valley in: the whole book, if there is one."""
        return self.whole or next(scope for scope in self.by_valley if scope.valleys == (key,))

    def rows(self) -> Iterator[list[Row]]:
        """Go through the rows of farms and strategies, part by part."""
        for key, place in self.parts:
            part, scope = _kept(place), self.scope_of(key)
            yield [
                {**row, "in_worst_tenth_aud": adds}
                for row, adds in zip(part.rows, _adds(part, key, scope.pools), strict=True)
            ]


def play_book(
    folder: Folder,
    out: Path,
    hands: Hands,
    *,
    joint: Joint | None = None,
    progress: Progress | None = None,
) -> Book:
    """Play every farm of a folder and look at them together.

    Parameters
    ----------
    folder
        The plans.
    out
        Where the results will stand: parts are kept in a folder of it.
    hands
        That play.
    joint
        How valleys come together, as the user states it; None: they are not added up.
    progress
        Told the farms done and the farms in all.

    Raises
    ------
    InputError
        No plan can be played, or the valleys cannot be joint as stated.
    """
    valleys, faults = _drawn_valleys(folder)
    plans = [plan for plan in folder.plans if plan.valley in valleys]
    if not plans:
        raise InputError("portfolio", [_as_line(fault) for fault in (*folder.faults, *faults)])
    years = _shared_years(valleys, plans, joint)
    if years is not None:
        valleys = {key: _redrawn(valley, years) for key, valley in valleys.items()}
    pools = pools_of(plans)
    pieces = list(_pieces(valleys, plans, pools, years))
    kept = out / UNFINISHED
    _play_left(folder.place, pieces, kept, hands, progress)
    found = _Gathered.of([(piece.valley, piece.place_in(kept)) for piece in pieces])
    return _book_of(folder, joint, valleys, years, pools, found, [*folder.faults, *faults])


def pools_of(plans: Sequence[PlanFile]) -> Pools:
    """Return under which strategies farms are looked at together.

    Every name that all of them have; and each under the first of its plan, where that is not one.
    """
    counts = Counter(name for plan in plans for name in plan.strategies)
    shared = [name for name in plans[0].strategies if counts[name] == len(plans)]
    if {plan.strategies[0] for plan in plans} <= set(shared[:1]):
        return tuple(shared)
    return (FIRST_OF_EACH, *shared)


def _drawn_valleys(folder: Folder) -> tuple[dict[str, BookValley], list[FileFault]]:
    """Draw each valley; the plans of one that cannot be drawn are at fault."""
    found, faults = {}, []
    for key, valley in folder.valleys.items():
        try:
            found[key] = _drawn_valley(valley)
        except Exception as error:
            faults += [each for plan in folder.on(key) for each in faults_of(plan.file, error)]
    return found, faults


def _drawn_valley(valley: Valley) -> BookValley:
    """Draw a valley's own sequences."""
    setting = valley_setting(valley)
    if setting.count > MOST_SEQUENCES:
        allowed = f"{MOST_SEQUENCES:,} or less in a portfolio"
        fault = Fault("sequences.count", f"{setting.count}", "they are too many", allowed)
        raise InputError("plan", [fault])
    sequences = sequences_of(setting)
    return BookValley(valley, setting, draw(setting, sequences, varies=valley.varies))


def _redrawn(valley: BookValley, years: SameYears) -> BookValley:
    """Return a valley with the years that were drawn for all."""
    sequences = years.sequences[valley.valley.key]
    drawn = draw(valley.setting, sequences, varies=valley.valley.varies)
    return replace(valley, drawn=drawn)


def _shared_years(
    valleys: Mapping[str, BookValley], plans: Sequence[PlanFile], joint: Joint | None
) -> SameYears | None:
    """Draw years for all valleys where the user states that they meet the same."""
    if joint is None or len(valleys) == 1:
        return None
    all_valleys = [each.valley for each in valleys.values()]
    check_joint(all_valleys, joint)
    if joint == "independent":
        return None
    farms = Counter(plan.valley for plan in plans)
    return same_years(all_valleys, max(all_valleys, key=lambda valley: farms[valley.key]))


@dataclass(frozen=True, slots=True)
class _Piece:
    """Some farms of a valley, whose plans are not in memory yet."""

    shared: Shared
    shared_key: str
    key: str
    files: tuple[str, ...]

    @property
    def valley(self) -> str:
        """The valley's key."""
        return self.shared.valley.key

    def place_in(self, kept: Path) -> Path:
        """Return where the part of these farms is kept."""
        return kept / f"{self.key[:40]}.npz"

    def task_in(self, folder: Path) -> Task:
        """Read the plans."""
        texts = tuple((file, read_bytes(folder / file, "plan")) for file in self.files)
        return Task(self.shared, self.shared_key, self.key, texts)


def _pieces(
    valleys: Mapping[str, BookValley],
    plans: Sequence[PlanFile],
    pools: Pools,
    years: SameYears | None,
) -> Iterator[_Piece]:
    """Cut the farms of each valley into parts."""
    for key, valley in valleys.items():
        shared = Shared(valley.valley, None if years is None else years.sequences[key], pools)
        shared_key = shared.key
        own = [plan for plan in plans if plan.valley == key]
        for first in range(0, len(own), FARMS_EACH):
            some = own[first : first + FARMS_EACH]
            made_of = [shared_key, *(text for plan in some for text in (plan.file, plan.sha256))]
            files = tuple(plan.file for plan in some)
            yield _Piece(shared, shared_key, hash_of(made_of), files)


def _play_left(
    folder: Path,
    pieces: Sequence[_Piece],
    kept: Path,
    hands: Hands,
    progress: Progress | None,
) -> None:
    """Play the parts that are not kept yet, and keep each."""
    left = {piece.key: piece for piece in pieces if not _is_kept(piece.place_in(kept))}
    farms = sum(len(piece.files) for piece in pieces)
    done = farms - sum(len(piece.files) for piece in left.values())
    say = progress or (lambda done, farms: None)
    say(done, farms)
    for task, part in hands(piece.task_in(folder) for piece in left.values()):
        write_whole(left[task.key].place_in(kept), part)
        done += len(task.plans)
        say(done, farms)


def _is_kept(place: Path) -> bool:
    """Return whether a part is kept, whole."""
    with contextlib.suppress(ValueError, OSError):
        return Part.from_bytes(place.read_bytes()) is not None
    return False


def _kept(place: Path) -> Part:
    return Part.from_bytes(place.read_bytes())


@dataclass(frozen=True, slots=True)
class _Gathered:
    """What all parts come to, by key of the valley."""

    parts: tuple[tuple[str, Path], ...]
    sums: Mapping[str, Sums]
    farms: Mapping[str, int]
    faults: tuple[FileFault, ...]

    @classmethod
    def of(cls, parts: Sequence[tuple[str, Path]]) -> _Gathered:
        """Add up parts in their order."""
        sums: dict[str, dict[str, FloatArray]] = {}
        farms: Counter[str] = Counter()
        faults: list[FileFault] = []
        for key, place in parts:
            part = _kept(place)
            faults += part.faults
            farms[key] += part.farms
            so_far = sums.setdefault(key, {})
            for name, values in part.sums.items():
                so_far[name] = so_far.get(name, 0.0) + values
        played = {key: each for key, each in sums.items() if each}
        return cls(tuple(parts), played, farms, tuple(faults))


def _book_of(
    folder: Folder,
    joint: Joint | None,
    valleys: Mapping[str, BookValley],
    years: SameYears | None,
    pools: Pools,
    found: _Gathered,
    faults: Sequence[FileFault],
) -> Book:
    """Look at the farms of each valley, and at all, where it is said how they come together."""
    faults = sorted((*faults, *found.faults), key=lambda fault: fault.file)
    if not found.sums:
        raise InputError("portfolio", [_as_line(fault) for fault in faults])
    drawn = {key: valleys[key].drawn for key in found.sums}

    def scope(
        name: str, keys: Sequence[str], sides: Mapping[str, Together], how: RecordResampling
    ) -> Scope:
        calendar = valleys[keys[0]].setting.calendar
        return scope_of(
            name,
            {key: found.sums[key] for key in keys},
            sides,
            how,
            pools,
            tuple(calendar.water_year(season) for season in range(calendar.seasons)),
            sum(found.farms[key] for key in keys),
        )

    by_valley = tuple(
        scope(valleys[key].name, [key], {key: Together(d.drawn, d.resampled)}, d.how)
        for key, d in drawn.items()
    )
    whole = None
    if len(drawn) == 1:
        whole = replace(by_valley[0], name="")
    elif joint is not None:
        seed = next(iter(valleys.values())).setting.plan.sequences.seed
        sides, how = together(drawn, years, seed)
        whole = scope("", list(drawn), sides, how)
    scopes = [*by_valley, *([whole] if whole is not None else [])]
    return Book(
        name=folder.place.resolve().name,
        joint=joint if len(drawn) > 1 else None,
        valleys={key: valleys[key] for key in drawn},
        by_valley=by_valley,
        whole=whole,
        drivers=_drivers(scopes, found.parts),
        farms=sum(found.farms.values()),
        faults=tuple(faults),
        parts=tuple((key, place) for key, place in found.parts if key in drawn),
    )


MOST_DRIVERS: Final = 10


def _drivers(
    scopes: Sequence[Scope], parts: Sequence[tuple[str, Path]]
) -> dict[tuple[str, int], Drivers]:
    """Find which farms add most to the worst tenth, in each look and pool."""
    found: dict[tuple[str, int], list[Driver]] = {}
    for key, place in parts:
        part = _kept(place)
        for scope in scopes:
            if key not in scope.valleys:
                continue
            for at, pool in enumerate(scope.pools):
                adds = part.owed_aud @ pool.worst[key]
                found.setdefault((scope_key(scope), at), []).extend(
                    Driver(str(row["file"]), str(row["farm"]), float(aud))
                    for row, aud in zip(part.rows, adds, strict=True)
                    if _takes_part(row, pool)
                )
    return {of: _drivers_of(each) for of, each in found.items()}


def scope_key(scope: Scope) -> str:
    """Return by what a look at farms is known: its valley's key; empty for the whole book."""
    return scope.valleys[0] if scope.name else ""


def _drivers_of(farms: Sequence[Driver]) -> Drivers:
    """Order farms by what they add."""
    ordered = sorted(farms, key=lambda driver: (-driver.aud, driver.file))
    reached = np.cumsum([driver.aud for driver in ordered])
    total = float(reached[-1]) if len(reached) else 0.0
    half = int(np.searchsorted(reached, total / 2.0)) + 1 if total > 0.0 else 0
    return Drivers(tuple(d for d in ordered[:MOST_DRIVERS] if d.aud > 0.0), half)


def _takes_part(row: Row, pool: Pool) -> bool:
    """Return whether a farm under a strategy is one of a pool."""
    if pool.strategy is FIRST_OF_EACH:
        return row["strategy_number"] == 1
    return row["strategy"] == pool.strategy


def _adds(part: Part, key: str, pools: Sequence[Pool]) -> list[float | None]:
    """Return what each row adds to the worst tenth of its pool; None: it is in no pool."""
    adds: list[float | None] = [None] * len(part.rows)
    for pool in sorted(pools, key=lambda pool: pool.strategy is FIRST_OF_EACH, reverse=True):
        for at, aud in enumerate((part.owed_aud @ pool.worst[key]).tolist()):
            if _takes_part(part.rows[at], pool):
                adds[at] = aud
    return adds


def _as_line(fault: FileFault) -> Fault:
    """Return a fault with its file in it."""
    return replace(fault.fault, where=f"{fault.file}, {fault.fault.where}")
