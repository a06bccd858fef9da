"""What does the root zone do to a crop over some days, and what does the crop lose?

One response for every hectare, however it is watered. The root zone holds water between nothing and
its capacity. While it holds at least `stress_below_mm` the crop uses all it asks for; below, it
uses in proportion to what is left (FAO-56's Ks, eq. 84), and loses part of its yield for each day:
the full loss of its stage once Ks has fallen by `full_stress_frac`, in proportion before. Losses
compound, so what is kept is `exp(-stress)`. A young crop whose root zone has been all but empty for
`LOST_AFTER_DAYS` on end is lost.

Over a piece of a month, use, rain and water are the same every day, so that everything has a closed
form. Above the stress level water runs straight, `p + i - e` a day. Below it runs to the level
`E = (p + i) B / e` at which use and supply meet:

    A(t) = E + (A0 - E) exp(-e t / B)        integral of Ks = ((p + i) t - (A1 - A0)) / e

Within a piece it runs one way only, so it crosses each level at most once.

Arrays are (..., sequence), of any leading shape; the shapes of soil, water and use are broadcast.

References
----------
Allen, Pereira, Raes and Smith 1998, FAO Irrigation and Drainage Paper 56, eq. 84, from memory. The
days until a crop is lost are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.sequences.slices import IntArray

BoolArray = NDArray[np.bool_]

LOW_FRAC: Final = 0.05
"""Of the stress level: below it the root zone is all but empty."""

LOST_AFTER_DAYS: Final = 20.0
"""All but empty for so many days on end, a young crop is lost."""

LEAST_USE_MM: Final = 1e-6
"""A day; what a crop in the ground uses at the least, so that nothing is divided by 0."""


@dataclass(frozen=True, slots=True)
class RootZone:
    """What the soil holds for a crop, mm."""

    capacity_mm: float
    stress_below_mm: float
    full_stress_frac: float = 0.8  # by which Ks has fallen when a day costs its full loss

    @property
    def full_stress_mm(self) -> float:
        """Depth at and below which a day costs its full loss."""
        return (1.0 - self.full_stress_frac) * self.stress_below_mm

    @property
    def low_mm(self) -> float:
        """Depth below which the root zone is all but empty."""
        return LOW_FRAC * self.stress_below_mm


class SomeLand(NamedTuple):
    """Some cases of an array, by their places in it: what little land a rule is for."""

    places: IntArray  # (case,) in the whole array, end to end
    shape: tuple[int, ...]  # of the whole array

    @classmethod
    def where(cls, there: BoolArray) -> Self:
        """Return the land where something holds."""
        return cls(np.flatnonzero(there), there.shape)

    def of(self, values: FloatArray) -> FloatArray:
        """Return the values on this land, (case,); they may be one for all strategies."""
        if values.shape == self.shape:
            return values.ravel().take(self.places)
        if values.size == self.shape[-1]:
            return values.ravel().take(self.places % values.size)
        return np.broadcast_to(values, self.shape).ravel().take(self.places)

    def put(self, new: FloatArray, values: FloatArray) -> FloatArray:
        """Return values, over the whole array, with new ones, (case,), on this land."""
        changed = np.empty(self.shape)
        changed[...] = values
        changed.ravel()[self.places] = new
        return changed


class Soil(NamedTuple):
    """The root zone of some land and what its crop has suffered, each (..., sequence)."""

    water_mm: FloatArray
    stress: FloatArray  # the yield kept is exp(-stress); infinite: the crop is lost
    low_days: FloatArray  # on end, until now, that the root zone has been all but empty

    @property
    def kept_frac(self) -> FloatArray:
        """Part of the full yield that is not lost yet."""
        return np.exp(-self.stress)

    def wetter(self, water_mm: FloatArray) -> Soil:
        """Return the root zone after water put on at once [mm]."""
        return self._replace(water_mm=self.water_mm + water_mm)

    def take(self, places: NDArray[np.int64], axis: int) -> Soil:
        """Return some sequences, in a new order; one may come more than once."""
        return Soil(*(values.take(places, axis=axis) for values in self))

    def on(self, some: SomeLand) -> Soil:
        """Return the root zones of some land, each (case,)."""
        return Soil(*(some.of(values) for values in self))

    def but(self, some: SomeLand, other: Soil) -> Soil:
        """Return the same with other root zones, each (case,), on some land."""
        return Soil(*(some.put(new, values) for values, new in zip(self, other, strict=True)))


class Days(NamedTuple):
    """Days on end over which a crop's stage is one."""

    days: float
    loss_frac_per_day: float  # of the yield still there, to a day of full stress
    young: bool  # whether the crop can be lost


