"""How does the whole valley become the one dam of the textbooks?

The theory of storage knows a dam of capacity C, a demand m and an inflow X in each season, with

    R = min(m, S + X),    S' = min(C, S + X - R)        (what spills, spills after the release)

The valley is turned into that dam by a plan, not by other code: no dead storage, surface,
evaporation, river loss, base flow, delivery loss or reserve; no years ahead; all of a season's
inflow in its first month. The demand can then stand in three places, each exact:

- *essential supplies*, asked for in the month of the inflow. They need no announcement, and the
  valley spills after its releases, so its capacity is C.
- *high security* or *general security*, with nothing assured. A class may then order only what an
  assessment found in the dam, so the inflow comes in July and all use is in August. The water has
  to wait a month in the dam: its capacity is C + m, and `min(C + m, S + X) - min(m, S + X)` is
  `min(C, S + X - R)`.
- *high security* or *general security on trust*: so much inflow is assured that the whole
  allocation is announced on 1 July whatever the dam holds, and all is ordered in July, before what
  comes is known. Capacity is C again; general accounts carry nothing over, so that water which
  could not be delivered is not ordered again a year later.

Holding the use back to August with a capacity of C alone is the classical mistake, to spill before
the release: `spill_first` makes it on purpose, as the wrong model that a check has to refuse.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.plan.plan import Plan
from model.plan.text import check_plan
from model.record.record import FloatArray, Record
from model.valley.rules import rules_of
from model.valley.run import LEDGER, run
from model.valley.state import forcing_of, opening_state
from model.water_year import parse_month

OPENING = "2000-07"
NONE = (0.0,) * 12
IN_JULY = (1.0,) + (0.0,) * 11
IN_AUGUST = (0.0, 1.0) + (0.0,) * 10

SUPPLIES = ("essential_ml", "high_security_ml", "general_security_ml")
PLAYED = (*SUPPLIES, "spill_ml", "inflow_ml", "credited_ml_per_share")


def textbook_plan(
    capacity_ml: float,
    *,
    essential_ml: Sequence[float] = NONE,
    high_security_ml: float = 0.0,
    general_security_ml: float = 0.0,
    used_in: Sequence[float] = IN_AUGUST,
    assured_ml_per_month: float = 0.0,
    storage_ml: float = 0.0,
    sequences: Mapping[str, Any] | None = None,
) -> Plan:
    """Plan of a dam that loses nothing and sets nothing aside.

    A class without demand announces nothing: the allocation cap of general security is then 0.
    """
    return check_plan(
        {
            "title": "The dam of the textbooks",
            "record": "record.csv",
            "invented": True,
            "valley": {
                "name": "A dam and no valley",
                "capacity_ml": float(capacity_ml),
                "dead_storage_ml": 0.0,
                "surface_storage_ml": [0.0],
                "surface_area_ha": [0.0],
                "lake_evaporation_mm": NONE,
                "lake_rain_mm": NONE,
                "essential_ml": tuple(map(float, essential_ml)),
                "river_loss_ml": NONE,
                "base_flow_ml": NONE,
                "delivery_loss_frac": 0.0,
                "high_security": {"shares_ml": float(high_security_ml), "pattern": used_in},
                "general_security": {
                    "shares_ml": float(general_security_ml) or 1.0,
                    "pattern": used_in,
                },
                "assessment": {
                    "years_ahead": 0,
                    "essential_reserve_months": 0,
                    "high_security_next_year_frac": 0.0,
                    "assured_inflow": "fixed",
                    "assured_fixed_ml_per_month": float(assured_ml_per_month),
                },
                "accounts": {
                    "account_limit_ml_per_share": 1.0,
                    "allocation_cap_ml_per_share": 1.0 if general_security_ml else 0.0,
                    "carryover_limit_ml_per_share": 0.0,
                    "loss_mode": "socialised",
                    "spill_rule": "none",
                },
            },
            "opening": {
                "month": OPENING,
                "storage_ml": float(storage_ml),
                "account_ml_per_share": 0.0,
                "announced_to_date_ml_per_share": 0.0,
                "used_this_year_ml_per_share": 0.0,
                "used_last_year_ml_per_share": 0.0,
                "used_year_before_ml_per_share": 0.0,
                "high_security_used_ml": 0.0,
                "high_security_allocation_frac": 0.0,
            },
            "sequences": dict(sequences or {}),
        },
        "textbook",
    )


def _in_july(demand_ml: float) -> tuple[float, ...]:
    return (demand_ml,) + (0.0,) * 11


def spill_first(capacity_ml: float, demand_ml: float) -> Plan:
    """Wrong on purpose: what does not fit spills before the release."""
    return textbook_plan(capacity_ml, high_security_ml=demand_ml)


PLACES: Mapping[str, Callable[[float, float], Plan]] = MappingProxyType(
    {
        "essential": lambda c, m: textbook_plan(c, essential_ml=_in_july(m)),
        "high security": lambda c, m: textbook_plan(c + m, high_security_ml=m),
        "general security": lambda c, m: textbook_plan(c + m, general_security_ml=m),
        "high security on trust": lambda c, m: textbook_plan(
            c, high_security_ml=m, used_in=IN_JULY, assured_ml_per_month=m
        ),
        "general security on trust": lambda c, m: textbook_plan(
            c, general_security_ml=m, used_in=IN_JULY, assured_ml_per_month=m
        ),
    }
)
"""Where the demand may stand: plan of a dam of this capacity and this demand, both in ML."""


def record_of_months(inflow_ml: ArrayLike) -> Record:
    """Record of these months of inflow, the first a July; any length."""
    months_ml = np.array(inflow_ml, dtype=np.float64)
    return Record(
        name="textbook",
        sha256="",
        first_month=parse_month("1900-07"),
        inflow_ml=months_ml,
        columns={},
        indices={},
        filled={},
    )


def record_of_years(inflow_ml: ArrayLike) -> Record:
    """Record of these years, all the inflow of each in July."""
    months_ml = np.zeros((np.size(inflow_ml), 12))
    months_ml[:, 0] = inflow_ml
    return record_of_months(months_ml.ravel())


def rows_of_years(years: ArrayLike) -> NDArray[np.intp]:
    """(sequence, month) rows of whole years given by number, (sequence, season)."""
    numbers = np.asarray(years, dtype=np.intp)
    rows = 12 * numbers[..., None] + np.arange(12)
    return rows.reshape(numbers.shape[0], -1)


@dataclass(frozen=True)
class Played:
    """What each season of each sequence brought, each (sequence, season)."""

    by_class_ml: dict[str, FloatArray]  # the names of SUPPLIES
    spill_ml: FloatArray
    credited_ml_per_share: FloatArray
    storage_end_ml: FloatArray

    @property
    def released_ml(self) -> FloatArray:
        """All that was supplied."""
        return sum(self.by_class_ml.values(), start=np.zeros_like(self.spill_ml))


def play(
    plan: Plan,
    record: Record,
    rows: NDArray[np.intp],
    *,
    storage_ml: ArrayLike | None = None,
    season_months: int = 12,
) -> Played:
    """Run the valley through rows of the record and gather its seasons.

    Parameters
    ----------
    plan, record
        As made above.
    rows
        (sequence, month) row numbers.
    storage_ml
        (sequence,) or one number: opening storage in place of the plan's.
    season_months
        How many months a season has.
    """
    sequences, months = rows.shape
    opening = opening_state(plan.opening, sequences)
    if storage_ml is not None:
        opening = replace(
            opening, storage_ml=np.broadcast_to(np.asarray(storage_ml, float), (sequences,))
        )
    sums = {name: np.zeros((sequences, months // season_months)) for name in PLAYED}
    ends = np.empty((sequences, months // season_months))
    forcing = forcing_of(rows, record, plan.valley)
    rules = rules_of(plan.valley, record)
    for t, month in enumerate(run(opening, forcing, rules, parse_month(plan.opening.month))):
        for name, total in sums.items():
            total[:, t // season_months] += LEDGER[name](month)
        ends[:, t // season_months] = month.end.storage_ml
    np.testing.assert_allclose(  # a dam that loses nothing
        opening.storage_ml + sums["inflow_ml"].sum(axis=1),
        ends[:, -1] + sum(sums[name].sum(axis=1) for name in (*SUPPLIES, "spill_ml")),
        rtol=1e-9,
        atol=1e-9,
    )
    return Played(
        by_class_ml={name: sums[name] for name in SUPPLIES},
        spill_ml=sums["spill_ml"],
        credited_ml_per_share=sums["credited_ml_per_share"],
        storage_end_ml=ends,
    )


def by_formula(
    capacity_ml: float, demand_ml: float, inflow_ml: FloatArray, storage_ml: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Release and closing storage of one season, straight from the textbook."""
    released_ml = np.minimum(demand_ml, storage_ml + inflow_ml)
    return released_ml, np.minimum(capacity_ml, storage_ml + inflow_ml - released_ml)
