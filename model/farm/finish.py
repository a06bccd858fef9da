"""How much of the main crop will the water finish, and is the rest still worth picking?

Land cut back gets no more water. It keeps its own root zone, and what it has lost, and lives on
rain alone; it is given up, and costs nothing more, where the yield it is likely to make in average
weather does not pay the costs still to come. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from model.farm.expected import Expectation
from model.farm.growing import Growing
from model.farm.layouts import LayoutRules
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.sight import water_in_sight_ml
from model.farm.soil import SomeLand
from model.farm.state import BoolArray, FarmState, Field, Settings
from model.farm.watering import forecast, to_finish_mm
from model.record.record import FloatArray


def to_finish_ml_per_ha(growing: Growing, field: Field, k: int) -> FloatArray:
    """Return the water that finishes a hectare from a month on, at the farm gate."""
    return to_finish_mm(growing, k, field.watered.water_mm) * growing.gate_ml_per_ha_per_mm


def to_finish_ml(state: FarmState, k: int, rules: FarmRules) -> FloatArray:
    """Return the water that finishes all that is watered, from a month on, at the farm gate."""
    total_ml = nothing_like(state.bank_aud)
    for growing, field in zip(rules.growings, state.fields, strict=True):
        if field is not None and field.watered_ha.any() and growing.is_watered_in(k):
            total_ml = total_ml + field.watered_ha * to_finish_ml_per_ha(growing, field, k)
    return total_ml


def finish(
    state: FarmState,
    frozen: FloatArray,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation,
    rules: FarmRules,
) -> FarmState:
    """Cut the main crop back to what the water will finish, unless the shortage is to be spread.

    Parameters
    ----------
    state
        The farm in the month of the decision, after its credit.
    frozen
        Of the account, ML per share.
    settings, river, expectation, rules
        The strategies, the month, what may be expected, and the farm.
    """
    cuts = ~settings.spreads_shortage
    if not cuts.any() or not state.main_fields(rules):
        return state
    sight_ml = water_in_sight_ml(
        state,
        frozen,
        settings,
        river,
        expectation,
        rules,
        ahead=rules.main_ahead,
        holding=False,
    )
    need_ml = to_finish_ml(state, river.k, rules)
    enough = np.divide(sight_ml, need_ml, out=np.ones_like(need_ml), where=need_ml > 0.0)
    kept_frac = np.where(cuts, np.minimum(1.0, enough), 1.0)
    fields = list(state.fields)
    for at in rules.crop.places:
        field = fields[at]
        if field is not None and field.watered_ha.any():
            fields[at] = _cut(field, kept_frac, river.k, rules.growings[at], rules.layouts[at])
    return replace(state, fields=tuple(fields))


def _cut(
    field: Field, kept_frac: FloatArray, k: int, growing: Growing, layout: LayoutRules
) -> Field:
    """Return a field cut back to a part of its watered land."""
    kept_ha = field.watered_ha * kept_frac
    cut_ha = field.watered_ha - kept_ha
    if not cut_ha.any():
        return field
    some = SomeLand.where(cut_ha > 0.0)
    likely_frac = forecast(growing, k, field.watered.on(some)).kept_frac
    to_come_aud = float(layout.growing_cost_ahead_aud_per_ha[k])
    pays = pays_to_pick(layout.full_yield_units_per_ha * likely_frac, to_come_aud, layout)
    dry_ha = some.put(np.where(pays, some.of(cut_ha), 0.0), np.zeros(1))
    return replace(field, watered_ha=kept_ha, dry_ha=dry_ha, dry=field.watered)


def pays_to_pick(
    units_per_ha: FloatArray, growing_aud_per_ha: float, layout: LayoutRules
) -> BoolArray:
    """Return whether a yield pays the costs still to come; what is spent is spent.

    Parameters
    ----------
    units_per_ha
        The yield.
    growing_aud_per_ha
        Growing costs until harvest.
    layout
        Prices and costs.
    """
    to_come_aud = growing_aud_per_ha + layout.harvest_cost_aud_per_ha
    a_unit_leaves_aud = layout.price_aud_per_unit - layout.harvest_cost_aud_per_unit
    return np.asarray(units_per_ha * a_unit_leaves_aud > to_come_aud)
