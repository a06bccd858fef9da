"""Which drought steps are taken in a month, and what does each do to the farm?

A step is decided on the first day of its month, after the announcement and before land, planting
and trade, on what is known then. It is taken where all that it asks for holds and where it can do
what it says; a step taken once is not taken again, a yearly one is decided anew. Steps are taken in
their order, and each meets the farm as those before it left it. What a step brings or costs moves
at once; water it sells or buys is paid with the month's other trade. Arrays are (strategy,
sequence).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, NamedTuple, TypeVar

import numpy as np

from model.farm.drought import Drought, nothing_changed
from model.farm.loans import repaid, with_interest_only
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import BoolArray, FarmState, Settings
from model.farm.step_rules import NO_LOAN, StepRules
from model.farm.trade import bought, room_ml, sold
from model.farm.water import out_of_reach_ml_per_share, usable_ml_per_share
from model.outlook.outlook import NOTHING_ML_PER_SHARE
from model.plan.steps import Kind
from model.record.record import FloatArray

JUNE_K: Final = 11
Each = TypeVar("Each")


@dataclass(frozen=True, slots=True)
class StepsMonth:
    """What drought steps moved in a month, each (strategy, sequence)."""

    taken: tuple[BoolArray, ...]  # by step
    received_aud: FloatArray  # into the bank, after loans were repaid from it
    repaid_aud: FloatArray  # of loans, from what was sold
    cost_aud: FloatArray
    bought_ml: FloatArray
    sold_ml: FloatArray
    forfeited_ml: FloatArray  # water of shares sold that the account could not hold


def begun(state: FarmState, settings: Settings, rules: FarmRules) -> FarmState:
    """Return the farm before a run, with what drought steps may change; as it is without steps."""
    if not settings.steps or state.drought is not None:
        return state
    shape = state.bank_aud.shape
    drought = nothing_changed(settings.steps, rules.cash, shape)
    return replace(state, drought=drought)


def in_force(rules: FarmRules, state: FarmState) -> FarmRules:
    """Return the farm's rules with the shares it holds now."""
    if state.drought is None:
        return rules
    return replace(rules, water=replace(rules.water, shares_ml=state.drought.shares_ml))


def drought_of(state: FarmState) -> Drought:
    """Return what drought steps have changed, where there are any."""
    assert state.drought is not None  # begun with the run
    return state.drought


class Asked(NamedTuple):
    """A step whose month it is, and where all that it asks for holds."""

    at: int  # its place
    step: StepRules
    where: BoolArray
    river: RiverMonth
    rules: FarmRules  # with the shares held now


class Did(NamedTuple):
    """What a step did; what it did not move is 0."""

    state: FarmState
    where: BoolArray  # it was taken
    received_aud: FloatArray | float = 0.0
    repaid_aud: FloatArray | float = 0.0
    bought_ml: FloatArray | float = 0.0
    sold_ml: FloatArray | float = 0.0
    forfeited_ml: FloatArray | float = 0.0


def take_steps(
    state: FarmState, settings: Settings, river: RiverMonth, rules: FarmRules
) -> tuple[FarmState, StepsMonth]:
    """Take the steps whose month it is, in their order.

    Parameters
    ----------
    state
        The farm after the month's credit and before its decisions.
    settings, river, rules
        The strategies, the month and the farm.

    Returns
    -------
    FarmState, StepsMonth
        The farm after them; what moved. The arguments stay as they are.
    """
    none = np.zeros_like(state.bank_aud)
    taken = [none.astype(np.bool_)] * len(settings.steps)
    moved = dict.fromkeys(Did._fields[2:], none)
    cost_aud = none
    for at, step in enumerate(settings.steps):
        if step.k != river.k:
            continue
        where = asked_for(state, at, step, river)
        did = DOES[step.kind](state, Asked(at, step, where, river, in_force(rules, state)))
        taken[at] = did.where
        moved = {name: moved[name] + getattr(did, name) for name in moved}
        paid_aud = np.where(did.where, step.cost_aud, 0.0)
        cost_aud = cost_aud + paid_aud
        state = _booked(did, at, step, paid_aud, settings)
    return state, StepsMonth(taken=tuple(taken), cost_aud=cost_aud, **moved)


