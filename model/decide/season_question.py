"""What is the answer to the date's question, how sure is it, and what stands beside it?

Areas of the season's crop, and what may be done today beside them (sell or buy water, sow by
30 June), are each played on the same sequences. What is done after today follows the strategy, and
nothing here is dated after the decision. The area best by the plan's objective is held against all
others: those that cannot be told apart from it answer as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from model.decide.decision import Decision, areas_of, decision_of, nearest, way_of
from model.decide.desk import Desk, desk_of
from model.decide.last_megalitre import LastMegalitre, quick_last_megalitre
from model.decide.one_area import Rivers, RiversDrawn
from model.decide.triggers import Trigger, triggers
from model.decide.ways import (
    Ahead,
    Brought,
    Runs,
    Way,
    ahead_of,
    best_by,
    brought_by,
    months_of,
    play_ways,
    told_apart,
)
from model.farm.grow import Grown
from model.farm.rules import FarmRules
from model.farm.setting import FarmSetting
from model.farm.state import Settings
from model.outlook.chances import Spread, quantiles_of_rows, spread
from model.outlook.setting import Progress
from model.plan.farm import Objective
from model.water_year import MONTHS_IN_YEAR

AREAS_TRIED: Final = 9
"""From none to the most, evenly spaced: what lies between them is not told apart anyway."""

TRADED_PARTS: Final = (0.5, 1.0)
"""Of the most that may be sold, and of the most that may be bought, today."""

LEAST_TRADED_ML: Final = 1.0

Act = Literal["as_usual", "sell", "buy", "sow", "leave"]


@dataclass(frozen=True, slots=True)
class Course:
    """Something that may be done on the date; all else is as the strategy does it."""

    act: Act
    ml: float  # sold or bought today
    ha: float  # sown at most by 30 June, on average what was
    crop: str  # sown, or left unsown
    brought: Brought
    ahead: Ahead | None  # of what is usually done; None: it is that


@dataclass(frozen=True, slots=True)
class AreasTried:
    """Areas of the season's crop, and which is best."""

    areas_ha: tuple[float, ...]
    brought: tuple[Brought, ...]  # by area
    best: int  # which area is best, by the plan's objective
    alike: tuple[bool, ...]  # which areas cannot be told apart from it
    choice: int | None  # the area nearest to the one chosen; None: none is

    @property
    def best_ha(self) -> float:
        """The area that is best by the plan's objective."""
        return self.areas_ha[self.best]

    @property
    def alike_ha(self) -> tuple[float, float]:
        """The least and the most of the areas that cannot be told apart from the best."""
        areas_ha = [ha for ha, alike in zip(self.areas_ha, self.alike, strict=True) if alike]
        return min(areas_ha), max(areas_ha)


@dataclass(frozen=True, slots=True)
class CoursesTried:
    """What may be done on the date, beside choosing an area."""

    courses: tuple[Course, ...]  # as usual first
    usable_ml_per_share: Spread | None  # at planting, or with the crop in the ground at the finish
    objective: Objective

    @property
    def better(self) -> Course | None:
        """The course that is ahead of what is usually done, beyond the errors; None: none is."""
        ahead = [
            (found.value, place)
            for place, course in enumerate(self.courses)
            if course.ahead is not None
            and told_apart(found := course.ahead.by(self.objective))
            and found.value > 0.0
        ]
        return self.courses[max(ahead)[1]] if ahead else None


@dataclass(frozen=True, slots=True)
class SeasonQuestion:
    """The date's question and its answer; each part may be asked for alone."""

    decision: Decision
    strategy: str  # followed otherwise
    objective: Objective
    opening_month: int  # month number: the date
    water_year: str  # of the crop that is decided on
    areas: AreasTried
    tried: CoursesTried
    last: LastMegalitre | None  # about the best area; None: no planting is ahead, or no room
    desk: Desk
    triggers: tuple[Trigger, ...]  # what would change the answer by the next decision


