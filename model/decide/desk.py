"""What must stand on the desk before planting: limit, bales, hectares held, needed and prepared?

- The overdraft that is enough 90 times in 100: the run is played with no limit, so that no payment
  is missed; where the limit is at least the lowest balance, it would have held all the way.
- The bales reached 90 times in 100: what may safely be sold forward.
- The hectares that the water held finishes if nothing more comes, and the bank then: nothing is
  announced, no stream may be pumped, dam and high security are as in the driest sequence, the
  weather is average, water is neither bought nor sold.
- The hectares that the year's bills need: what falls due in the twelve months ahead whatever is
  planted, over what a hectare watered in full leaves at the plan's own yield and price.
- The hectares to prepare and fertilise: before planting about 600 AUD a hectare are spent on land
  whose water has not come. Too many, and that is lost; too few, and water finds no land.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.decide.decision import (
    Decision,
    areas_of,
    decision_of,
    finishing,
    only_own_water,
    prepares_ahead,
    today,
    way_of,
)
from model.decide.rivers import SEQUENCES, Rivers, RiversDrawn
from model.decide.stated_case import LEAST, stated_river
from model.decide.ways import (
    Brought,
    Runs,
    Way,
    best_by,
    brought_by,
    chance_of,
    months_of,
    play_ways,
)
from model.decide.yearly_of import main_growing, main_layout
from model.farm.bank_limit import bills_aud, others_aud
from model.farm.finish import to_finish_ml_per_ha
from model.farm.measures import lacks_water
from model.farm.river import RiverMonth, YearMet, sequences_at_start
from model.farm.run import gather_farm, run_farm
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray, FarmState, Settings
from model.farm.survival import nothing_expected
from model.farm.thin_water import full_need_ml_per_ha
from model.outlook.chances import Estimate, quantiles_of_rows, spread
from model.outlook.setting import Progress
from model.record.record import FloatArray
from model.streams import Stream, generator
from model.water_year import MONTHS_IN_YEAR

HOLDS_FRAC: Final = 0.9
"""As often must a limit hold, and bales sold forward be there: 90 times in 100."""

NO_LIMIT_AUD: Final = 1e9
"""An overdraft limit beyond any farm's."""

AREAS_TRIED: Final = 61
"""Areas that the water held is tried on, and again between the last it finishes and the next."""

PREPARED_TRIED: Final = 9
"""Areas of prepared land, from none to all."""

WHOLE_FRAC: Final = 1e-6
"""A crop that lacks less than this part of its water has all of it."""

STATED_FROM: Final = 1_000
"""Sequences from which the months without water are stated."""


@dataclass(frozen=True, slots=True)
class NothingComes:
    """What an area comes to if no more water comes."""

    area_ha: float  # planted, or still watered
    finished_ha: float  # of it, watered to the end
    lowest_cash_aud: float  # until the crop's season ends
    lowest_month: int  # month number
    closing_cash_aud: float  # at the end of June of that season
    land_ends_it: bool  # the water would finish more than there is land for


@dataclass(frozen=True, slots=True)
class BillsNeed:
    """The hectares that a year's bills need."""

    bills_aud: float  # of the twelve months ahead, less what comes in without the crop
    leaves_aud_per_ha: float  # by a hectare watered in full, from today on
    area_ha: float  # infinite where a hectare leaves nothing


@dataclass(frozen=True, slots=True)
class Regret:
    """What choosing wrongly in one direction costs, held against the area best with hindsight."""

    chance: Estimate  # that another area would have been better
    cost_aud: float  # on average, where it would have been


@dataclass(frozen=True, slots=True)
class PreparedLand:
    """How much land to prepare and fertilise now; planting follows the strategy."""

    areas_ha: tuple[float, ...]
    brought: tuple[Brought, ...]  # by area
    best: int  # which area is best, by the plan's objective
    to_spend_aud_per_ha: float  # from today until planting
    spent_aud_per_ha: float  # already, on the land that is prepared
    too_many: Regret
    too_few: Regret

    @property
    def best_ha(self) -> float:
        """The area that is best by the plan's objective."""
        return self.areas_ha[self.best]


