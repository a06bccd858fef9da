"""How does the farm go through a run of seasons, and what did each season bring?

The driver steps every strategy through the same months of the valley and gathers what each season
brought. All results are (strategy, sequence, season).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Self

import numpy as np

from model.farm import by_layout, step_results
from model.farm.expected import Expectation
from model.farm.gathered import GatheredSeason, laid_out
from model.farm.harvest import receivable_aud
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.standing import (
    spent_on_crops_aud,
    standing_aud,
    tax_owing_aud,
    water_left_aud,
)
from model.farm.state import FarmState, Settings
from model.farm.step import FarmFluxes, step
from model.farm.steps import begun
from model.farm.water import out_of_reach_ml_per_share, usable_ml_per_share
from model.outlook.lazy import LazyResults
from model.record.record import FloatArray
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray


@dataclass(frozen=True, slots=True)
class FarmMonth:
    """One month of a farm: what it met, what moved, and the farm after it."""

    river: RiverMonth
    fluxes: FarmFluxes
    end: FarmState


def run_farm(
    opening: FarmState,
    settings: Settings,
    months: Iterable[RiverMonth],
    expectation: Expectation,
    rules: FarmRules,
) -> Iterator[FarmMonth]:
    """Take the farm, under every strategy, through the months of all sequences.

    Parameters
    ----------
    opening
        The farm at the start of the first month, each (strategy, sequence).
    settings
        The strategies.
    months
        The valley's months, as the farm meets them.
    expectation, rules
        What may be expected on a day; the farm's rules.
    """
    state = begun(opening, settings, rules)
    for river in months:
        if river.parents is not None:
            state = state.of(river.parents)
        state, fluxes = step(state, settings, river, expectation, rules)
        yield FarmMonth(river, fluxes, state)


def lost_ml(month: FarmMonth, rules: FarmRules) -> FloatArray:
    """Return the water lost in a month.

    Account (carryover, evaporation, spill) and farm storage.
    """
    fluxes = month.fluxes
    account = fluxes.carryover_loss_ml_per_share + fluxes.account_end.lost
    lost = account * fluxes.shares_ml + fluxes.storage.net_loss_ml
    return lost if fluxes.steps is None else lost + fluxes.steps.forfeited_ml


def of_main(month: FarmMonth, rules: FarmRules, what: str) -> FloatArray:
    """Return what the main crop's harvest brought in a month, in all its row layouts."""
    none = nothing_like(month.end.bank_aud)
    found = (month.fluxes.crops.harvested[at] for at in rules.crop.places)
    return sum((getattr(each, what) for each in found if each is not None), none)


def other_land_aud(month: FarmMonth, rules: FarmRules) -> FloatArray:
    """Return what the other crops harvested in a month left, less what fallow cost."""
    crops = month.fluxes.crops
    others = (
        found.margin_aud
        for at, found in enumerate(crops.harvested)
        if found is not None and at not in rules.crop.places
    )
    return sum(others, -crops.fallow_aud)


SUMS: Final[Mapping[str, Callable[[FarmMonth, FarmRules], FloatArray]]] = MappingProxyType(
    {
        "announced_ml_per_share": lambda m, r: m.river.announced_ml_per_share,
        "water_credited_ml": lambda m, r: m.fluxes.credited_ml_per_share * m.fluxes.shares_ml,
        "water_needed_ml": lambda m, r: m.fluxes.watering.need_ml,
        "water_used_ml": lambda m, r: m.fluxes.watering.taken.total_ml,
        "supplementary_taken_ml": lambda m, r: (
            m.fluxes.watering.taken.supplementary_ml + m.fluxes.storage.pumped_in_ml
        ),
        "high_security_used_ml": lambda m, r: m.fluxes.watering.taken.high_security_ml,
        "bore_used_ml": lambda m, r: m.fluxes.watering.taken.groundwater_ml,
        "water_lost_ml": lost_ml,
        "water_spilled_ml": lambda m, r: m.fluxes.account_end.spilled * m.fluxes.shares_ml,
        "water_paid_aud": lambda m, r: m.fluxes.traded.paid_aud,
        "water_bought_ml": lambda m, r: m.fluxes.traded.bought_ml,
        "water_sold_ml": lambda m, r: m.fluxes.traded.sold_ml,
        "income_aud": lambda m, r: m.fluxes.cash.income_aud,
        "costs_aud": lambda m, r: m.fluxes.cash.costs_aud,
        "other_land_aud": other_land_aud,
        "trade_aud": lambda m, r: m.fluxes.cash.trade_aud,
        "tax_aud": lambda m, r: m.fluxes.cash.tax_aud,
        "overdraft_interest_aud": lambda m, r: m.fluxes.cash.overdraft_interest_aud,
        "arrears_interest_aud": lambda m, r: m.fluxes.cash.arrears_interest_aud,
        "missed_aud": lambda m, r: m.fluxes.cash.missed_aud,
        "payments_missed": lambda m, r: m.fluxes.cash.missed.astype(np.float64),
        "area_picked_ha": lambda m, r: of_main(m, r, "area_ha"),
        "bales": lambda m, r: of_main(m, r, "units"),
        "crop_margin_aud": lambda m, r: of_main(m, r, "margin_aud"),
    }
)
"""Summed over the season's months in the run."""


