"""What is one more megalitre worth today: planted, held, kept on the farm, or sold?

From where the farm stands today and a chosen area, water is added in steps to one use at a time,
and the farm is run again on the same sequences. The rise in what the run is worth (see `objective`)
over the step is what a megalitre is worth in that use, after so many have gone to it. Uses:

- *planted*: into the account, and as many more hectares planted as it is planned to carry;
- *held*: into the account, and no more planted. It bears what accounts bear: evaporation, a full
  account, limits, a spill. Should the crop run short, it may be used to finish it;
- *on farm*: into the farm storage, likewise; it evaporates and seeps;
- *sold*: at today's price, the money into the bank.

Each is told for the mean, for the mean of the worst tenth, and as the chance of a missed payment,
with the error of the draws and that of the record. A use is best where its difference to every
other, sequence by sequence, leaves both errors; elsewhere uses cannot be told apart, and a switch
from one to another is named only where each is best in its turn.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from model.decide.objective import worth_of
from model.decide.rivers import Rivers, RiversDrawn, draw_rivers, rivers_of
from model.decide.ways import mean_of, told_apart, worst_tenth_ahead
from model.errors import Fault, InputError
from model.farm.river import RiverMonth
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.farm.state import FarmState, Settings
from model.outlook.chances import Estimate
from model.record.memory import TWO_SIDED_95_Z
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

Use = Literal["planted", "held", "on_farm", "sold"]
STEPS: Final = 5
LEAST_RANGE_ML: Final = 1.0
SEQUENCES: Final = 2_000
"""Enough that a megalitre's worth is known to a few dollars."""

FEW_SEQUENCES: Final = 1_000
"""Enough for some five dollars, where a page waits for it."""

USUAL_RANGE_FRAC: Final = 0.2
"""Of the shares: as far as a curve is drawn where nobody says how far."""

RESAMPLES: Final = 40
"""Records resampled: enough for the width of an interval; each takes 125 draws."""

A_HUNDRED_ML: Final = 100.0


