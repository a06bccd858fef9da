"""What is one more megalitre worth today: planted, held, kept on the farm, or sold?

From where the farm stands today and a chosen area, water is added in steps to one use at a time,
and the farm is run again on the same sequences. The rise in what the run is worth (see `objective`)
over the step is what a megalitre is worth in that use, after so many have gone to it. Uses:

- *planted*: into the account, and as many more hectares planted as it is planned to carry;
- *held*: into the account, and no more planted. It bears what accounts bear: evaporation, a full
  account, limits, a spill. Should the crop run short, it may be used to finish it;
- *on farm*: into the farm storage, likewise; it evaporates and seeps;
- *sold*: at today's price.

Where the highest curve is crossed by another, the best use changes. All in AUD per ML, with the
standard error of the differences, sequence by sequence.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from model.decide.objective import worth_of
from model.errors import Fault, InputError
from model.farm.price import Market
from model.farm.river import RiverMonth
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.farm.state import FarmState, Settings
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR

Use = Literal["planted", "held", "on_farm", "sold"]
STEPS: Final = 10
LEAST_RANGE_ML: Final = 1.0
SEQUENCES: Final = 2_000
"""Enough that a megalitre's worth is known to a few dollars."""

FEW_SEQUENCES: Final = 1_000
"""Enough for some five dollars, where a page waits for it."""

USUAL_RANGE_FRAC: Final = 0.2
"""Of the shares: as far as a curve is drawn where nobody says how far."""