AT_END: Final[Mapping[str, Callable[[FarmMonth, FarmRules], FloatArray]]] = MappingProxyType(
    {
        "account_ml_per_share": lambda m, r: m.end.account_ml_per_share,
        "usable_ml_per_share": lambda m, r: usable_ml_per_share(
            m.end,
            m.end.account_ml_per_share,
            out_of_reach_ml_per_share(m.end, m.end.frozen_ml_per_share, m.river),
            r.water,
        ),
        "announced_to_date_ml_per_share": lambda m, r: m.river.announced_to_date_ml_per_share,
        "account_carried_ml": lambda m, r: m.end.account_ml_per_share * m.fluxes.shares_ml,
        "storage_carried_ml": lambda m, r: m.end.storage_ml,
        "closing_cash_aud": lambda m, r: m.end.bank_aud,
        "arrears_aud": lambda m, r: m.end.arrears_aud,
        "receivable_aud": lambda m, r: receivable_aud(m.end, m.river.k, r),
        "spent_on_land_aud": lambda m, r: m.end.spent_on_land_aud,
        "spent_on_crops_aud": lambda m, r: spent_on_crops_aud(m.end),
        "land_ready_ha": lambda m, r: m.end.prepared_ha,
        "tax_owing_aud": lambda m, r: tax_owing_aud(m.end, r),
        "water_left_aud": lambda m, r: water_left_aud(m.end, m.river, r),
        "standing_aud": lambda m, r: standing_aud(m.end, m.river, r),
    }
)
"""As the farm stands at the end of the season, before 1 July."""

WATER: Final = ("announced_to_date", "account", "usable")
AT_PLANTING: Final = tuple(f"planting_{name}_ml_per_share" for name in WATER)
AT_FINISH: Final = tuple(f"finish_{name}_ml_per_share" for name in WATER)
LOWEST_CASH: Final = ("lowest_cash_aud", "lowest_cash_month")
LAND: Final = ("area_prepared_ha", "area_planted_ha", "area_finished_ha", "area_set_by")


@dataclass(frozen=True, slots=True)
class FarmResults:
    """What each season brought under each strategy, each (strategy, sequence, season).

    Not a number where a season's planting or finish month lies before the run.
    """

    values: Mapping[str, FloatArray]

    def __getitem__(self, name: str) -> FloatArray:
        """Return one result by its name."""
        return self.values[name]

    def of_sequences(self, chosen: IntArray) -> Self:
        """Return the results of some of the sequences; one may come more than once."""

        def taken(name: str) -> FloatArray:
            return np.moveaxis(_by_season(self[name]).take(chosen, axis=-1), 0, -1)

        return type(self)(LazyResults(self.values, taken))

    def of_strategy(self, at: int) -> Self:
        """Return the results of one strategy, each (sequence, season)."""
        return type(self)(LazyResults(self.values, lambda name: self[name][at]))

    def of_some(self, sequences: slice) -> Self:
        """Return the results of some of one strategy's sequences, each (sequence, season)."""
        return type(self)(LazyResults(self.values, lambda name: self[name][sequences]))

    @classmethod
    def joined(cls, parts: list[Self]) -> Self:
        """Join the results of batches of sequences, in their order."""
        if len(parts) == 1:
            return parts[0]

        def joined(name: str) -> FloatArray:
            by_season = [_by_season(part[name]) for part in parts]
            return np.moveaxis(np.concatenate(by_season, axis=-1), 0, -1)

        return cls(LazyResults(parts[0].values, joined))


