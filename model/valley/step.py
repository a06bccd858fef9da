"""What does one month do to the valley?

The month in the order of the scheme: the water year turns, the dam is assessed and water announced,
access is set, orders are placed, the dam is run, and the accounts bear what came of it. A pure
function on arrays, all sequences at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from model.record.record import FloatArray
from model.valley import accounts
from model.valley.access import Access, frozen_ml_per_share
from model.valley.assessment import Assessed, assess
from model.valley.dam import Released, release
from model.valley.level import at_least, at_most, level
from model.valley.others import order_ml_per_share
from model.valley.rules import Rules
from model.valley.state import State, Weather


@dataclass(frozen=True, slots=True)
class Fluxes:
    """All that moved in a month, each (sequence,)."""

    opening: State  # after the turn of the water year, before the assessment
    weather: Weather
    assessed: Assessed
    released: Released
    access: Access
    account_before_orders_ml_per_share: FloatArray
    usable_ml_per_share: FloatArray  # of it, before the month's order
    high_security_order_ml: FloatArray  # at the farm gate
    general_security_order_ml: FloatArray  # at the farm gate
    forfeited_ml_per_share: FloatArray
    carryover_loss_ml_per_share: FloatArray
    account_drawn_ml_per_share: FloatArray  # after use, before evaporation and spill
    account_end_ml_per_share: FloatArray
    evaporation_share_frac: FloatArray  # of the account
    spill: accounts.SpillTerms | None  # what a spill takes of accounts

    @property
    def account_loss_ml_per_share(self) -> FloatArray:
        """What the account lost to carryover, evaporation and spill."""
        fell = self.account_drawn_ml_per_share - self.account_end_ml_per_share
        return self.carryover_loss_ml_per_share + fell


def step(
    state: State, weather: Weather, k: int, rules: Rules, *, opens_run: bool
) -> tuple[State, Fluxes]:
    """Take the valley through one month.

    Parameters
    ----------
    state
        The valley at the start of the month, each (sequence,).
    weather
        What comes in the month, each (sequence,).
    k
        Month of the water year, 0 = July.
    rules
        The valley's rules.
    opens_run
        Whether it is the run's first month: then the state already stands in this water year.

    Returns
    -------
    State, Fluxes
        The valley at the start of the next month; what moved. The arguments stay as they are.
    """
    shares_ml = rules.general_security_shares_ml

    # 1 July: the account is carried over.
    forfeited = carryover_loss = level(0.0, state.storage_ml.size)
    if k == 0 and not opens_run:
        state, over = open_water_year(state, rules)
        forfeited, carryover_loss = over.forfeited_ml_per_share, over.lost_ml_per_share

    # Assessment: what is free of commitments is announced, and credited where there is room.
    surface_ha = rules.surface.at_ha(state.storage_ml)
    assessed = assess(state, surface_ha, k, rules)
    account = state.account_ml_per_share + assessed.credited_ml_per_share
    announced_to_date = state.announced_to_date_ml_per_share + assessed.announced_ml_per_share

    # Access: a low dam freezes part of the account.
    restricted = state.storage_ml <= rules.restriction_storage_ml
    access = Access(restricted, state.restricted)
    frozen = frozen_ml_per_share(state.frozen_ml_per_share, account, access, rules)
    usable = accounts.usable_ml_per_share(state, account, frozen, rules)

    # Orders, at the farm gate.
    entitled_ml = (
        assessed.high_security_allocation_frac * rules.high_security_shares_ml
        - state.high_security_used_ml
    )
    pattern_ml = rules.high_security_shares_ml * rules.high_security_pattern[k]
    high_security_order_ml = at_least(0.0, at_most(pattern_ml, entitled_ml))
    used_so_far = state.used_this_year_ml_per_share
    ordered = order_ml_per_share(account, used_so_far, usable, k, rules)
    general_security_order_ml = ordered * shares_ml

    # The dam: served in order, then it spills.
    released = release(
        state.storage_ml,
        surface_ha,
        weather,
        high_security_order_ml,
        general_security_order_ml,
        k,
        rules,
    )

    # Accounts after: use, evaporation, spill.
    used = released.general_security_ml / shares_ml
    drawn, carried = accounts.after_use(account, state.carried_ml_per_share, used)
    evaporated_frac = accounts.evaporation_share_frac(
        released.lake_evaporation_ml, state.storage_ml, rules
    )
    kept_frac = 1.0 - evaporated_frac
    carried = carried * kept_frac
    spill = accounts.spill_terms(carried, released.spill_ml, rules)
    account_end, carried_end = accounts.after_spill(drawn * kept_frac, carried, spill)

    end = State(
        storage_ml=released.storage_ml,
        account_ml_per_share=account_end,
        carried_ml_per_share=carried_end,
        announced_to_date_ml_per_share=announced_to_date,
        used_this_year_ml_per_share=used_so_far + used,
        used_last_year_ml_per_share=state.used_last_year_ml_per_share,
        used_year_before_ml_per_share=state.used_year_before_ml_per_share,
        high_security_used_ml=state.high_security_used_ml + released.high_security_ml,
        high_security_allocation_frac=assessed.high_security_allocation_frac,
        restricted=restricted,
        frozen_ml_per_share=frozen,
    )
    return end, Fluxes(
        opening=state,
        weather=weather,
        assessed=assessed,
        released=released,
        access=access,
        account_before_orders_ml_per_share=account,
        usable_ml_per_share=usable,
        high_security_order_ml=high_security_order_ml,
        general_security_order_ml=general_security_order_ml,
        forfeited_ml_per_share=forfeited,
        carryover_loss_ml_per_share=carryover_loss,
        account_drawn_ml_per_share=drawn,
        account_end_ml_per_share=account_end,
        evaporation_share_frac=evaporated_frac,
        spill=spill,
    )


def open_water_year(state: State, rules: Rules) -> tuple[State, accounts.CarriedOver]:
    """Carry the account into a new water year, and begin its counts of use and announcement."""
    over = accounts.carried_over(state.account_ml_per_share, rules)
    none = level(0.0, state.storage_ml.size)
    opened = replace(
        state,
        account_ml_per_share=over.carried_ml_per_share,
        carried_ml_per_share=over.carried_ml_per_share,
        announced_to_date_ml_per_share=none,
        used_this_year_ml_per_share=none,
        used_last_year_ml_per_share=state.used_this_year_ml_per_share,
        used_year_before_ml_per_share=state.used_last_year_ml_per_share,
        high_security_used_ml=none,
        high_security_allocation_frac=none,
    )
    return opened, over