def asked_for(state: FarmState, at: int, step: StepRules, river: RiverMonth) -> BoolArray:
    """Return where all that a step asks for holds, and it was not taken for good before."""
    drought = drought_of(state)
    nothing = river.known_to_date_ml_per_share <= NOTHING_ML_PER_SHARE
    asked = step.chosen & (river.storage_frac < step.dam_below_frac)
    asked = asked & (state.account_ml_per_share < step.account_below_ml_per_share)
    asked = asked & (state.bank_aud < step.bank_below_aud)
    if step.nothing_announced:
        asked = asked & nothing
    if step.seasons_of_nothing:
        asked = asked & nothing & (drought.seasons_of_nothing + 1.0 >= step.seasons_of_nothing)
    if step.arrears:
        asked = asked & (state.arrears_aud > 0.0)
    return asked if step.is_yearly else asked & ~drought.taken[at]


def _booked(
    did: Did, at: int, step: StepRules, cost_aud: FloatArray, settings: Settings
) -> FarmState:
    """Return the farm with a step's money moved and the step noted as taken."""
    state, drought = did.state, drought_of(did.state)
    ever = did.where if step.is_yearly else drought.taken[at] | did.where
    drought = replace(drought, taken=_with(drought.taken, at, ever))
    return replace(
        state,
        bank_aud=state.bank_aud + did.received_aud - cost_aud,
        profit_aud=state.profit_aud - cost_aud,
        drought=with_levels(drought, settings) if step.kind in LEVELS else drought,
    )


def _with(values: tuple[Each, ...], at: int, value: Each) -> tuple[Each, ...]:
    """Return values with one of them replaced."""
    return (*values[:at], value, *values[at + 1 :])


# -- one function for each kind of step ------------------------------------------------------------


def change_level(state: FarmState, asked: Asked) -> Did:
    """Spend less, or earn more off the farm; see `with_levels`, once the step is noted."""
    return Did(state, asked.where)


def with_levels(drought: Drought, settings: Settings) -> Drought:
    """Return the levels of overheads, drawings and income by the steps that stand."""
    one = np.ones_like(drought.shares_ml)
    overheads, drawings, income_aud = one, one, np.zeros_like(one)
    for step, stands in zip(settings.steps, drought.taken, strict=True):
        if step.kind == "overheads_factor":
            overheads = np.where(stands, overheads * step.amount, overheads)
        elif step.kind == "drawings_factor":
            drawings = np.where(stands, drawings * step.amount, drawings)
        elif step.kind == "off_farm_income_aud_per_year":
            income_aud = np.where(stands, income_aud + step.amount, income_aud)
    return replace(
        drought,
        overheads_factor=overheads,
        drawings_factor=drawings,
        more_income_aud_per_year=income_aud,
    )


def pay_interest_only(state: FarmState, asked: Asked) -> Did:
    """Pay interest only on a loan for some years; the rest of its term then pays it back."""
    drought, step = drought_of(state), asked.step
    loan, terms = drought.loans[step.loan_at], asked.rules.cash.loans[step.loan_at]
    where = asked.where & (loan.balance_aud > 0.0)
    after = with_interest_only(loan, round(step.amount), terms, where)
    loans = _with(drought.loans, step.loan_at, after)
    changed = after.interest_only_left > loan.interest_only_left
    return Did(replace(state, drought=replace(drought, loans=loans)), changed)


def sell_shares(state: FarmState, asked: Asked) -> Did:
    """Sell shares for good: their water stays in the account up to its limit, the rest is lost."""
    drought, step, river = drought_of(state), asked.step, asked.river
    where = asked.where & (drought.shares_ml > step.amount)
    sold_ml = np.where(where, step.amount, 0.0)
    left_ml = drought.shares_ml - sold_ml
    more = drought.shares_ml / left_ml
    before, limit = state.account_ml_per_share, asked.rules.water.account_limit_ml_per_share
    most = np.maximum(before, limit if river.shared is None else river.shared.most_ml_per_share)
    account = np.minimum(before * more, most)
    proceeds_aud, drought = sold_ml * step.price, replace(drought, shares_ml=left_ml)
    repaid_aud = np.zeros_like(proceeds_aud)
    if step.loan_at != NO_LOAN:
        loan = drought.loans[step.loan_at]
        repaid_aud = np.minimum(proceeds_aud, loan.balance_aud)
        loans = _with(drought.loans, step.loan_at, repaid(loan, repaid_aud))
        drought = replace(drought, loans=loans)
    after = replace(
        state,
        account_ml_per_share=account,
        carried_ml_per_share=np.minimum(state.carried_ml_per_share * more, account),
        frozen_ml_per_share=np.minimum(state.frozen_ml_per_share * more, account),
        drought=drought,
    )
    forfeited_ml = (before * more - account) * left_ml
    received_aud = proceeds_aud - repaid_aud
    return Did(after, where, received_aud, repaid_aud, forfeited_ml=forfeited_ml)