def season_question(
    setting: FarmSetting,
    rivers: Rivers,
    *,
    strategy: int,
    area_ha: float | None = None,
    progress: Progress | None = None,
) -> SeasonQuestion:
    """Answer the date's question.

    Parameters
    ----------
    setting, rivers
        The farm, and the valley's months as it meets them.
    strategy
        Which of the setting's strategies is followed otherwise.
    area_ha
        Of the season's crop, chosen by hand; None: none is yet.
    progress
        Called with the ways done and the ways in all.

    Examples
    --------
    >>> from model.decide.one_area import rivers_of
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20, seasons=1)
    >>> setting = farm_setting_of(plan, record, strategies_of(plan))
    >>> found = season_question(setting, rivers_of(setting), strategy=1)
    >>> found.decision.question, found.water_year, len(found.areas.areas_ha)
    ('plant', '2025-26', 9)
    """
    decision = decision_of(setting, strategy)
    areas = areas_tried(setting, rivers, strategy=strategy, area_ha=area_ha, progress=progress)
    return SeasonQuestion(
        decision=decision,
        strategy=setting.strategies[strategy].name,
        objective=setting.farm.objective,
        opening_month=setting.valley.calendar.opening_month,
        water_year=setting.valley.calendar.water_year(decision.season),
        areas=areas,
        tried=courses_tried(setting, rivers, strategy=strategy, progress=progress),
        last=next_megalitre(setting, decision, areas, strategy=strategy),
        desk=desk_of(setting, rivers, strategy=strategy, area_ha=area_ha, progress=progress),
        triggers=triggers(setting, strategy=strategy, progress=progress),
    )


def areas_tried(
    setting: FarmSetting,
    rivers: Rivers,
    *,
    strategy: int,
    area_ha: float | None = None,
    progress: Progress | None = None,
) -> AreasTried:
    """Try areas of the season's crop; see `season_question`."""
    decision, of = decision_of(setting, strategy), rivers.of
    areas_ha = areas_of(decision, AREAS_TRIED)
    ways = [way_of(setting, decision, strategy, area) for area in areas_ha]
    runs = play_ways(setting, rivers, ways, decision.season, progress)
    best = best_by(setting.farm.objective, runs, of.drawn)
    return AreasTried(
        areas_ha=areas_ha,
        brought=tuple(brought_by(of, runs, at) for at in range(len(areas_ha))),
        best=best,
        alike=_alike(of, runs, best, setting.farm.objective),
        choice=None if area_ha is None else nearest(areas_ha, area_ha),
    )


def courses_tried(
    setting: FarmSetting, rivers: Rivers, *, strategy: int, progress: Progress | None = None
) -> CoursesTried:
    """Try what may be done on the date beside choosing an area; see `season_question`."""
    decision = decision_of(setting, strategy)
    offered = tuple(courses_of(setting, rivers, decision, strategy))
    ways = [course.way for course in offered]
    runs = play_ways(setting, rivers, ways, decision.season, progress)
    return CoursesTried(
        courses=tuple(_courses(rivers.of, runs, offered)),
        usable_ml_per_share=_usable(rivers.of, runs.of(0)),
        objective=setting.farm.objective,
    )


def next_megalitre(
    setting: FarmSetting, decision: Decision, areas: AreasTried, *, strategy: int
) -> LastMegalitre | None:
    """Work out where the next megalitre is worth most, about the best area; see `season_question`.

    With the crop in the ground no more is planted: selling and buying are tried as courses.
    """
    if decision.planting_t is None:
        return None
    return quick_last_megalitre(setting, strategy=strategy, area_ha=areas.best_ha)


def _alike(of: RiversDrawn, runs: Runs, best: int, objective: Objective) -> tuple[bool, ...]:
    """Return which areas cannot be told apart from the best."""
    return tuple(
        at == best or not told_apart(ahead_of(of, runs, best, at).by(objective))
        for at in range(len(runs.standing_aud))
    )


def _usable(of: RiversDrawn, runs: Runs) -> Spread | None:
    """Return how the usable account is spread; None where its month is past."""
    values = runs.usable_ml_per_share
    if np.isnan(values).any():
        return None
    return spread(values[of.drawn], quantiles_of_rows(values[of.resampled]), of.widened_by)


@dataclass(frozen=True, slots=True)
class Offered:
    """A course before it is played."""

    act: Act
    way: Way
    ml: float = 0.0
    ha: float = 0.0
    crop: str = ""