def fresh_soil(water_mm: FloatArray) -> Soil:
    """Return the root zone of a crop just sown, nothing lost."""
    none = np.zeros_like(water_mm)
    return Soil(water_mm, none, none)


def lost_frac_as_stress(lost_frac: FloatArray) -> FloatArray:
    """Return the stress after which a part of the yield is lost."""
    with np.errstate(divide="ignore"):
        return -np.log1p(-lost_frac)


def through(
    soil: Soil, supply_mm: FloatArray, use_mm: FloatArray, over: Days, root_zone: RootZone
) -> Soil:
    """Take the root zone through a piece of a month.

    Parameters
    ----------
    soil
        At its start, each (..., sequence).
    supply_mm
        Effective rain and water a day.
    use_mm
        What the crop would use a day with all the water it asks for.
    over, root_zone
        The piece, and what the soil holds.

    Returns
    -------
    Soil
        At its end.
    """
    use_mm = np.maximum(use_mm, LEAST_USE_MM)
    straight_mm = soil.water_mm + (supply_mm - use_mm) * over.days
    stressed = np.minimum(soil.water_mm, straight_mm) < root_zone.stress_below_mm
    none = np.zeros_like(straight_mm)
    after = Soil(np.minimum(straight_mm, root_zone.capacity_mm), soil.stress + none, none)
    if not stressed.any():
        return after
    some = SomeLand.where(stressed)
    supplied_mm, used_mm = some.of(supply_mm), some.of(use_mm)
    ended = _through_stress(soil.on(some), supplied_mm, used_mm, over, root_zone)
    return after.but(some, ended)


def _through_stress(
    soil: Soil, supply_mm: FloatArray, use_mm: FloatArray, over: Days, root_zone: RootZone
) -> Soil:
    """Take root zones that are below the stress level at the start or at the end, each (case,)."""
    full_mm, level_mm = root_zone.capacity_mm, root_zone.stress_below_mm
    gain_mm = supply_mm - use_mm
    days = over.days - _above_days(soil.water_mm - level_mm, gain_mm, over.days)
    path = _path(np.minimum(soil.water_mm, level_mm), supply_mm, use_mm, days, level_mm)
    water_mm = path.last_mm
    rises = (path.last_mm > level_mm) & (path.meets_mm > level_mm)
    if rises.any():  # it comes back to the level: from then on straight up
        below_days = path.days_to(level_mm, rises)
        risen_mm = level_mm + gain_mm * (days - below_days)
        water_mm = np.where(rises, np.minimum(risen_mm, full_mm), water_mm)
        path = path.until(level_mm, np.where(rises, below_days, days))
    stress, low_days = _suffered(soil, path, supply_mm, use_mm, over, root_zone)
    return Soil(water_mm, stress, low_days)


def _above_days(above_mm: FloatArray, gain_mm: FloatArray, days: float) -> FloatArray:
    """Return how many of the days pass before the root zone falls below the level."""
    stays = (above_mm >= 0.0) & (gain_mm >= 0.0)
    above_days = np.where(stays, days, 0.0)
    falls = (above_mm > 0.0) & (gain_mm < 0.0)
    np.divide(above_mm, -gain_mm, out=above_days, where=falls)
    return np.minimum(above_days, days)


