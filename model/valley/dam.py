"""Who is served from the dam this month, and what is left in it?

Inflow comes in, the lake evaporates, then releases are made in strict order, each from what the
ones before it left above dead storage: essential supplies, river loss, base flow, high security,
general security. The tributary supplies river loss and base flow before the dam does. What then
stands above capacity spills: a spill comes after the releases.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.record import FloatArray
from model.units import ML_PER_MM_HA
from model.valley.rules import Rules
from model.valley.state import Weather


@dataclass(frozen=True, slots=True)
class Released:
    """Where the month's water went, ML, each (sequence,)."""

    lake_evaporation_ml: FloatArray  # what the weather asks for; below 0 in a wet month
    net_evaporation_ml: FloatArray  # what was really lost
    essential_ml: FloatArray
    river_loss_ml: FloatArray
    base_flow_ml: FloatArray
    high_security_ml: FloatArray  # at the farm gate
    general_security_ml: FloatArray  # at the farm gate
    delivery_loss_ml: FloatArray
    spill_ml: FloatArray
    uncontrolled_ml: FloatArray
    storage_ml: FloatArray  # at the end of the month


def release(
    storage_ml: FloatArray,
    surface_ha: FloatArray,
    weather: Weather,
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
    before_release_ml = np.maximum(0.0, arrived_ml - lake_evaporation_ml)
    water_ml = np.maximum(0.0, before_release_ml - rules.dead_storage_ml)

    tributary_ml = weather.tributary_ml
    river_loss_need_ml = np.maximum(0.0, rules.river_loss_ml[k] - tributary_ml)
    tributary_ml = np.maximum(0.0, tributary_ml - rules.river_loss_ml[k])
    base_flow_need_ml = np.maximum(0.0, rules.base_flow_ml[k] - tributary_ml)
    tributary_ml = np.maximum(0.0, tributary_ml - rules.base_flow_ml[k])

    essential_ml = np.minimum(rules.essential_ml[k], water_ml)
    water_ml = water_ml - essential_ml
    river_loss_ml = np.minimum(river_loss_need_ml, water_ml)
    water_ml = water_ml - river_loss_ml
    base_flow_ml = np.minimum(base_flow_need_ml, water_ml)
    water_ml = water_ml - base_flow_ml
    high_security_release_ml = np.minimum(high_security_order_ml / deliverable_frac, water_ml)
    water_ml = water_ml - high_security_release_ml
    general_security_release_ml = np.minimum(general_security_order_ml / deliverable_frac, water_ml)

    licensed_ml = high_security_release_ml + general_security_release_ml
    before_spill_ml = before_release_ml - (
        essential_ml + river_loss_ml + base_flow_ml + licensed_ml
    )
    end_ml = np.minimum(before_spill_ml, rules.capacity_ml)
    spill_ml = before_spill_ml - end_ml
    return Released(
        lake_evaporation_ml=lake_evaporation_ml,
        net_evaporation_ml=arrived_ml - before_release_ml,
        essential_ml=essential_ml,
        river_loss_ml=river_loss_ml,
        base_flow_ml=base_flow_ml,
        high_security_ml=high_security_release_ml * deliverable_frac,
        general_security_ml=general_security_release_ml * deliverable_frac,
        delivery_loss_ml=licensed_ml * rules.delivery_loss_frac,
        spill_ml=spill_ml,
        uncontrolled_ml=spill_ml + tributary_ml,
        storage_ml=end_ml,
    )