def _by_season(values: FloatArray) -> FloatArray:
    """(season, strategy, sequence) lay results out as they are kept: each season side by side."""
    return np.moveaxis(values, -1, 0)


def gather_farm(
    opening: FarmState, months: Iterable[FarmMonth], calendar: Calendar, rules: FarmRules
) -> FarmResults:
    """Gather the months of a farm to seasons.

    Parameters
    ----------
    opening
        The farm before the first month: a crop may be in the ground.
    months
        The farm's months, in order.
    calendar, rules
        Of the run.
    """
    seasons = [GatheredSeason() for _ in range(calendar.seasons)]
    by_layout.begin(seasons[0], opening)
    in_ground_ha = opening.planted_ha(rules)
    if in_ground_ha.any():
        for name in LAND:
            seasons[0].note(name, in_ground_ha)
    shape, steps = opening.bank_aud.shape, 0
    for month in months:
        steps = len(month.fluxes.steps.taken) if month.fluxes.steps is not None else 0
        current, shape = month.river.season, month.end.bank_aud.shape
        if (parents := month.river.parents) is not None:
            for season in seasons[:current]:
                season.over_and_part(parents)
            seasons[current].part(parents)
        _gather_month(month, seasons[current], calendar, rules)
    names = blanks(rules) | (step_results.blanks(steps) if steps else {})
    return FarmResults(laid_out(seasons, names, shape))


def blanks(rules: FarmRules) -> dict[str, float]:
    """Return by name of a result what stands where a season has none."""
    summed = (*SUMS, *by_layout.names(len(rules.layouts)))
    noted = (*AT_END, *AT_PLANTING, *AT_FINISH, *LAND, *LOWEST_CASH)
    return dict.fromkeys(summed, 0.0) | dict.fromkeys(noted, np.nan)


def _gather_month(
    month: FarmMonth, season: GatheredSeason, calendar: Calendar, rules: FarmRules
) -> None:
    """Add one month to what its season brought."""
    k, t = month.river.k, month.river.t
    if month.fluxes.steps is not None:
        step_results.gather(month.fluxes.steps, month.fluxes.cash, season)
    for name, value_of in SUMS.items():
        season.add(name, value_of(month, rules))
    by_layout.gather(k, month.fluxes, month.end, season, rules)
    _note_lowest_cash(month, season, calendar.opening_month + t)
    if k == rules.crop.planting_k:
        planted_ha = month.end.planted_ha(rules)
        season.note("area_prepared_ha", np.maximum(month.fluxes.prepared_ha, planted_ha))
        season.note("area_planted_ha", planted_ha)
        season.note("area_set_by", month.fluxes.set_by)
        _note_water(month, season, AT_PLANTING)
    if k == rules.crop.finish_k:
        season.note("area_finished_ha", finished_ha(month.end, rules))
        _note_water(month, season, AT_FINISH)
    if t == calendar.last_t(month.river.season):
        for name, value_of in AT_END.items():
            season.note(name, value_of(month, rules))
        if month.end.drought is not None:
            step_results.note_end(month.end.drought, t, rules.cash, season)


def _note_lowest_cash(month: FarmMonth, season: GatheredSeason, month_number: int) -> None:
    """Note how low the bank has fallen in the season, and in which month it first did."""
    cash_name, month_name = LOWEST_CASH
    bank_aud, when = month.end.bank_aud, np.full_like(month.end.bank_aud, month_number)
    if cash_name in season.values:
        before_aud = season.values[cash_name]
        when = np.where(bank_aud < before_aud, when, season.values[month_name])
        bank_aud = np.minimum(before_aud, bank_aud)
    season.note(cash_name, bank_aud)
    season.note(month_name, when)


def finished_ha(state: FarmState, rules: FarmRules) -> FloatArray:
    """Return the land of the main crop that was not cut back."""
    none = nothing_like(state.bank_aud)
    return sum(
        (
            field.watered_ha if rules.layouts[at].irrigated else field.dry_ha
            for at in rules.crop.places
            if (field := state.fields[at]) is not None
        ),
        none,
    )


def _note_water(month: FarmMonth, season: GatheredSeason, names: tuple[str, ...]) -> None:
    """Note announcement, account and what of it is usable, before decisions and orders."""
    announced_name, account_name, usable_name = names
    season.note(announced_name, month.river.known_to_date_ml_per_share)
    season.note(account_name, month.fluxes.account_before_ml_per_share)
    season.note(usable_name, month.fluxes.usable_ml_per_share)
