"""Who is served from the dam this month, and what is left in it?

Inflow comes in, the lake evaporates, then releases are made in strict order, each from what the
ones before it left above dead storage: essential supplies, river loss, base flow, the environment's
allowance, the fixed loss of delivering, high security, general security. The tributary supplies
river loss and base flow before the dam does. What then stands above capacity spills: a spill comes
after the releases.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.record import FloatArray
from model.units import ML_PER_MM_HA
from model.valley.delivery import runs_river
from model.valley.level import at_least, at_most, level
from model.valley.rules import Rules
from model.valley.state import Weather

DUST_FRAC: Final = 1e-12
"""Of the largest volume at hand; below it water is rounding. An emptied dam is off by 1e-16 of what
went through it, and evaporation over that little would be the whole of it."""


@dataclass(frozen=True, slots=True)
class Released:
    """Where the month's water went, ML, each (sequence,)."""

    arrived_ml: FloatArray  # storage at the start, and inflow
    lake_evaporation_ml: FloatArray  # what the weather asks for; below 0 in a wet month
    before_release_ml: FloatArray
    essential_ml: FloatArray
    river_loss_ml: FloatArray
    base_flow_ml: FloatArray
    environment_ml: FloatArray  # of its allowance
    fixed_loss_ml: FloatArray  # of running the river for licences at all
    high_security_release_ml: FloatArray  # as it left the dam
    high_security_ml: FloatArray  # at the farm gate
    general_security_ml: FloatArray  # at the farm gate
    licensed_ml: FloatArray  # released for both classes, delivery loss counted
    delivery_loss_frac: float
    spill_ml: FloatArray
    tributary_left_ml: FloatArray  # after it has met river loss and base flow
    storage_ml: FloatArray  # at the end of the month

    @property
    def net_evaporation_ml(self) -> FloatArray:
        """What the lake really lost, less rain on it."""
        return self.arrived_ml - self.before_release_ml

    @property
    def delivery_loss_ml(self) -> FloatArray:
        """What was lost between the dam and the farm gate."""
        return self.licensed_ml * self.delivery_loss_frac + self.fixed_loss_ml

    @property
    def uncontrolled_ml(self) -> FloatArray:
        """Flow below the dam that nobody ordered."""
        return self.spill_ml + self.tributary_left_ml


