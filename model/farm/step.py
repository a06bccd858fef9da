"""What does one month do to the farm?

The month in the order of the calendar and of the valley's own scheme: the water year turns, water
is credited, drought steps are taken, land is chosen, crops are sown or cut back, water is traded,
crops are watered, storage and account bear the month, crops are harvested, and the money moves. A
pure function on arrays: all strategies and all sequences at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

from model.farm import trade, water
from model.farm.cash import CashMonth, month_of_cash
from model.farm.crop_month import CropMonth, water_crop
from model.farm.expected import Expectation
from model.farm.finish import finish, to_finish_ml
from model.farm.harvest import CropsMoney, crops_money
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.sow import prepare_land, sow
from model.farm.state import FarmState, Settings
from model.farm.steps import StepsMonth, in_force, season_over, take_steps
from model.farm.trade import Traded
from model.farm.water import AccountEnd, StorageMonth
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class FarmFluxes:
    """All that moved in a month, each (strategy, sequence)."""

    carryover_loss_ml_per_share: FloatArray  # forfeited or lost on 1 July
    credited_ml_per_share: FloatArray
    usable_ml_per_share: FloatArray  # after the credit, before decisions and orders
    account_before_ml_per_share: FloatArray  # likewise
    set_by: FloatArray  # what set the main crop's area, as `SetBy`; not a number: not its month
    prepared_ha: FloatArray  # for the main crop, before it was sown
    traded: Traded
    watering: CropMonth
    account_end: AccountEnd
    storage: StorageMonth
    crops: CropsMoney
    cash: CashMonth
    shares_ml: FloatArray | float  # of general security: what is per share is of these
    steps: StepsMonth | None  # None: no strategy has drought steps


def step(
    state: FarmState,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation,
    rules: FarmRules,
) -> tuple[FarmState, FarmFluxes]:
    """Take the farm through one month.

    Parameters
    ----------
    state
        The farm at the start of the month, each (strategy, sequence).
    settings
        The strategies.
    river
        The valley and the weather, as the farm meets them.
    expectation
        How much more may be announced, as far as can be known on a day.
    rules
        The farm's rules.

    Returns
    -------
    FarmState, FarmFluxes
        The farm at the start of the next month; what moved. The arguments stay as they are.
    """
    crop, none = rules.crop, nothing_like(state.bank_aud)
    rules = in_force(rules, state)

    # 1 July: the account is carried over, and the year's counts begin again.
    carryover_loss = none
    if river.turns_year:
        state, carryover_loss = water.turn_water_year(state, river, rules.water)

    # Announced water is credited, as far as it fits; a low dam freezes part of the account.
    credited = water.credited_ml_per_share(state, river, rules.water)
    account = state.account_ml_per_share + credited
    frozen = water.frozen_ml_per_share(state, account, river, rules.water)
    state = replace(state, account_ml_per_share=account, frozen_ml_per_share=frozen)

    # Drought steps come before all other decisions.
    steps, shares_ml = None, rules.water.shares_ml
    if state.drought is not None:
        state, steps = take_steps(state, settings, river, rules)
        rules = in_force(rules, state)
        more = shares_ml / rules.water.shares_ml
        carryover_loss, credited = carryover_loss * more, credited * more
        account, frozen = state.account_ml_per_share, state.frozen_ml_per_share
    frozen = water.out_of_reach_ml_per_share(state, frozen, river)  # what is locked, too
    usable = water.usable_ml_per_share(state, account, frozen, rules.water)

    # Decisions, on what is known now.
    usable_now = usable
    state = prepare_land(state, settings, river.k, rules)
    prepared_ha = state.prepared_ha
    state, bought_ml, sold_ml = trade.trade_now(state, frozen, settings, river, rules)
    state, ml, set_by = sow(state, frozen, settings, river, expectation, rules)
    bought_ml = bought_ml + ml
    if river.k == crop.finish_k:
        state = finish(state, frozen, settings, river, expectation, rules)
    for_crops_ml = partial(to_finish_ml, state, river.k, rules)
    state, ml = trade.buy_water(state, frozen, for_crops_ml, settings, river, rules)
    bought_ml = bought_ml + ml
    state, ml = trade.sell_water(state, frozen, for_crops_ml, settings, river, rules)
    sold_ml = sold_ml + ml

    # The crop is watered; storage and account bear the month.
    if state.account_ml_per_share is not account:  # some was bought or sold
        usable_now = water.usable_ml_per_share(
            state, state.account_ml_per_share, frozen, rules.water
        )
    state, watering = water_crop(state, usable_now, river, rules)
    state, storage = water.storage_after(state, watering.taken, river, rules.water)
    state, account_end = water.account_after(state, river)

    # Money.
    if steps is not None:
        bought_ml, sold_ml = bought_ml + steps.bought_ml, sold_ml + steps.sold_ml
    traded = trade.traded_of(bought_ml, sold_ml, river, rules.market)
    state, crops = crops_money(state, watering, river, rules)
    state, cash = month_of_cash(state, crops, traded, river, rules)
    if steps is not None:
        cash = replace(cash, costs_aud=cash.costs_aud + steps.cost_aud)  # paid already
    return season_over(state, river), FarmFluxes(
        carryover_loss_ml_per_share=carryover_loss,
        credited_ml_per_share=credited + account_end.shared,
        usable_ml_per_share=usable,
        account_before_ml_per_share=account,
        set_by=set_by,
        prepared_ha=prepared_ha,
        traded=traded,
        watering=watering,
        account_end=account_end,
        storage=storage,
        crops=crops,
        cash=cash,
        shares_ml=rules.water.shares_ml,
        steps=steps,
    )