@dataclass(frozen=True, slots=True)
class HeldAndNeeded:
    """The hectares that the water held finishes, and those that the year's bills need."""

    held: NothingComes  # of the largest area that it finishes
    choice: NothingComes | None  # of the area chosen; None: none is
    bills: BillsNeed


@dataclass(frozen=True, slots=True)
class LimitAndBales:
    """What the bank and the merchant may be told."""

    limit_needed_aud: Estimate  # overdraft that is enough 90 times in 100, over the run
    bales: Estimate  # of the main crop, reached 90 times in 100
    sold_forward: float  # of them, already


@dataclass(frozen=True, slots=True)
class Desk:
    """The figures for the desk, of one strategy; each part may be asked for alone."""

    water_year: str  # of the crop that is decided on
    water: HeldAndNeeded
    reached: LimitAndBales
    prepared: PreparedLand | None  # None: nothing is left to decide on it


def desk_of(
    setting: FarmSetting,
    rivers: Rivers,
    *,
    strategy: int,
    area_ha: float | None = None,
    progress: Progress | None = None,
) -> Desk:
    """Work out the figures for the desk.

    Parameters
    ----------
    setting, rivers
        The farm, and the valley's months as it meets them.
    strategy
        Which of the setting's strategies is followed.
    area_ha
        Of the season's crop, chosen by hand; None: by the strategy.
    progress
        Called with the areas of prepared land played and all of them.

    Examples
    --------
    >>> from model.decide.rivers import rivers_of
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20, seasons=1)
    >>> setting = farm_setting_of(plan, record, strategies_of(plan))
    >>> desk = desk_of(setting, rivers_of(setting), strategy=1)
    >>> desk.water.held.area_ha <= 240.0, desk.water.bills.area_ha > 0.0
    (True, True)
    """
    season = decision_of(setting, strategy).season
    return Desk(
        water_year=setting.valley.calendar.water_year(season),
        water=held_and_needed(setting, strategy=strategy, area_ha=area_ha),
        reached=limit_and_bales(setting, rivers, strategy=strategy, area_ha=area_ha),
        prepared=prepared_land(setting, rivers, strategy=strategy, progress=progress),
    )


def held_and_needed(
    setting: FarmSetting, *, strategy: int, area_ha: float | None = None
) -> HeldAndNeeded:
    """Work out what the water held finishes, and what the year's bills need; see `desk_of`."""
    decision, dry = decision_of(setting, strategy), dry_river(setting)
    held = water_held(setting, dry, decision, strategy)
    choice = None
    if area_ha is not None:
        choice = if_nothing_comes(setting, dry, decision, strategy, area_ha, held)
    return HeldAndNeeded(held, choice, bills_need(setting, dry, decision))


def limit_and_bales(
    setting: FarmSetting, rivers: Rivers, *, strategy: int, area_ha: float | None = None
) -> LimitAndBales:
    """Work out the limit and the bales that hold 90 times in 100; see `desk_of`."""
    decision = decision_of(setting, strategy)
    way = way_of(setting, decision, strategy, area_ha)
    own = needed_and_harvested(setting, river_of_own_years(setting), way, decision.season)
    again = needed_and_harvested(setting, rivers.months, way, decision.season)
    return LimitAndBales(
        limit_needed_aud=_quantile(rivers.of, own[0], again[0], HOLDS_FRAC),
        bales=_quantile(rivers.of, own[1], again[1], 1.0 - HOLDS_FRAC),
        sold_forward=float(setting.rules.cash.forward.bales[decision.season]),
    )