class _Path(NamedTuple):
    """How water runs below the stress level, each (case,)."""

    first_mm: FloatArray
    last_mm: FloatArray
    days: FloatArray
    rate: FloatArray  # a day
    meets_mm: FloatArray  # where use and supply meet

    def until(self, level_mm: float, days: FloatArray) -> _Path:
        """Return the path as far as a level that it rises to, so many days of it."""
        return self._replace(last_mm=np.minimum(self.last_mm, level_mm), days=days)

    def days_to(self, level_mm: float, crosses: BoolArray) -> FloatArray:
        """Return the days until it crosses a level, 0 where it does not."""
        ratio = np.ones_like(self.days)
        np.divide(self.first_mm - self.meets_mm, level_mm - self.meets_mm, out=ratio, where=crosses)
        return np.minimum(np.log(np.maximum(ratio, 1.0)) / self.rate, self.days)


def _path(
    first_mm: FloatArray,
    supply_mm: FloatArray,
    use_mm: FloatArray,
    days: FloatArray,
    level_mm: float,
) -> _Path:
    """Run water from a depth at or below the stress level for some days."""
    rate = use_mm / level_mm
    meets_mm = supply_mm / rate
    last_mm = first_mm - (meets_mm - first_mm) * np.expm1(-rate * days)
    return _Path(first_mm, last_mm, days, rate, meets_mm)


def _suffered(
    soil: Soil,
    path: _Path,
    supply_mm: FloatArray,
    use_mm: FloatArray,
    over: Days,
    root_zone: RootZone,
) -> tuple[FloatArray, FloatArray]:
    """Return the crop's stress after a path, and for how long it has been all but empty."""
    stress = soil.stress
    if over.loss_frac_per_day > 0.0:
        stressed_days = _stressed_days(path, supply_mm, use_mm, root_zone)
        stress = stress + over.loss_frac_per_day * stressed_days
    low_days = np.zeros_like(path.last_mm)
    if over.young and min(path.first_mm.min(), path.last_mm.min()) < root_zone.low_mm:
        spell_days, low_days = _low_days(path, soil.low_days, root_zone.low_mm)
        stress = np.where(spell_days >= LOST_AFTER_DAYS, np.inf, stress)
    return stress, low_days


def _stressed_days(
    path: _Path, supply_mm: FloatArray, use_mm: FloatArray, root_zone: RootZone
) -> FloatArray:
    """Return the integral of `min(1, (1 - Ks) / w)` over the path, in days."""
    level_mm = root_zone.full_stress_mm
    starts, ends = path.first_mm < level_mm, path.last_mm < level_mm
    partly_days = np.where(starts | ends, 0.0, path.days)
    crosses = starts ^ ends
    if crosses.any():
        to_days = path.days_to(level_mm, crosses)
        partly_days = np.where(crosses, np.where(starts, path.days - to_days, to_days), partly_days)
    rise_mm = np.maximum(path.last_mm, level_mm) - np.maximum(path.first_mm, level_mm)
    ks_days = (supply_mm * partly_days - rise_mm) / use_mm
    part: FloatArray = (partly_days - ks_days) / root_zone.full_stress_frac
    return part + (path.days - partly_days)


def _low_days(path: _Path, before_days: FloatArray, low_mm: float) -> tuple[FloatArray, FloatArray]:
    """Return the longest time on end that it was all but empty, and how long it has been so now."""
    starts, ends = path.first_mm < low_mm, path.last_mm < low_mm
    to_days = path.days_to(low_mm, starts ^ ends)
    spell_days = np.where(starts, before_days + np.where(ends, path.days, to_days), 0.0)
    now_days = np.where(ends, np.where(starts, spell_days, path.days - to_days), 0.0)
    return np.maximum(spell_days, now_days), now_days