ROUNDING_AUD_PER_ML: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Curve:
    """What a megalitre is worth in one use, each (step,)."""

    volume_ml: FloatArray  # already put to the use, at the middle of the step
    worth_aud_per_ml: FloatArray
    error_aud_per_ml: FloatArray  # standard error


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where the best use changes."""

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

    def best_use(self) -> Use:
        """Return the use in which the first megalitre is worth most."""
        return max(self.curves, key=lambda use: float(self.curves[use].worth_aud_per_ml[0]))


def last_megalitre(
    setting: FarmSetting,
    river: list[RiverMonth],
    *,
    strategy: int,
    area_ha: float,
    range_ml: float,
) -> LastMegalitre:
    """Work out what one more megalitre is worth.

    Parameters
    ----------
    setting, river
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
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> from model.record.record import read_record
    >>> path = demonstration_plan()
    >>> plan = read_plan(path).with_drawing(count=20)
    >>> record = read_record(path.parent / plan.record)
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> setting = farm_setting_of(plan, record, strategies_of(plan))
    >>> river = setting.river(setting.valley.first_sequences(20))
    >>> found = last_megalitre(setting, river, strategy=1, area_ha=60.0, range_ml=300.0)
    >>> sorted(found.curves), found.sequences
    (['held', 'on_farm', 'planted', 'sold'], 20)
    """
    range_ml = _range_ml(setting, area_ha, range_ml)
    volumes_ml = np.linspace(0.0, range_ml, STEPS + 1)
    uses = _uses(setting)
    one = setting.settings.one(strategy)
    settings, opening = _variants(setting, river, one, uses, area_ha, volumes_ml)
    worth = worth_of(setting, river, settings, opening).standing_aud
    by_use = worth.reshape(len(uses), STEPS + 1, -1)
    curves: dict[Use, Curve] = {use: _curve(by_use[at], volumes_ml) for at, use in enumerate(uses)}
    if setting.rules.market is not None:
        curves["sold"] = _sold(river, setting.rules.market, volumes_ml)
    return LastMegalitre(
        strategy=setting.strategies[strategy].name,
        area_ha=area_ha,
        sequences=worth.shape[1],
        curves=curves,
        crossings=crossings_of(curves),
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
    river = setting.river(setting.valley.first_sequences(SEQUENCES))
    planted_ha = results["area_planted_ha"]
    decided = (setting.rules.crop.planting_k - river[0].k) % MONTHS_IN_YEAR
    season = setting.valley.calendar.season_of(decided)
    if season >= setting.valley.calendar.seasons or room_ml(setting) < LEAST_RANGE_ML:
        return ()
    return tuple(
        last_megalitre(
            setting,
            river,
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
    river = setting.river(setting.valley.first_sequences(FEW_SEQUENCES))
    return last_megalitre(setting, river, strategy=strategy, area_ha=area_ha, range_ml=range_ml)


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
    """Return the uses that are tried by running the farm again."""
    if setting.rules.water.storage_capacity_ml > 0.0:
        return ("planted", "held", "on_farm")
    return ("planted", "held")


def _variants(
    setting: FarmSetting,
    river: list[RiverMonth],
    one: Settings,
    uses: tuple[Use, ...],
    area_ha: float,
    volumes_ml: FloatArray,
) -> tuple[Settings, FarmState]:
    """Arrange every use at every volume as a way of running the farm."""
    count = len(uses) * volumes_ml.size
    added_ml = np.tile(volumes_ml, len(uses))[:, None]
    use = np.repeat(np.arange(len(uses)), volumes_ml.size)[:, None]
    planted, on_farm = use == uses.index("planted"), use == 2
    per_ha = one.planned_water_ml_per_ha(setting.rules)
    settings = one.repeated(count)
    settings = replace(settings, first_area_ha=area_ha + np.where(planted, added_ml / per_ha, 0.0))
    opening = setting.opening(river, count)
    to_account_ml = np.where(on_farm, 0.0, added_ml)
    stored_ml = opening.storage_ml + np.where(on_farm, added_ml, 0.0)
    water = setting.rules.water
    return settings, replace(
        opening,
        account_ml_per_share=opening.account_ml_per_share + to_account_ml / water.shares_ml,
        storage_ml=np.minimum(stored_ml, water.storage_capacity_ml),
    )


def _curve(worth_aud: FloatArray, volumes_ml: FloatArray) -> Curve:
    """Take differences between steps, sequence by sequence.

    Parameters
    ----------
    worth_aud
        (volume, sequence)
    volumes_ml
        (volume,)
    """
    step_ml = np.diff(volumes_ml)
    risen = np.diff(worth_aud, axis=0) / step_ml[:, None]
    sequences = risen.shape[1]
    return Curve(
        volume_ml=(volumes_ml[1:] + volumes_ml[:-1]) / 2.0,
        worth_aud_per_ml=risen.mean(axis=1),
        error_aud_per_ml=risen.std(axis=1, ddof=min(1, sequences - 1)) / math.sqrt(sequences),
    )


def _sold(river: list[RiverMonth], market: Market, volumes_ml: FloatArray) -> Curve:
    """Return what a seller gets today, a price that one farm does not move."""
    middle_ml = (volumes_ml[1:] + volumes_ml[:-1]) / 2.0
    price = float(market.got_aud_per_ml(river[0].price_aud_per_ml).mean())
    return Curve(middle_ml, np.full(middle_ml.size, price), np.zeros(middle_ml.size))


def crossings_of(curves: Mapping[Use, Curve]) -> tuple[Crossing, ...]:
    """Find where the best use changes, in the order of volume; curves run straight between steps.

    Examples
    --------
    >>> at = np.array([50.0, 150.0])
    >>> flat, none = np.array([100.0, 100.0]), np.zeros(2)
    >>> curves = {"planted": Curve(at, np.array([300.0, 0.0]), none), "held": Curve(at, flat, none)}
    >>> [(round(c.volume_ml), c.best_before, c.best_after) for c in crossings_of(curves)]
    [(117, 'planted', 'held')]
    """
    found = []
    for (one, a), (other, b) in itertools.combinations(curves.items(), 2):
        gap = a.worth_aud_per_ml - b.worth_aud_per_ml
        for at in np.flatnonzero(gap[:-1] * gap[1:] < 0.0):
            part = gap[at] / (gap[at] - gap[at + 1])
            volume_ml = a.volume_ml[at] + part * (a.volume_ml[at + 1] - a.volume_ml[at])
            height = a.worth_aud_per_ml[at] + part * np.diff(a.worth_aud_per_ml)[at]
            highest = max(
                float(np.interp(volume_ml, c.volume_ml, c.worth_aud_per_ml))
                for c in curves.values()
            )
            if height >= highest - ROUNDING_AUD_PER_ML:
                best = (one, other) if gap[at] > 0.0 else (other, one)
                found.append(Crossing(float(volume_ml), *best))
    return tuple(sorted(found, key=lambda crossing: crossing.volume_ml))