def release(
    storage_ml: FloatArray,
    surface_ha: FloatArray,
    weather: Weather,
    allowance_ml: FloatArray,
    high_security_order_ml: FloatArray,
    general_security_order_ml: FloatArray,
    k: int,
    rules: Rules,
) -> Released:
    """Run the dam through a month.

    Parameters
    ----------
    storage_ml, surface_ha
        (sequence,) at the start of the month.
    weather
        What comes in the month.
    allowance_ml
        (sequence,) what the environment may release of.
    high_security_order_ml, general_security_order_ml
        (sequence,) orders at the farm gate.
    k
        Month of the water year, 0 = July.
    rules
        The valley's rules.
    """
    deliverable_frac = 1.0 - rules.delivery_loss_frac
    lake_evaporation_ml = weather.net_evaporation_mm * surface_ha * ML_PER_MM_HA
    arrived_ml = storage_ml + weather.inflow_ml
    before_release_ml = at_least(0.0, arrived_ml - lake_evaporation_ml)
    largest_ml = largest_at_hand_ml(rules.capacity_ml, arrived_ml, before_release_ml)
    water_ml = at_least(0.0, before_release_ml - rules.dead_storage_ml)

    tributary_ml = weather.tributary_ml
    river_loss_need_ml = at_least(0.0, rules.river_loss_ml[k] - tributary_ml)
    tributary_ml = at_least(0.0, tributary_ml - rules.river_loss_ml[k])
    base_flow_need_ml = at_least(0.0, rules.base_flow_ml[k] - tributary_ml)
    tributary_ml = at_least(0.0, tributary_ml - rules.base_flow_ml[k])

    essential_ml = at_most(rules.essential_ml[k], water_ml)
    water_ml = water_ml - essential_ml
    river_loss_ml = np.minimum(river_loss_need_ml, water_ml)
    water_ml = water_ml - river_loss_ml
    base_flow_ml = np.minimum(base_flow_need_ml, water_ml)
    water_ml = water_ml - base_flow_ml
    environment_ml = fixed_loss_ml = level(0.0, storage_ml.size)
    if rules.environment is not None:
        asked_ml = at_most(rules.environment.release_ml[k], allowance_ml)
        environment_ml = np.minimum(asked_ml, water_ml)
        water_ml = water_ml - environment_ml
    if rules.fixed_loss is not None:
        ordered_ml = high_security_order_ml + general_security_order_ml
        runs = runs_river(ordered_ml, water_ml, k, rules.fixed_loss)
        fixed_loss_ml = np.multiply(runs, rules.fixed_loss.loss_ml[k], dtype=np.float64)
        water_ml = water_ml - fixed_loss_ml
        if not runs.all():
            high_security_order_ml = high_security_order_ml * runs
            general_security_order_ml = general_security_order_ml * runs
    high_security_release_ml = np.minimum(high_security_order_ml / deliverable_frac, water_ml)
    water_ml = water_ml - high_security_release_ml
    general_security_release_ml = np.minimum(general_security_order_ml / deliverable_frac, water_ml)

    licensed_ml = high_security_release_ml + general_security_release_ml
    released_ml = essential_ml + river_loss_ml + base_flow_ml + licensed_ml
    if rules.environment is not None or rules.fixed_loss is not None:
        released_ml = released_ml + (environment_ml + fixed_loss_ml)
    before_spill_ml = before_release_ml - released_ml
    if np.minimum.reduce(before_spill_ml) < DUST_FRAC * largest_ml:  # some may be empty
        before_spill_ml = without_dust(
            before_spill_ml, rules.capacity_ml, arrived_ml, before_release_ml
        )
    end_ml = at_most(rules.capacity_ml, before_spill_ml)
    spill_ml = before_spill_ml - end_ml
    return Released(
        arrived_ml=arrived_ml,
        lake_evaporation_ml=lake_evaporation_ml,
        before_release_ml=before_release_ml,
        essential_ml=essential_ml,
        river_loss_ml=river_loss_ml,
        base_flow_ml=base_flow_ml,
        environment_ml=environment_ml,
        fixed_loss_ml=fixed_loss_ml,
        high_security_release_ml=high_security_release_ml,
        high_security_ml=high_security_release_ml * deliverable_frac,
        general_security_ml=general_security_release_ml * deliverable_frac,
        licensed_ml=licensed_ml,
        delivery_loss_frac=rules.delivery_loss_frac,
        spill_ml=spill_ml,
        tributary_left_ml=tributary_ml,
        storage_ml=end_ml,
    )


def largest_at_hand_ml(
    capacity_ml: float, arrived_ml: FloatArray, before_release_ml: FloatArray
) -> float:
    """Return the largest volume at hand in any sequence: of the dam, or of what came to it.

    Asked for while the arrays are fresh, it costs next to nothing (measured).
    """
    arrived, before = np.maximum.reduce(arrived_ml), np.maximum.reduce(before_release_ml)
    return max(capacity_ml, float(arrived), float(before))


def without_dust(
    left_ml: FloatArray, capacity_ml: float, arrived_ml: FloatArray, before_release_ml: FloatArray
) -> FloatArray:
    """Return what is left in the dam, and nothing where only rounding is left or less than nothing.

    Parameters
    ----------
    left_ml
        (sequence,) what is left.
    capacity_ml
        Of the dam.
    arrived_ml, before_release_ml
        (sequence,) what it is left of: storage and inflow; less evaporation, or with rain.

    Examples
    --------
    >>> at_hand_ml = np.full(3, 3_879.2)
    >>> without_dust(np.array([-1e-13, 4.5e-13, 1e-6]), 10.0, at_hand_ml, at_hand_ml).tolist()
    [0.0, 0.0, 1e-06]
    """
    at_hand_ml = at_least(capacity_ml, np.maximum(arrived_ml, before_release_ml))
    return np.where(left_ml < DUST_FRAC * at_hand_ml, 0.0, left_ml)
