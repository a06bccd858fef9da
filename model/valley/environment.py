"""What does the environment hold in the dam, and what is released of it?

An allowance at the dam: credited once a year from what is free on 1 July, in step with what general
security is credited, and from inflow; released by month after base flow; cut to what the dam holds.
Arrays are (sequence,), ML at the dam.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.record.record import FloatArray
from model.valley.level import at_least, at_most


@dataclass(frozen=True, slots=True)
class Environment:
    """The rules of the allowance; a limit that is not there is infinite."""

    yearly_ml: float
    credit_frac: float  # of what general security is credited
    inflow_frac: float
    limit_ml: float
    carryover_limit_ml: float
    release_ml: tuple[float, ...]  # by month of the water year


def yearly_credit_ml(
    allowance_ml: FloatArray, unset_ml: FloatArray, rules: Environment
) -> FloatArray:
    """Return the 1 July credit: of what is not set aside before it, within the limit."""
    room_ml = np.minimum(rules.limit_ml - allowance_ml, unset_ml - allowance_ml)
    return at_least(0.0, at_most(rules.yearly_ml, room_ml))


def announced_beside(
    free_ml: FloatArray,
    allowance_ml: FloatArray,
    gate_frac_per_ml: float,
    deliverable_frac: float,
    rules: Environment,
) -> FloatArray:
    """Return what may be announced, ML per share, if the allowance takes its part of the credit.

    Parameters
    ----------
    free_ml
        Not below 0, at the dam.
    allowance_ml
        Before that credit.
    gate_frac_per_ml
        ML per share that one ML at the dam makes at the farm gate.
    deliverable_frac
        Of a release.
    rules
        The allowance's.
    """
    beside = free_ml * (gate_frac_per_ml / (1.0 + rules.credit_frac * deliverable_frac))
    if rules.limit_ml == np.inf:
        return beside
    room_ml = at_least(0.0, rules.limit_ml - allowance_ml)
    return np.maximum(beside, at_least(0.0, free_ml - room_ml) * gate_frac_per_ml)


def credit_beside_ml(
    allowance_ml: FloatArray, credited_ml: FloatArray, rules: Environment
) -> FloatArray:
    """Return the allowance's part of a credit to general security, within the limit."""
    part_ml = rules.credit_frac * credited_ml
    return at_least(0.0, np.minimum(part_ml, rules.limit_ml - allowance_ml))


def inflow_credit_ml(
    allowance_ml: FloatArray, inflow_ml: FloatArray, rules: Environment
) -> FloatArray:
    """Return the allowance's part of the month's inflow, within the limit."""
    part_ml = rules.inflow_frac * inflow_ml
    return at_least(0.0, np.minimum(part_ml, rules.limit_ml - allowance_ml))