@dataclass(frozen=True, slots=True)
class Curve:
    """What a megalitre is worth in one use, each (step,)."""

    volume_ml: FloatArray  # already put to the use, at the middle of the step
    worth_aud_per_ml: FloatArray
    error_aud_per_ml: FloatArray  # standard error of the draws
    worth: tuple[Estimate, ...] = ()  # AUD per ML, with both errors
    worst_tenth: tuple[Estimate, ...] = ()  # AUD per ML, of the mean of the worst tenth
    missed_per_100_ml: tuple[Estimate, ...] = ()  # added to the chance of a missed payment


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where the best use changes: half-way from the last step of one to the first of another."""

    volume_ml: float
    best_before: Use
    best_after: Use


@dataclass(frozen=True, slots=True)
class LastMegalitre:
    """The worth of one more megalitre, by use."""

    strategy: str
    area_ha: float
    sequences: int
    curves: Mapping[Use, Curve]
    crossings: tuple[Crossing, ...]
    lead: tuple[Use | None, ...] = ()  # by step, the use that is best; None: cannot be told apart

    def best_use(self) -> Use:
        """Return the use in which the first megalitre is worth most, told apart or not."""
        return max(self.curves, key=lambda use: float(self.curves[use].worth_aud_per_ml[0]))

    @property
    def told_apart(self) -> bool:
        """Whether the best use of the first megalitre is ahead of all others beyond the errors."""
        return bool(self.lead) and self.lead[0] is not None


def last_megalitre(
    setting: FarmSetting,
    rivers: Rivers,
    *,
    strategy: int,
    area_ha: float,
    range_ml: float,
) -> LastMegalitre:
    """Work out what one more megalitre is worth.

    Parameters
    ----------
    setting, rivers
        The farm, and the valley's months as it meets them.
    strategy
        Which of the setting's strategies is followed after the first planting.
    area_ha
        Planted first, whatever the strategy's rule would say.
    range_ml
        How far to go; held to what the account still takes.

    Returns
    -------
    LastMegalitre
        Curves of worth (AUD per ML) over volume (ML), one a use, and where the best use changes.

    Raises
    ------
    InputError
        The area is below 0, or the account takes no more water.

    Examples
    --------
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20)
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> setting = farm_setting_of(plan, record, strategies_of(plan))
    >>> rivers = rivers_of(setting, draw_rivers(setting.valley, 20, 2))
    >>> found = last_megalitre(setting, rivers, strategy=1, area_ha=60.0, range_ml=300.0)
    >>> sorted(found.curves), found.sequences
    (['held', 'on_farm', 'planted', 'sold'], 20)
    """
    range_ml = _range_ml(setting, area_ha, range_ml)
    volumes_ml = np.linspace(0.0, range_ml, STEPS + 1)
    uses, river = _uses(setting), rivers.months
    settings, opening = _variants(setting, river, strategy, uses, area_ha, volumes_ml)
    worth = worth_of(setting, river, settings, opening)
    sequences = worth.standing_aud.shape[1]
    shape = (len(uses), STEPS + 1, sequences)
    standing_aud = worth.standing_aud.reshape(shape)
    missed = worth.payment_missed.reshape(shape).astype(np.float64)
    lead = leads(uses, standing_aud, rivers.of)
    return LastMegalitre(
        strategy=setting.strategies[strategy].name,
        area_ha=area_ha,
        sequences=rivers.of.drawn.size,
        curves={
            use: _curve(rivers.of, standing_aud[at], missed[at], volumes_ml)
            for at, use in enumerate(uses)
        },
        crossings=crossings_of(lead, (volumes_ml[1:] + volumes_ml[:-1]) / 2.0),
        lead=lead,
    )


def last_megalitre_of_each(setting: FarmSetting, results: FarmResults) -> tuple[LastMegalitre, ...]:
    """Work out what one more megalitre is worth under each strategy, about the area it would plant.

    Parameters
    ----------
    setting
        The farm and its strategies.
    results
        What they brought: the area is the middle one of the first planting.

    Returns
    -------
    tuple
        One for each strategy; none where the account takes no more water, or nothing is planted.
    """
    planted_ha = results["area_planted_ha"]
    opening_k = month_of_water_year(setting.valley.calendar.opening_month)
    decided = (setting.rules.crop.planting_k - opening_k) % MONTHS_IN_YEAR
    season = setting.valley.calendar.season_of(decided)
    if season >= setting.valley.calendar.seasons or room_ml(setting) < LEAST_RANGE_ML:
        return ()
    rivers = rivers_of(setting, draw_rivers(setting.valley, SEQUENCES, RESAMPLES))
    return tuple(
        last_megalitre(
            setting,
            rivers,
            strategy=at,
            area_ha=float(np.median(planted_ha[at, :, season])),
            range_ml=USUAL_RANGE_FRAC * setting.rules.cash.shares_ml,
        )
        for at in range(len(setting.strategies))
    )


def quick_last_megalitre(
    setting: FarmSetting, *, strategy: int, area_ha: float
) -> LastMegalitre | None:
    """Work out what one more megalitre is worth as far as is usual, where somebody waits for it.

    Parameters
    ----------
    setting
        The farm and its strategies.
    strategy, area_ha
        See `last_megalitre`.

    Returns
    -------
    LastMegalitre or None
        None where the account takes no more water.
    """
    range_ml = min(room_ml(setting), USUAL_RANGE_FRAC * setting.rules.cash.shares_ml)
    if range_ml < LEAST_RANGE_ML:
        return None
    rivers = rivers_of(setting, draw_rivers(setting.valley, FEW_SEQUENCES, RESAMPLES))
    return last_megalitre(setting, rivers, strategy=strategy, area_ha=area_ha, range_ml=range_ml)


def room_ml(setting: FarmSetting) -> float:
    """Return what the account still takes today."""
    plan, water = setting.valley.plan, setting.rules.water
    own = setting.farm.opening.account_ml_per_share
    account = plan.opening.account_ml_per_share if own is None else own
    return (water.account_limit_ml_per_share - account) * setting.rules.cash.shares_ml


def _range_ml(setting: FarmSetting, area_ha: float, range_ml: float) -> float:
    """Keep the range to what the account still takes."""
    most_ml = min(range_ml, room_ml(setting))
    faults = []
    if area_ha < 0.0 or not math.isfinite(area_ha):
        faults.append(Fault("area", f"{area_ha:g}", "it is no area", "0 ha or more"))
    if most_ml < LEAST_RANGE_ML:
        allowed = f"{LEAST_RANGE_ML:g} ML or more, and room for it in the account"
        faults.append(Fault("range", f"{range_ml:g}", "no more water fits", allowed))
    if faults:
        raise InputError("last megalitre", faults)
    return most_ml


def _uses(setting: FarmSetting) -> tuple[Use, ...]:
    """Return the uses that the farm has."""
    stores = setting.rules.water.storage_capacity_ml > 0.0
    sells = setting.rules.market is not None
    return ("planted", "held", *(("on_farm",) if stores else ()), *(("sold",) if sells else ()))


def _variants(
    setting: FarmSetting,
    river: list[RiverMonth],
    strategy: int,
    uses: tuple[Use, ...],
    area_ha: float,
    volumes_ml: FloatArray,
) -> tuple[Settings, FarmState]:
    """Arrange every use at every volume as a way of running the farm."""
    count = len(uses) * volumes_ml.size
    added_ml = np.tile(volumes_ml, len(uses))[:, None]
    use = np.repeat(np.array(uses), volumes_ml.size)[:, None]
    one = setting.settings.one(strategy)
    per_ha, settings = one.planned_water_ml_per_ha(setting.rules), one.repeated(count)
    more_ha = np.where(use == "planted", added_ml / per_ha, 0.0)
    opening, water = setting.opening(river, count), setting.rules.water
    to_account_ml = np.where((use == "planted") | (use == "held"), added_ml, 0.0)
    stored_ml = opening.storage_ml + np.where(use == "on_farm", added_ml, 0.0)
    got_aud = np.where(use == "sold", added_ml * _got_aud_per_ml(setting, river), 0.0)
    return replace(settings, first_area_ha=area_ha + more_ha), replace(
        opening,
        account_ml_per_share=opening.account_ml_per_share + to_account_ml / water.shares_ml,
        storage_ml=np.minimum(stored_ml, water.storage_capacity_ml),
        bank_aud=opening.bank_aud + got_aud,
    )


def _got_aud_per_ml(setting: FarmSetting, river: list[RiverMonth]) -> float:
    """Return what a seller gets today, a price that one farm does not move; 0 without trade."""
    market = setting.rules.market
    if market is None:
        return 0.0
    return float(market.got_aud_per_ml(river[0].price_aud_per_ml).mean())


def _curve(
    of: RiversDrawn, standing_aud: FloatArray, missed: FloatArray, volumes_ml: FloatArray
) -> Curve:
    """Take differences between steps, sequence by sequence.

    Parameters
    ----------
    of
        Which sequences are drawn.
    standing_aud, missed
        (volume, sequence)
    volumes_ml
        (volume,)
    """
    step_ml = np.diff(volumes_ml)
    risen = np.diff(standing_aud, axis=0) / step_ml[:, None]
    more = np.diff(missed, axis=0) * (A_HUNDRED_ML / step_ml)[:, None]
    per_ml = standing_aud / step_ml[0]
    worth = tuple(mean_of(of, each) for each in risen)
    return Curve(
        volume_ml=(volumes_ml[1:] + volumes_ml[:-1]) / 2.0,
        worth_aud_per_ml=np.array([each.value for each in worth]),
        error_aud_per_ml=np.array(
            [(each.draws_high - each.value) / TWO_SIDED_95_Z for each in worth]
        ),
        worth=worth,
        worst_tenth=tuple(
            worst_tenth_ahead(of, after, before) for before, after in itertools.pairwise(per_ml)
        ),
        missed_per_100_ml=tuple(mean_of(of, each) for each in more),
    )


def leads(uses: Sequence[Use], standing_aud: FloatArray, of: RiversDrawn) -> tuple[Use | None, ...]:
    """Return, step by step, the use that is ahead of every other beyond both errors; or None.

    Parameters
    ----------
    uses
        Their names.
    standing_aud
        (use, volume, sequence)
    of
        Which sequences are drawn.
    """
    risen = np.diff(standing_aud, axis=1)
    return tuple(_lead(uses, risen[:, step], of) for step in range(risen.shape[1]))


def _lead(uses: Sequence[Use], risen: FloatArray, of: RiversDrawn) -> Use | None:
    """Return the use that is ahead in one step, (use, sequence)."""
    first = int(risen[:, of.drawn].mean(axis=1).argmax())
    differences = (
        mean_of(of, risen[first] - risen[other]) for other in range(len(uses)) if other != first
    )
    return uses[first] if all(told_apart(each) for each in differences) else None


def crossings_of(lead: Sequence[Use | None], volume_ml: FloatArray) -> tuple[Crossing, ...]:
    """Find where the best use changes; steps in which none is best name none.

    Examples
    --------
    >>> at = np.array([50.0, 150.0, 250.0])
    >>> [(c.volume_ml, c.best_before, c.best_after) for c in
    ...  crossings_of(["planted", None, "held"], at)]
    [(150.0, 'planted', 'held')]
    """
    told = [(use, float(at)) for use, at in zip(lead, volume_ml, strict=True) if use is not None]
    return tuple(
        Crossing((at + further) / 2.0, use, other)
        for (use, at), (other, further) in itertools.pairwise(told)
        if use != other
    )
