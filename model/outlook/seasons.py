"""What did each season bring, in each sequence?

The months of a run, gathered to seasons: what came and was served over the season's months in the
run, where things stood at its end, and the water there was at planting and at the finish month. A
season whose planting month is past when the run opens has no number there.
"""

from __future__ import annotations

import mmap
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from model.outlook.lazy import LazyResults
from model.record.record import FloatArray
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray
from model.valley.access import out_of_reach_ml_per_share
from model.valley.accounts import usable_ml_per_share
from model.valley.rules import Rules
from model.valley.run import Month
from model.valley.state import State

SUMS: Final[Mapping[str, Callable[[Month], FloatArray]]] = MappingProxyType(
    {
        "inflow_ml": lambda m: m.fluxes.weather.inflow_ml,
        "credited_ml_per_share": lambda m: m.fluxes.credited_ml_per_share,
        "spill_ml": lambda m: m.fluxes.released.spill_ml,
    }
)
"""Summed over the months of the season that are in the run."""

COUNTS: Final[Mapping[str, Callable[[State, Rules], FloatArray]]] = MappingProxyType(
    {
        "announced_ml_per_share": lambda s, _: s.water_to_date_ml_per_share,
        "high_security_ml": lambda s, _: s.high_security_used_ml - s.high_security_carried_ml,
        "general_security_ml": lambda s, r: (
            s.used_this_year_ml_per_share * r.general_security_shares_ml
        ),
    }
)
"""The water year counts them: the count at the season's end, less that at its first month."""

AT_END: Final[Mapping[str, Callable[[Month], FloatArray]]] = MappingProxyType(
    {
        "announced_to_date_ml_per_share": lambda m: m.end.water_to_date_ml_per_share,
        "high_security_allocation_frac": lambda m: m.end.high_security_allocation_frac,
        "account_ml_per_share": lambda m: m.end.account_ml_per_share,
        "storage_end_ml": lambda m: m.end.storage_ml,
    }
)
"""As things stand at the end of June, before the account is carried over."""

POINTS: Final = ("planting", "finish", "end")
"""Months of each season in which water is counted.

At planting and at the finish month: after that month's announcement and before its orders. At the
season's end: after the last month.
"""

WATER: Final = ("announced_to_date_ml_per_share", "account_ml_per_share", "usable_ml_per_share")
"""What is counted in them; usable: not frozen, within the limits on use."""


@dataclass(frozen=True, slots=True)
class SeasonResults:
    """What each season of each sequence brought, each (sequence, season).

    The names of SUMS, COUNTS and AT_END, and of WATER after each of POINTS, such as
    `planting_account_ml_per_share`: not a number where that month lies before the run.
    """

    values: Mapping[str, FloatArray]

    def __getitem__(self, name: str) -> FloatArray:
        """Return one result by its name."""
        return self.values[name]

    @property
    def count(self) -> int:
        """How many sequences there are."""
        return int(next(iter(self.values.values())).shape[0])

    def only(self, names: Collection[str]) -> Self:
        """Return some of the results."""
        return type(self)({name: self[name] for name in names})

    @classmethod
    def shared(cls, sequences: int, seasons: int, names: Collection[str] | None = None) -> Self:
        """Make room for the results of so many sequences, written to by forked processes.

        Of `names` alone where they are given.
        """
        if names is None:
            water = (name for point in POINTS for name in water_at(point))
            names = (*SUMS, *COUNTS, *AT_END, *water)
        return cls({name: shared_array((seasons, sequences), np.float64).T for name in names})

    def put(self, place: slice, part: Self) -> None:
        """Write the results of some sequences to their place, those that there is room for."""
        for name, values in self.values.items():
            values[place] = part[name]

    def of(self, places: IntArray) -> Self:
        """Return the results of some sequences, in a new order; one may come more than once."""

        def taken(name: str) -> FloatArray:
            return self[name].T.take(places, axis=1).T  # each season's numbers stay side by side

        return type(self)(LazyResults(self.values, taken))

    @classmethod
    def joined(cls, parts: list[Self]) -> Self:
        """Join the results of batches, in their order; each season's numbers side by side."""
        if len(parts) == 1:
            return parts[0]
        return cls(
            {
                name: np.concatenate([part[name].T for part in parts], axis=1).T
                for name in parts[0].values
            }
        )


