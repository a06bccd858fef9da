"""The root zone in plain Python, twice: in closed form, and a thousand steps a day.

Slow and obvious on purpose, written from the rule and not from the code. The closed form walks from
one level to the next; the small steps know nothing but Ks, and are good to about 1e-4 of the yield.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from model.farm.soil import Days, RootZone
from model.record.record import FloatArray

LOW = 0.05
LOST_AFTER = 20.0
LEAST_USE = 1e-6


@dataclass
class Zone:
    """A root zone and what its crop has suffered, in numbers."""

    water: float
    capacity: float
    level: float
    w: float = 0.8
    stress: float = 0.0
    low_days: float = 0.0
    lost: bool = False

    @property
    def kept(self) -> float:
        """Part of the yield that is kept."""
        return 0.0 if self.lost else math.exp(-self.stress)


def walk(z: Zone, supply: float, use: float, days: float, loss: float, *, young: bool) -> None:
    """Change a zone as some days of one weather do, from level to level in closed form."""
    use = max(use, LEAST_USE)
    left = days
    marks = sorted({LOW * z.level, (1.0 - z.w) * z.level, z.level})
    while left > 0.0:
        if z.water > z.level or (z.water == z.level and supply >= use):
            left = _walk_above(z, supply - use, left)
        else:
            left = _walk_below(z, supply, use, left, marks, loss, young)
    if not young or z.water >= LOW * z.level:
        z.low_days = 0.0


def _walk_above(z: Zone, gain: float, left: float) -> float:
    """Go straight until the days are over or the level is reached; return the days left."""
    if gain < 0.0 and (z.water - z.level) / -gain <= left:
        left -= (z.water - z.level) / -gain
        z.water = z.level
        return left
    z.water = min(z.capacity, z.water + gain * left)
    return 0.0


def _walk_below(
    z: Zone,
    supply: float,
    use: float,
    left: float,
    marks: list[float],
    loss: float,
    young: bool,
) -> float:
    """Go along the curve to the next mark or to the end of the days; return the days left."""
    k = use / z.level
    meets = supply / k
    rising = meets > z.water
    ahead = [m for m in marks if (z.water < m < meets if rising else meets < m < z.water)]
    mark = None if not ahead else (min(ahead) if rising else max(ahead))
    took = left
    if mark is not None:
        took = min(left, math.log((meets - z.water) / (meets - mark)) / k)
    after = meets - (meets - z.water) * math.exp(-k * took)
    if mark is not None and took < left:
        after = mark
    middle = (z.water + after) / 2.0  # no mark lies between: it tells which zone this is
    if middle < (1.0 - z.w) * z.level:
        z.stress += loss * took
    else:
        ks_days = (supply * took - (after - z.water)) / use
        z.stress += loss * (took - ks_days) / z.w
    if young:
        z.low_days = z.low_days + took if middle < LOW * z.level else 0.0
        z.lost = z.lost or z.low_days >= LOST_AFTER
    z.water = after
    return left - took


@dataclass
class StepZone:
    """Many root zones side by side, for the small steps, each (case,)."""

    water: FloatArray
    stress: FloatArray
    low_days: FloatArray
    longest_low_days: FloatArray

    @classmethod
    def of(cls, water: FloatArray) -> StepZone:
        """Return zones of crops just sown."""
        return cls(water.copy(), *(np.zeros_like(water) for _ in range(3)))

    @property
    def kept(self) -> FloatArray:
        """Part of the yield that is kept."""
        return np.where(self.longest_low_days >= LOST_AFTER, 0.0, np.exp(-self.stress))


def step_by_step(
    z: StepZone, zone: RootZone, supply: FloatArray, use: FloatArray, over: Days, steps: int = 1000
) -> None:
    """Change zones as some days of one weather do, so many steps a day; it knows Ks alone."""
    count = round(over.days * steps)
    dt = over.days / count
    level, capacity, w = zone.stress_below_mm, zone.capacity_mm, zone.full_stress_frac
    for _ in range(count):
        ks = np.minimum(1.0, z.water / level)
        half = np.clip(z.water + (supply - ks * use) * (dt / 2.0), 0.0, capacity)
        ks = np.minimum(1.0, half / level)
        z.stress += over.loss_frac_per_day * dt * np.minimum(1.0, (1.0 - ks) / w)
        if over.young:
            z.low_days = np.where(half < LOW * level, z.low_days + dt, 0.0)
            np.maximum(z.longest_low_days, z.low_days, out=z.longest_low_days)
        z.water = np.clip(z.water + (supply - ks * use) * dt, 0.0, capacity)
    if not over.young:
        z.low_days[:] = 0.0