def river_of_own_years(setting: FarmSetting) -> list[RiverMonth]:
    """Run the valley through the plan's sequences, each meeting years of yield and price its own.

    Elsewhere sequences that begin alike meet the same few years, which is enough for means; a
    quantile read off them would hang on the few that were drawn.
    """
    sequences = setting.valley.first_sequences(SEQUENCES)
    rng = generator(setting.valley.plan.sequences.seed, Stream.YEARS_MET, 1)

    def met(crop_at: int, year: YearMet | None) -> YearMet | None:
        varying = setting.rules.varying[crop_at]
        if year is None or varying is None:
            return None
        return YearMet(*varying.factors(rng.random((2, len(sequences)))))

    return [
        replace(month, year_met=tuple(met(at, year) for at, year in enumerate(month.year_met)))
        for month in setting.river(sequences)
    ]


def needed_and_harvested(
    setting: FarmSetting, river: Sequence[RiverMonth], way: Way, season: int
) -> tuple[FloatArray, FloatArray]:
    """Return the overdraft that is needed, were there no limit, and the bales, each (sequence,).

    What is planted is as with the limit, also where the limit bounds it.
    """
    cash, calendar = setting.rules.cash, setting.valley.calendar
    margin_aud = NO_LIMIT_AUD - cash.overdraft_limit_aud + cash.bank_margin_kept_aud
    endless = replace(cash, overdraft_limit_aud=NO_LIMIT_AUD, bank_margin_kept_aud=margin_aud)
    rules = replace(setting.rules, cash=endless)
    opening = way.opening.of(np.zeros(sequences_at_start(river), np.int64))
    months = months_of(setting, river, replace(way, opening=opening), rules)
    found = gather_farm(opening, months, calendar, rules)
    needed_aud = np.maximum(0.0, -found["lowest_cash_aud"].min(axis=-1)[0])
    return needed_aud, found["bales"][0, :, season]


def _quantile(of: RiversDrawn, own: FloatArray, again: FloatArray, frac: float) -> Estimate:
    """Return one published quantile, with both errors."""
    by_record = quantiles_of_rows(again[of.resampled])
    return spread(own, by_record, of.widened_by).quantiles[round(frac, 6)]


def dry_river(setting: FarmSetting) -> tuple[RiverMonth, ...]:
    """Return one sequence in which nothing more comes, in average weather."""
    river = setting.river(setting.valley.first_sequences(STATED_FROM))
    seasons, whole = setting.valley.calendar.seasons, np.ones(1)
    return tuple(
        replace(
            month,
            general_security_delivered_frac=whole,  # what is held is delivered
            high_security_delivered_frac=whole,
            uncontrolled_ml=np.zeros(1),
        )
        for month in stated_river(river, [LEAST] * seasons, setting.rules)
    )


def water_held(
    setting: FarmSetting, dry: Sequence[RiverMonth], decision: Decision, strategy: int
) -> NothingComes:
    """Find the largest area that the water held finishes if nothing more comes."""
    areas_ha = np.linspace(0.0, decision.most_ha, AREAS_TRIED)
    for _ in range(2):
        finishes = _finishes(setting, dry, decision, strategy, areas_ha)
        last = _last_true(finishes)
        if last == areas_ha.size - 1:
            break
        areas_ha = np.linspace(areas_ha[last], areas_ha[last + 1], AREAS_TRIED)
    area_ha, whole = float(areas_ha[last]), last == areas_ha.size - 1
    return _bank_then(setting, dry, decision, strategy, area_ha, area_ha, land_ends_it=whole)


def if_nothing_comes(
    setting: FarmSetting,
    dry: Sequence[RiverMonth],
    decision: Decision,
    strategy: int,
    area_ha: float,
    held: NothingComes,
) -> NothingComes:
    """Return what a chosen area comes to if nothing more comes."""
    finished_ha = min(area_ha, held.area_ha)
    return _bank_then(
        setting, dry, decision, strategy, area_ha, finished_ha, land_ends_it=held.land_ends_it
    )


