"""What would each strategy have decided in past years with what was known, and how did it end?

In every year of the hindcast the farm is put where the plan has it (bank, land and crops), the dam
and the average holder's account where the replay has them. What each strategy expects is fitted on
the record known then, so it decides as it would have decided; the season is then played in the
months that came. Beside it stands the best in hindsight: of these, and of a few areas planted by
the middle strategy, the one that ended best in those very months, which nobody could have known.

Sales made ahead are left off: they are of this year's crop. A year says how a decision ended, not
whether it was right: that is judged over many.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.evidence.walk import Stand, walk
from model.farm.setting import FarmSetting, decision_seasons, farm_of, farm_setting_of, middle_of
from model.farm.state import Settings
from model.plan.plan import Plan
from model.plan.strategy import Strategy
from model.record.record import Record
from model.water_year import format_month, water_year_label

AREAS_TRIED: Final = 9
"""From none to all the land, evenly: within a sixteenth of the best one."""

OF_THE_AVERAGE_HOLDER: Final = dict.fromkeys(
    (
        "account_ml_per_share",
        "carried_ml_per_share",
        "used_this_year_ml_per_share",
        "used_last_year_ml_per_share",
        "used_year_before_ml_per_share",
    )
)
"""The farm's own account of today is not that of a past year."""

OPENING: Final = (
    "storage_ml",
    "account_ml_per_share",
    "carried_ml_per_share",
    "announced_to_date_ml_per_share",
    "used_this_year_ml_per_share",
    "used_last_year_ml_per_share",
    "used_year_before_ml_per_share",
    "high_security_used_ml",
    "high_security_allocation_frac",
    "environment_ml",
    "high_security_carried_ml",
)
"""What a stand says of the valley, by the names of a plan's opening."""

Progress = Callable[[int, int], None]
"""Called with the years done and all of them."""


@dataclass(frozen=True, slots=True)
class YearDecided:
    """One past year: where it stood, what each strategy did, and how it ended."""

    water_year: str  # of the planting
    storage_ml: float  # as it was decided
    account_ml_per_share: float
    announced_ml_per_share: float  # to date at the season's end
    planted_ha: tuple[float, ...]  # by strategy
    finished_ha: tuple[float, ...]
    ended_aud: tuple[float, ...]  # standing at the season's end
    best_ha: float  # the area that would have ended best
    best_aud: float


@dataclass(frozen=True, slots=True)
class Decisions:
    """All past years, decided again."""

    strategies: tuple[str, ...]
    years: tuple[YearDecided, ...]

    def short_of_best_aud(self) -> tuple[float, ...]:
        """Return how far each strategy ended behind the best in hindsight, on average."""
        ended = np.array([year.ended_aud for year in self.years])
        best = np.array([year.best_aud for year in self.years])
        return tuple((best[:, None] - ended).mean(axis=0).tolist())

    def ended_best(self) -> tuple[int, ...]:
        """Count the years in which each strategy ended best of them, ties to each."""
        ended = np.array([year.ended_aud for year in self.years])
        return tuple((ended >= ended.max(axis=1, keepdims=True)).sum(axis=0).tolist())


def decide_again(
    plan: Plan,
    record: Record,
    strategies: Sequence[Strategy],
    *,
    every: int = 1,
    progress: Progress | None = None,
) -> Decisions:
    """Decide again in past years, each with what was known.

    Parameters
    ----------
    plan, record
        With a farm; what was observed.
    strategies
        At least one.
    every
        Which years: each, each second one and so on.
    progress
        Is told how far it is; what it raises ends the work.

    Raises
    ------
    PlanError
        The plan has no farm, or its parts do not fit together.
    RecordError
        The record is too short.
    """
    farm_of(plan)
    one = plan.with_drawing(seasons=1)
    stands = walk(one, record, decision_seasons(one)).stands[::every]
    years = []
    for done, stand in enumerate(stands, start=1):
        year = _decided(one, record, stand, strategies)
        if year is not None:
            years.append(year)
        if progress is not None:
            progress(done, len(stands))
    return Decisions(tuple(each.name for each in strategies), tuple(years))


def _decided(
    plan: Plan, record: Record, stand: Stand, strategies: Sequence[Strategy]
) -> YearDecided | None:
    """Decide in one year, and play what came; None where it is not over yet."""
    then = farm_setting_of(opened_at(plan, stand), stand.known, strategies)
    first_row = stand.month - record.first_month
    rows = first_row + np.arange(then.valley.calendar.months)[None, :]
    if rows[0, -1] >= record.months:
        return None
    met = replace(then, valley=replace(then.valley, record=record))  # the rules stay those of then
    river = met.river(rows)
    own = met.results(river)
    areas_ha = np.linspace(0.0, then.farm.developed_ha, AREAS_TRIED)
    tried = met.results(river, _planting(met, strategies, areas_ha))
    both = (own, tried)
    ended = np.concatenate([each["standing_aud"][:, 0, -1] for each in both])
    planted = np.concatenate([each["area_planted_ha"][:, 0, -1] for each in both])
    best = int(np.argmax(ended))
    return YearDecided(
        water_year=water_year_label(stand.month + then.valley.calendar.months - 1),
        storage_ml=float(stand.state.storage_ml[0]),
        account_ml_per_share=float(stand.state.account_ml_per_share[0]),
        announced_ml_per_share=float(own["announced_to_date_ml_per_share"][0, 0, -1]),
        planted_ha=tuple(own["area_planted_ha"][:, 0, -1].tolist()),
        finished_ha=tuple(own["area_finished_ha"][:, 0, -1].tolist()),
        ended_aud=tuple(own["standing_aud"][:, 0, -1].tolist()),
        best_ha=float(planted[best]),
        best_aud=float(ended[best]),
    )


def _planting(
    setting: FarmSetting, strategies: Sequence[Strategy], areas_ha: np.ndarray
) -> Settings:
    """Let the middle strategy plant given areas."""
    settings = Settings.of([middle_of(strategies)] * areas_ha.size, setting.rules)
    return replace(settings, first_area_ha=areas_ha[:, None])


def opened_at(plan: Plan, stand: Stand) -> Plan:
    """Open a plan where a past year stood: the valley's state then, the farm as the plan has it."""
    state = stand.state
    valley = {name: float(getattr(state, name)[0]) for name in OPENING}
    valley["carried_ml_per_share"] = min(
        valley["carried_ml_per_share"], valley["account_ml_per_share"]
    )
    farm = farm_of(plan)
    opening = farm.opening.model_copy(update=OF_THE_AVERAGE_HOLDER)
    money = farm.money.model_copy(update={"forward_sales": ()})
    return plan.model_copy(
        update={
            "opening": plan.opening.model_copy(
                update={"month": format_month(stand.month), **valley}
            ),
            "farm": farm.model_copy(update={"opening": opening, "money": money}),
        }
    )
