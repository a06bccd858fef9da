"""How does the valley go through a run of months?

The driver loops over months and nothing else; whoever wants something of a month takes it as it
comes by. `ledger` keeps every flux of every month, as a table that can be checked from outside.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.sequences.unique import laid_out
from model.valley.capacity import Sharing
from model.valley.rules import Rules
from model.valley.stages import StageArray
from model.valley.state import Forcing, State
from model.valley.step import Fluxes, step
from model.water_year import month_of_water_year


@dataclass(frozen=True, slots=True)
class Month:
    """One month of a run: its number, what moved in it, and the valley after it."""

    month: int  # month number
    fluxes: Fluxes
    end: State
    parents: NDArray[np.intp] | None = None
    """(sequence,) which sequence of the month before each goes on from; None: its own place's."""


def run(
    opening: State, forcing: Forcing, rules: Rules, first_month: int, *, opens_run: bool = True
) -> Iterator[Month]:
    """Take the valley through the months of all sequences, one month at a time.

    Parameters
    ----------
    opening
        The valley at the start of the first month, each (sequence,).
    forcing
        What comes, (sequence, month).
    rules
        The valley's rules.
    first_month
        Month number of the first month.
    opens_run
        Whether a run begins with it: then the opening already stands in its water year.
    """
    state = opening
    for t in range(forcing.months):
        k = month_of_water_year(first_month + t)
        state, fluxes = step(state, forcing.weather(t), k, rules, opens_run=opens_run and t == 0)
        yield Month(first_month + t, fluxes, state)


def run_legs(
    opening: State,
    legs: Iterable[tuple[NDArray[np.intp] | None, Forcing]],
    rules: Rules,
    first_month: int,
) -> Iterator[Month]:
    """Take the valley through sequences that are one until they part; see `run`.

    Parameters
    ----------
    opening
        The valley at the start of the first month.
    legs
        Which sequence of the leg before each goes on from, in the first of the opening (None: the
        one in its own place); what comes.
    rules, first_month
        As for `run`.
    """
    state, began = opening, first_month
    for parents, forcing in legs:
        opens_run, grown = began == first_month, state if parents is None else state.of(parents)
        for month in run(grown, forcing, rules, began, opens_run=opens_run):
            yield replace(month, parents=parents) if month.month == began else month
            state = month.end
        began += forcing.months


Column = Callable[[Month], FloatArray | StageArray | float]
"""Where a column is found in a month."""

LEDGER: Final[Mapping[str, Column]] = MappingProxyType(
    {
        "storage_start_ml": lambda m: m.fluxes.opening.storage_ml,
        "inflow_ml": lambda m: m.fluxes.weather.inflow_ml,
        "tributary_ml": lambda m: m.fluxes.weather.tributary_ml,
        "net_evaporation_ml": lambda m: m.fluxes.released.net_evaporation_ml,
        "essential_ml": lambda m: m.fluxes.released.essential_ml,
        "river_loss_ml": lambda m: m.fluxes.released.river_loss_ml,
        "base_flow_ml": lambda m: m.fluxes.released.base_flow_ml,
        "high_security_ml": lambda m: m.fluxes.released.high_security_ml,
        "general_security_ml": lambda m: m.fluxes.released.general_security_ml,
        "delivery_loss_ml": lambda m: m.fluxes.released.delivery_loss_ml,
        "spill_ml": lambda m: m.fluxes.released.spill_ml,
        "storage_end_ml": lambda m: m.end.storage_ml,
        "assured_inflow_ml": lambda m: m.fluxes.assessed.assured_inflow_ml,
        "committed_ml": lambda m: m.fluxes.assessed.committed_ml,
        "high_security_allocation_frac": lambda m: m.end.high_security_allocation_frac,
        "announced_ml_per_share": lambda m: m.fluxes.assessed.announced_ml_per_share,
        "announced_to_date_ml_per_share": lambda m: m.end.announced_to_date_ml_per_share,
        "credited_ml_per_share": lambda m: m.fluxes.credited_ml_per_share,
        "forfeited_ml_per_share": lambda m: m.fluxes.forfeited_ml_per_share,
        "account_loss_ml_per_share": lambda m: m.fluxes.account_loss_ml_per_share,
        "frozen_ml_per_share": lambda m: m.end.frozen_ml_per_share,
        "account_ml_per_share": lambda m: m.end.account_ml_per_share,
        "uncontrolled_ml": lambda m: m.fluxes.released.uncontrolled_ml,
    }
)
"""The columns of a ledger, in order, and where each is found in a month."""

