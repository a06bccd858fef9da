"""Which further rules does this valley have, as numbers ready for a month's step?

Each function prepares one rule that a plan may state and returns None, or nothing, where it states
none. Calendar months become months of the water year, fractions of capacity become volumes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import chain

from model.plan.valley import Valley
from model.valley.capacity import CapacityShare
from model.valley.delivery import ORDERS_NOTHING_FRAC, BlockRelease, FixedLoss
from model.valley.environment import Environment
from model.valley.horizon import or_infinite, sums_ahead
from model.valley.spill_lock import SpillLock
from model.valley.stages import Stage
from model.water_year import MONTHS_IN_YEAR

NEVER_K = MONTHS_IN_YEAR
"""A month of the water year that does not come."""


def k_of_number(number: int) -> int:
    """Return the month of the water year (0 = July) of a calendar month's number.

    Examples
    --------
    >>> k_of_number(7), k_of_number(1)
    (0, 6)
    """
    return (number - 7) % MONTHS_IN_YEAR


def stages_of(valley: Valley) -> tuple[Stage, ...]:
    """Return the stages of a restriction, the first one first."""
    stages = () if valley.access is None else valley.access.stages
    return tuple(
        Stage(each.trigger_frac * valley.capacity_ml, each.access_frac, each.freezes == "carried")
        for each in stages
    )


def spill_lock_of(valley: Valley) -> SpillLock | None:
    """Return what opens the lock on carried water."""
    below_frac = valley.accounts.spill_lock_below_frac
    until_month = valley.accounts.spill_lock_until_month
    if below_frac is None and until_month is None:
        return None
    return SpillLock(
        below_ml=-math.inf if below_frac is None else below_frac * valley.capacity_ml,
        until_k=NEVER_K if until_month is None else k_of_number(until_month),
    )


def fixed_loss_of(valley: Valley, horizon_months: Sequence[int]) -> FixedLoss | None:
    """Return the fixed delivery loss, and what is set aside for it over the horizon."""
    if valley.delivery_loss_fixed_ml is None:
        return None
    high, general, blocks = valley.high_security, valley.general_security, valley.block_release
    runs_high = [high.shares_ml > 0.0 and share > 0.0 for share in high.pattern]
    runs_general = [share > 0.0 for share in general.pattern]
    if blocks is not None:
        runs_general = _listed(blocks.months)
    fixed_ml = valley.delivery_loss_fixed_ml
    of_high_ml = [ml if h else 0.0 for ml, h in zip(fixed_ml, runs_high, strict=True)]
    of_general_ml = [
        ml if g and not h else 0.0
        for ml, h, g in zip(fixed_ml, runs_high, runs_general, strict=True)
    ]
    return FixedLoss(
        loss_ml=fixed_ml,
        high_security_ahead_ml=sums_ahead(of_high_ml, horizon_months),
        general_security_ahead_ml=sums_ahead(of_general_ml, horizon_months),
        least_order_ml=ORDERS_NOTHING_FRAC * valley.capacity_ml,
    )


def block_release_of(valley: Valley) -> BlockRelease | None:
    """Return the months of block releases, and what each of them covers."""
    blocks = valley.block_release
    if blocks is None:
        return None
    listed, pattern = _listed(blocks.months), valley.general_security.pattern
    covers = []
    for k in range(MONTHS_IN_YEAR):
        later = (m for m in range(k + 1, MONTHS_IN_YEAR) if listed[m])
        until = next(chain(later, (MONTHS_IN_YEAR,)))
        to_june = sum(pattern[k:])
        covers.append(sum(pattern[k:until]) / to_june if to_june > 0.0 else 0.0)
    return BlockRelease(blocks.below_ml, tuple(listed), tuple(covers))


def _listed(months: Sequence[int]) -> list[bool]:
    """Return, by month of the water year, whether it is among these calendar months."""
    places = {k_of_number(month) for month in months}
    return [k in places for k in range(MONTHS_IN_YEAR)]


def environment_of(valley: Valley) -> Environment | None:
    """Return the rules of the environment's allowance."""
    stated = valley.environment
    if stated is None:
        return None
    return Environment(
        yearly_ml=stated.yearly_ml,
        credit_frac=stated.credit_frac,
        inflow_frac=stated.inflow_frac,
        limit_ml=or_infinite(stated.limit_ml),
        carryover_limit_ml=or_infinite(stated.carryover_limit_ml),
        release_ml=stated.release_ml,
    )


def capacity_share_of(valley: Valley) -> CapacityShare | None:
    """Return what general security owns of the dam."""
    stated = valley.capacity_sharing
    if stated is None:
        return None
    whole_ml = valley.capacity_ml - valley.dead_storage_ml
    space_ml = stated.space_frac * whole_ml
    shares_ml = valley.general_security.shares_ml
    return CapacityShare(
        space_ml=space_ml,
        others_space_ml=whole_ml - space_ml,
        inflow_frac=stated.inflow_frac,
        gate_frac_per_ml=(1.0 - valley.delivery_loss_frac) / shares_ml,
    )