def _tried(
    setting: FarmSetting, decision: Decision, strategy: int, areas_ha: FloatArray
) -> tuple[Settings, FarmState]:
    """Return areas as ways, (area, 1): planted by hand, or what is in the ground cut to them."""
    own = only_own_water(setting.settings.one(strategy)).repeated(areas_ha.size)
    opening = today(setting, areas_ha.size)
    by_way = areas_ha[:, None]
    if decision.planting_t is None:
        return finishing(own, opening, by_way, setting.rules)
    return replace(own, first_area_ha=by_way), opening


def _finishes(
    setting: FarmSetting,
    dry: Sequence[RiverMonth],
    decision: Decision,
    strategy: int,
    areas_ha: FloatArray,
) -> BoolArray:
    """(area,) whether an area gets all the water it asks for."""
    settings, opening = _tried(setting, decision, strategy, areas_ha)
    settings = replace(settings, spreads_shortage=np.ones_like(settings.spreads_shortage))
    expected = nothing_expected(settings, setting.rules)
    months = run_farm(opening, settings, dry, expected, setting.rules)
    found = gather_farm(opening, months, setting.valley.calendar, setting.rules)
    lacks: BoolArray = lacks_water(found, WHOLE_FRAC)[:, 0, decision.season]
    return ~lacks


def _last_true(happened: BoolArray) -> int:
    """Return the last place up to which all are true; the first at least."""
    stops = np.flatnonzero(~happened[1:])
    return int(stops[0]) if stops.size else happened.size - 1


def _bank_then(
    setting: FarmSetting,
    dry: Sequence[RiverMonth],
    decision: Decision,
    strategy: int,
    area_ha: float,
    finished_ha: float,
    *,
    land_ends_it: bool,
) -> NothingComes:
    """Follow the bank with an area, while nothing more comes."""
    settings, opening = _tried(setting, decision, strategy, np.array([area_ha]))
    calendar, expected = setting.valley.calendar, nothing_expected(settings, setting.rules)
    until = dry[: calendar.last_t(decision.season) + 1]
    months = run_farm(opening, settings, until, expected, setting.rules)
    bank_aud = np.array([month.end.bank_aud[0, 0] for month in months])
    lowest = int(bank_aud.argmin())
    return NothingComes(
        area_ha=area_ha,
        finished_ha=finished_ha,
        lowest_cash_aud=float(bank_aud[lowest]),
        lowest_month=calendar.opening_month + lowest,
        closing_cash_aud=float(bank_aud[-1]),
        land_ends_it=land_ends_it,
    )


def bills_need(setting: FarmSetting, dry: Sequence[RiverMonth], decision: Decision) -> BillsNeed:
    """Work out how many hectares the bills of the twelve months ahead need."""
    rules, crop = setting.rules, setting.rules.crop
    state, ks = today(setting), [(decision.k + month) % MONTHS_IN_YEAR for month in range(12)]
    fields = (None if at in crop.places else field for at, field in enumerate(state.fields))
    without = replace(state, fields=tuple(fields))
    due_aud = float(bills_aud(without, ks, dry[0], rules)[0, 0])
    due_aud -= float(others_aud(without, ks, rules)[0, 0])
    leaves_aud = hectare_leaves_aud(setting, state, decision)
    area_ha = max(0.0, due_aud) / leaves_aud if leaves_aud > 0.0 else math.inf
    return BillsNeed(due_aud, leaves_aud, area_ha)