_SHARED: Final[Mapping[str, Column]] = MappingProxyType(
    {
        "internal_spill_in_ml": lambda m: _sharing(m).spilled_in_ml,
        "internal_spill_out_ml": lambda m: _sharing(m).spilled_out_ml,
        "higher_classes_water_ml": lambda m: _sharing(m).others_ml,
    }
)
_FIXED_LOSS: Final[Mapping[str, Column]] = MappingProxyType(
    {"fixed_delivery_loss_ml": lambda m: m.fluxes.released.fixed_loss_ml}
)
_BLOCKS: Final[Mapping[str, Column]] = MappingProxyType(
    {"deferred_ml": lambda m: m.fluxes.deferred_ml}
)
_STAGES: Final[Mapping[str, Column]] = MappingProxyType(
    {"restriction_stage": lambda m: m.end.restriction_stage}
)
_ENVIRONMENT: Final[Mapping[str, Column]] = MappingProxyType(
    {
        "environment_ml": lambda m: m.fluxes.released.environment_ml,
        "environment_credit_ml": lambda m: m.fluxes.environment_credit_ml,
        "environment_account_ml": lambda m: m.end.environment_ml,
    }
)
_HIGH_SECURITY_CARRY: Final[Mapping[str, Column]] = MappingProxyType(
    {"high_security_carried_ml": lambda m: m.end.high_security_carried_ml}
)
_LOCK: Final[Mapping[str, Column]] = MappingProxyType(
    {"locked_ml_per_share": lambda m: m.fluxes.locked_ml_per_share}
)


def _sharing(month: Month) -> Sharing:
    """Return how the dam is shared, where it is."""
    assert month.fluxes.sharing is not None  # asked only where capacity is shared
    return month.fluxes.sharing


def ledger_columns(rules: Rules) -> dict[str, Column]:
    """Return the columns of a valley's ledger, in order: those of its further rules come last."""
    further = (
        (rules.capacity_share is not None, _SHARED),
        (rules.fixed_loss is not None, _FIXED_LOSS),
        (rules.block_release is not None, _BLOCKS),
        (bool(rules.stages), _STAGES),
        (rules.environment is not None, _ENVIRONMENT),
        (rules.high_security_carryover_frac is not None, _HIGH_SECURITY_CARRY),
        (rules.spill_lock is not None, _LOCK),
    )
    columns = dict(LEDGER)
    for stated, named in further:
        if stated:
            columns |= named
    return columns


NEW_WATER: Final[Mapping[str, Column]] = MappingProxyType(
    {
        "new_water_ml_per_share": lambda m: m.fluxes.new_water_ml_per_share,
        "water_to_date_ml_per_share": lambda m: m.end.water_to_date_ml_per_share,
    }
)
"""What comes to a share in a month, and in its water year: announced; credited, where shared."""


def commitments(rules: Rules) -> dict[str, Column]:
    """Return the parts of `committed_ml` that this valley sets aside, in their order."""
    first = dict(COMMITMENTS)
    rest = {name: first.pop(name) for name in ("high_security_reserve_ml", "account_reserve_ml")}
    if rules.environment is not None:
        first["environment_reserve_ml"] = lambda m: m.fluxes.assessed.environment_reserve_ml
    if rules.fixed_loss is not None:
        first["fixed_loss_reserve_ml"] = lambda m: m.fluxes.assessed.fixed_loss_reserve_ml
    return first | rest


COMMITMENTS: Final[Mapping[str, Column]] = MappingProxyType(
    {
        "essential_reserve_ml": lambda m: m.fluxes.assessed.essential_reserve_ml,
        "losses_reserve_ml": lambda m: m.fluxes.assessed.losses_reserve_ml,
        "base_flow_reserve_ml": lambda m: m.fluxes.assessed.base_flow_reserve_ml,
        "high_security_reserve_ml": lambda m: m.fluxes.assessed.high_security_reserve_ml,
        "account_reserve_ml": lambda m: m.fluxes.assessed.account_reserve_ml,
    }
)
"""The parts of `committed_ml`, in the order in which they are set aside."""


class Noted:
    """Some columns of the months of a run, noted as they go by.

    So a run can be gathered and noted at once, and no month is held longer than it is needed.
    """

    def __init__(self, columns: Mapping[str, Column]) -> None:
        self._columns = columns
        self._values: dict[str, list[FloatArray]] = {name: [] for name in columns}
        self._parents: list[NDArray[np.intp] | None] = []

    def passing(self, months: Iterable[Month]) -> Iterator[Month]:
        """Let the months go by."""
        for month in months:
            self._parents.append(month.parents)
            like = month.end.storage_ml
            for name, value_of in self._columns.items():
                value = np.broadcast_to(np.asarray(value_of(month)), like.shape)
                self._values[name].append(value)
            yield month

    def laid_out(self, name: str) -> FloatArray:
        """(sequence, month) lay out a column; each month side by side in memory."""
        return np.stack(laid_out(self._values[name], self._parents)).T


def keep(months: Iterable[Month], columns: Mapping[str, Column]) -> dict[str, FloatArray]:
    """Run through the months and keep some columns of each.

    Returns
    -------
    dict
        Each column (sequence, month).
    """
    noted = Noted(columns)
    for _ in noted.passing(months):
        pass
    return {name: noted.laid_out(name) for name in columns}