def water_at(point: str) -> tuple[str, ...]:
    """Name the water of one of POINTS.

    Examples
    --------
    >>> water_at("planting")[1]
    'planting_account_ml_per_share'
    """
    return tuple(f"{point}_{name}" for name in WATER)


def shared_array(shape: tuple[int, ...], kind: type[np.generic]) -> NDArray[Any]:
    """Make an array of zeros that processes forked from this one can write to."""
    count = int(np.prod(shape))
    room = mmap.mmap(-1, max(1, count * np.dtype(kind).itemsize))
    return np.frombuffer(room, dtype=kind, count=count).reshape(shape)


def gather(
    months: Iterable[Month],
    calendar: Calendar,
    rules: Rules,
    *,
    sequences: int,
    planting_k: int,
    finish_k: int,
) -> SeasonResults:
    """Gather the months of a run to seasons.

    Parameters
    ----------
    months
        The valley's months, in order; sequences may be one until they part.
    calendar, rules
        Of the run.
    sequences
        How many sequences there are before the first month.
    planting_k, finish_k
        Months of the water year in which water is counted, 0 = July.
    """
    shape = (calendar.seasons, sequences)
    kept = {name: np.zeros(shape) for name in SUMS}
    kept |= {name: np.empty(shape) for name in (*COUNTS, *AT_END)}
    kept |= {point: np.full((3, *shape), np.nan) for point in POINTS}
    counted_before: dict[str, FloatArray] = {}
    for t, month in enumerate(months):
        season = calendar.season_of(t)
        if month.parents is not None:
            kept = _of_children(kept, month.parents)
            counted_before = _of_children(counted_before, month.parents)
        if t == calendar.first_t(season):
            counted_before = {n: of(month.fluxes.opening, rules) for n, of in COUNTS.items()}
        for name, value_of in SUMS.items():
            kept[name][season] += value_of(month)
        if t == calendar.t_of(season, planting_k):
            kept["planting"][:, season] = _water_now(month)
        if t == calendar.t_of(season, finish_k):
            kept["finish"][:, season] = _water_now(month)
        if t == calendar.last_t(season):
            kept["end"][:, season] = _water_left(month, rules)
            for name, count_of in COUNTS.items():
                kept[name][season] = count_of(month.end, rules) - counted_before[name]
            for name, value_of in AT_END.items():
                kept[name][season] = value_of(month)
    for point in POINTS:
        kept |= dict(zip(water_at(point), kept.pop(point), strict=True))
    return SeasonResults({name: values.T for name, values in kept.items()})


def _of_children(kept: dict[str, FloatArray], parents: IntArray) -> dict[str, FloatArray]:
    """Return what was gathered of each sequence's parent, where sequences part."""
    return {name: values.take(parents, axis=-1) for name, values in kept.items()}


def _water_now(month: Month) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the water after a month's announcement, before its orders."""
    return (
        month.fluxes.known_to_date_ml_per_share,
        month.fluxes.account_before_orders_ml_per_share,
        month.fluxes.usable_ml_per_share,
    )


def _water_left(month: Month, rules: Rules) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the water after a month."""
    account = month.end.account_ml_per_share
    frozen = np.minimum(month.end.frozen_ml_per_share, account)
    barred = out_of_reach_ml_per_share(frozen, month.end.carried_ml_per_share, month.fluxes.access)
    usable = usable_ml_per_share(month.end, account, barred, rules)
    return month.end.water_to_date_ml_per_share, account, usable