def courses_of(
    setting: FarmSetting, rivers: Rivers, decision: Decision, strategy: int
) -> Iterator[Offered]:
    """Yield what may be done on the date: as usual, sell, buy; in autumn sow, or leave unsown."""
    usual = way_of(setting, decision, strategy)
    yield Offered("as_usual", usual)
    yield from _trades(setting, rivers, usual)
    if decision.question == "carry":
        yield from _sowings(setting, decision, usual)


def _trades(setting: FarmSetting, rivers: Rivers, usual: Way) -> Iterator[Offered]:
    """Yield parts of the most that may be sold and bought today."""
    market = setting.rules.market
    if market is None:
        return
    most = np.array([[market.most_ml_per_season]])
    none = np.zeros_like(most)
    sells = replace(usual.settings, sell_now_ml=most, buy_now_ml=none)
    buys = replace(usual.settings, sell_now_ml=none, buy_now_ml=most)
    sold_ml, _ = _traded_today_ml(setting, rivers, replace(usual, settings=sells))
    _, bought_ml = _traded_today_ml(setting, rivers, replace(usual, settings=buys))
    for part in TRADED_PARTS:
        if (ml := part * sold_ml) >= LEAST_TRADED_ML:
            now = replace(sells, sell_now_ml=np.array([[ml]]))
            yield Offered("sell", replace(usual, settings=now), ml=ml)
    for part in TRADED_PARTS:
        if (ml := part * bought_ml) >= LEAST_TRADED_ML:
            now = replace(buys, buy_now_ml=np.array([[ml]]))
            yield Offered("buy", replace(usual, settings=now), ml=ml)


def _traded_today_ml(setting: FarmSetting, rivers: Rivers, way: Way) -> tuple[float, float]:
    """Return what is really sold and bought at once: what the account holds, takes and may use."""
    month = next(iter(months_of(setting, rivers.months, way)))
    traded = month.fluxes.traded
    return float(traded.sold_ml.min()), float(traded.bought_ml.min())


def _sowings(setting: FarmSetting, decision: Decision, usual: Way) -> Iterator[Offered]:
    """Yield each crop that may be sown from today to 30 June, and leaving them all unsown."""
    rules, until_t = setting.rules, setting.valley.calendar.last_t(0)
    places = [
        at
        for at, layout in enumerate(rules.layouts)
        if at not in rules.crop.places and decision.k <= layout.sow_k < MONTHS_IN_YEAR
    ]
    for at in places:
        step = _sown_first(at, usual.settings, rules)
        others = [grown for grown in usual.settings.grown if grown.at not in places]
        settings = replace(usual.settings, grown=(step, *others))
        way = Way(settings, usual.opening, until_t=until_t, after=usual.settings)
        layout = rules.layouts[at]
        yield Offered("sow", way, ha=float(layout.most_ha), crop=layout.label)
    if any(grown.at in places for grown in usual.settings.grown):
        others = [grown for grown in usual.settings.grown if grown.at not in places]
        settings = replace(usual.settings, grown=tuple(others))
        way = Way(settings, usual.opening, until_t=until_t, after=usual.settings)
        crops = sorted({rules.layouts[at].crop for at in places})
        yield Offered("leave", way, crop=", ".join(crops))


def _sown_first(at: int, settings: Settings, rules: FarmRules) -> Grown:
    """Return a step that sows a crop on all the land and water there is for it."""
    layout, one = rules.layouts[at], np.ones((settings.count, 1))
    return Grown(
        at=at,
        chosen=one > 0.0,
        planned_water_ml_per_ha=one * layout.planned_water_ml_per_ha,
        least_water_ml_per_ha=0.0 * one,
        most_ha=one * layout.most_ha,
    )


def _courses(of: RiversDrawn, runs: Runs, offered: tuple[Offered, ...]) -> Iterator[Course]:
    """Yield what each course brings, held against what is usually done."""
    for at, each in enumerate(offered):
        yield Course(
            act=each.act,
            ml=each.ml,
            ha=each.ha,
            crop=each.crop,
            brought=brought_by(of, runs, at),
            ahead=None if at == 0 else ahead_of(of, runs, at, 0),
        )