def sell_machinery(state: FarmState, asked: Asked) -> Did:
    """Sell machinery, as long as there is so much of it."""
    drought, step = drought_of(state), asked.step
    worth_aud = asked.rules.cash.machinery_worth_aud
    where = asked.where & (drought.machinery_sold_aud + step.amount <= worth_aud)
    sold_aud = np.where(where, step.amount, 0.0)
    after = replace(drought, machinery_sold_aud=drought.machinery_sold_aud + sold_aud)
    return Did(replace(state, drought=after), where, sold_aud * step.price)


def draw_deposit(state: FarmState, asked: Asked) -> Did:
    """Draw from the farm deposit what is left of it; tax on profit counts it as income."""
    drought = drought_of(state)
    drawn_aud = np.where(asked.where, np.minimum(asked.step.amount, drought.deposit_aud), 0.0)
    after = replace(
        state,
        profit_aud=state.profit_aud + drawn_aud,
        drought=replace(drought, deposit_aud=drought.deposit_aud - drawn_aud),
    )
    return Did(after, drawn_aud > 0.0, drawn_aud)


def sell_yearly_water(state: FarmState, asked: Asked) -> Did:
    """Sell yearly water, at a price or more: as much as may be used and the market takes."""
    _, step, where, river, rules = asked
    if rules.market is None:
        return Did(state, where & False)
    frozen = out_of_reach_ml_per_share(state, state.frozen_ml_per_share, river)
    usable = usable_ml_per_share(state, state.account_ml_per_share, frozen, rules.water)
    most_ml = np.maximum(0.0, rules.market.most_ml_per_season - state.sold_ml)
    ml = np.minimum(np.minimum(step.amount, most_ml), usable * rules.water.shares_ml)
    ml = np.where(where & (river.price_aud_per_ml >= step.price), ml, 0.0)
    return Did(sold(state, ml, river, rules), ml > 0.0, sold_ml=ml)


def buy_yearly_water(state: FarmState, asked: Asked) -> Did:
    """Buy yearly water, at a price or less: as much as fits and the market offers."""
    _, step, where, river, rules = asked
    if rules.market is None:
        return Did(state, where & False)
    frozen = out_of_reach_ml_per_share(state, state.frozen_ml_per_share, river)
    most_ml = np.maximum(0.0, rules.market.most_ml_per_season - state.bought_ml)
    ml = np.minimum(np.minimum(step.amount, most_ml), room_ml(state, frozen, rules))
    ml = np.where(where & (river.price_aud_per_ml <= step.price), np.maximum(0.0, ml), 0.0)
    return Did(bought(state, ml, rules), ml > 0.0, bought_ml=ml)


def hire_bore(state: FarmState, asked: Asked) -> Did:
    """Hire bore water until 30 June: what is used of it is paid when it is used."""
    drought = drought_of(state)
    hired = drought.hired[asked.at]
    assert hired is not None  # it is a bore's step
    hired = replace(hired, left_ml=np.where(asked.where, asked.step.amount, hired.left_ml))
    after = replace(drought, hired=_with(drought.hired, asked.at, hired))
    return Did(replace(state, drought=after), asked.where)


Does = Callable[[FarmState, Asked], Did]

DOES: Final[dict[Kind, Does]] = {
    "overheads_factor": change_level,
    "drawings_factor": change_level,
    "off_farm_income_aud_per_year": change_level,
    "interest_only_years": pay_interest_only,
    "sell_shares_ml": sell_shares,
    "sell_machinery_aud": sell_machinery,
    "sell_water_ml": sell_yearly_water,
    "buy_water_ml": buy_yearly_water,
    "draw_deposit_aud": draw_deposit,
    "hire_bore_ml": hire_bore,
}
"""What each kind of step does: a pure function of the farm, the step, where it is asked for, and
the month."""

LEVELS: Final = frozenset(kind for kind, does in DOES.items() if does is change_level)
"""The kinds that hold until the run ends, or for a year."""


def season_over(state: FarmState, river: RiverMonth) -> FarmState:
    """Return the farm after a month: in June the season is counted, and hired bores go back."""
    if state.drought is None or river.k != JUNE_K:
        return state
    nothing = river.announced_to_date_ml_per_share <= NOTHING_ML_PER_SHARE
    in_a_row = np.where(nothing, state.drought.seasons_of_nothing + 1.0, 0.0)
    hired = tuple(each if each is None else each.none_left() for each in state.drought.hired)
    return replace(state, drought=replace(state.drought, seasons_of_nothing=in_a_row, hired=hired))