def hectare_leaves_aud(setting: FarmSetting, state: FarmState, decision: Decision) -> float:
    """Return what a hectare of the main crop leaves, watered in full, from today on."""
    rules, layout, growing = setting.rules, main_layout(setting.rules), main_growing(setting.rules)
    field = state.fields[rules.crop.places[0]]
    if decision.planting_t is None and field is not None:
        need_ml = float(to_finish_ml_per_ha(growing, field, decision.k)[0, 0])
        kept_frac = float(field.watered.kept_frac[0, 0])
        cost_aud = float(layout.growing_cost_ahead_aud_per_ha[decision.k])
    else:
        need_ml, kept_frac = full_need_ml_per_ha(growing), 1.0
        cost_aud = float(layout.growing_cost_aud_per_ha.sum()) + to_spend_aud_per_ha(
            setting, decision
        )
    units = layout.full_yield_units_per_ha * kept_frac
    a_unit_aud = layout.price_aud_per_unit - layout.harvest_cost_aud_per_unit
    fallow_aud = float(rules.cash.fallow_cost_aud_per_ha.sum())  # counted on all idle land
    water_aud = need_ml * rules.cash.usage_aud_per_ml
    return units * a_unit_aud - layout.harvest_cost_aud_per_ha - cost_aud - water_aud + fallow_aud


def to_spend_aud_per_ha(setting: FarmSetting, decision: Decision) -> float:
    """Return what is still spent on a hectare of prepared land before it is planted."""
    ks = [(decision.k + month) % MONTHS_IN_YEAR for month in range(decision.planting_t or 0)]
    return float(setting.rules.crop.prepared_cost_aud_per_ha[ks].sum())


def prepared_land(
    setting: FarmSetting, rivers: Rivers, *, strategy: int, progress: Progress | None = None
) -> PreparedLand | None:
    """Try how much land to prepare and fertilise; None where nothing is left to spend on it."""
    decision = decision_of(setting, strategy)
    to_spend_aud = to_spend_aud_per_ha(setting, decision)
    if decision.planting_t is None or to_spend_aud <= 0.0 or decision.most_ha <= 0.0:
        return None
    areas_ha = areas_of(decision, PREPARED_TRIED)
    ways = [_prepared_way(setting, decision, strategy, area_ha) for area_ha in areas_ha]
    runs = play_ways(setting, rivers, ways, decision.season, progress)
    best = best_by(setting.farm.objective, runs, rivers.of.drawn)
    too_many, too_few = regrets(rivers.of, runs, best)
    opening = setting.farm.opening
    return PreparedLand(
        areas_ha=areas_ha,
        brought=tuple(brought_by(rivers.of, runs, at) for at in range(len(ways))),
        best=best,
        to_spend_aud_per_ha=to_spend_aud,
        spent_aud_per_ha=opening.land_spent_aud / opening.prepared_ha
        if opening.prepared_ha
        else 0.0,
        too_many=too_many,
        too_few=too_few,
    )


def _prepared_way(setting: FarmSetting, decision: Decision, strategy: int, area_ha: float) -> Way:
    """Return a strategy with so much land prepared for the planting ahead."""
    own, opening = setting.settings.one(strategy), today(setting)
    planting_t = decision.planting_t or 0
    if not prepares_ahead(setting, strategy, planting_t):
        return Way(own, replace(opening, prepared_ha=np.array([[area_ha]])))
    part = area_ha / setting.rules.crop.land_limit_ha
    first = replace(
        own,
        prepare_least_frac=np.array([[part]]),
        prepare_all_at_ml_per_share=np.array([[np.inf]]),
    )
    return Way(first, opening, until_t=planting_t, after=own)


def regrets(of: RiversDrawn, runs: Runs, chosen: int) -> tuple[Regret, Regret]:
    """Hold a chosen area against the one best with hindsight: too many, and too few.

    Parameters
    ----------
    of
        Which sequences are drawn.
    runs
        Areas in rising order, played.
    chosen
        Which of them.
    """
    hindsight = runs.standing_aud.argmax(axis=0)
    lost_aud = runs.standing_aud.max(axis=0) - runs.standing_aud[chosen]

    def regret(wrong: BoolArray) -> Regret:
        drawn = wrong[of.drawn]
        cost_aud = float(lost_aud[of.drawn][drawn].mean()) if drawn.any() else 0.0
        return Regret(chance_of(of, wrong), cost_aud)

    return regret(hindsight < chosen), regret(hindsight > chosen)
