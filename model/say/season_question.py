"""How are the date's question and its answer told, in no more than a screen of text?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from model.decide.desk import Desk, NothingComes, PreparedLand
from model.decide.season_question import Course, SeasonQuestion
from model.decide.triggers import Trigger
from model.decide.ways import Brought, told_apart
from model.farm.setting import FarmSetting
from model.plan.farm import Objective
from model.say.frontier import NOT_APART, WORST
from model.say.last_megalitre import briefly_in_words
from model.say.numbers import (
    chance,
    count,
    ha,
    listed,
    ml,
    money,
    number,
    own_water,
    times_in_100,
    with_range,
)
from model.water_year import MONTH_NAMES, month_name

OBJECTIVES: Final[dict[Objective, str]] = {
    "mean": "best on average",
    "worst_tenth": f"best in the {WORST}",
    "missed_payment": "least often with a payment missed",
}

WHAT_IT_IS: Final = (
    "Held against each other on the same sequences, by worth at the run's end, with errors of "
    "draws and record."
)

HELD_IS: Final = (
    "If no more water comes: nothing announced, no stream pumped, dam and high security as in the "
    "driest sequence, average weather, nothing bought or sold."
)


NO_TRIGGER: Final = "no dam or account by the next decision does so beyond its error"


def question_in_words(found: SeasonQuestion, setting: FarmSetting) -> str:
    """Return the date's question."""
    planting = MONTH_NAMES[setting.rules.crop.planting_k]
    main, others = (
        setting.farm.main_crop.name,
        [c.crop for c in found.tried.courses if c.act == "sow"],
    )
    sown = sorted({crop.split(",")[0] for crop in others})
    asked = {
        "carry": f"carry, sell, buy{f', or sow {listed(sown)}' if sown else ''} by 30 June?",
        "plant": f"how many hectares of {main} to fertilise, and plant in {planting}?",
        "finish": f"how many hectares of {main} to finish, cut back, or spread the water over?",
    }
    return (
        f"{month_name(found.opening_month)}, {setting.farm.name}: {asked[found.decision.question]}"
    )


def season_question_in_words(found: SeasonQuestion, setting: FarmSetting) -> list[str]:
    """Return question, answer, doubt and what stands beside them, one item a line.

    The last two are the first that may be left out where a screen is short.
    """
    carries = found.decision.question == "carry"
    return [
        question_in_words(found, setting),
        *([] if carries else area_lines(found)),
        *(next_season_lines(found, setting) if carries else []),
        *course_lines(found),
        *desk_lines(found.desk, found, setting),
        *trigger_lines(found, setting),
        *([] if found.last is None else [briefly_in_words(found.last)]),
        WHAT_IT_IS,
    ]


def area_lines(found: SeasonQuestion) -> Iterator[str]:
    """Yield the area that is best, what it brings, and what cannot be told apart from it."""
    tried, (low, high) = found.areas, found.areas.alike_ha
    best, choice, best_by = tried.best, tried.choice, OBJECTIVES[found.objective]
    alike = "" if low == high else f"; {number(low)} to {ha(high)} {NOT_APART} from it"
    yield f"{found.strategy}, area chosen today: {ha(tried.best_ha)} is {best_by}{alike}."
    yield f"  {ha(tried.best_ha)}: {_brought_in_words(tried.brought[best])}."
    if choice is not None and choice != best:
        ours = _brought_in_words(tried.brought[choice])
        yield f"  {ha(tried.areas_ha[choice])}, nearest to our choice: {ours}."


def _brought_in_words(brought: Brought) -> str:
    """Return what an area brings."""
    return (
        f"finished fully watered {chance(brought.finished)}, over the limit "
        f"{chance(brought.past_limit)}, a payment missed {chance(brought.payment_missed)}"
    )


def next_season_lines(found: SeasonQuestion, setting: FarmSetting) -> Iterator[str]:
    """Yield the water of the season that is decided on: what comes next leads."""
    usable = found.tried.usable_ml_per_share
    if usable is None:
        return
    shares_ml = setting.farm.licence.general_security_shares_ml
    low, middle, high = (usable.quantiles[frac].value * shares_ml for frac in (0.1, 0.5, 0.9))
    yield (
        f"{found.water_year}, usable in the account at planting: {ml(low)} reached 90 times in "
        f"100, {ml(middle)} 50, {ml(high)} 10."
    )


def course_lines(found: SeasonQuestion) -> Iterator[str]:
    """Yield what may be done today, held against what the strategy does."""
    usual, *others = found.tried.courses
    if not others:
        return
    better, usual_aud = found.tried.better, money(usual.brought.mean_aud.value)
    yield (
        f"Today, beside {found.strategy} as usual ({usual_aud} at the end of the run on average): "
        f"{'nothing tried is ahead' if better is None else f'{course_in_words(better)} is ahead'}."
    )
    most = {(course.act, course.crop): course for course in others}  # of each, the most
    tried, alike = [], []
    for course in most.values():
        ahead = ahead_in_words(course, found.objective)
        if ahead is None:
            alike.append(course_in_words(course))
        else:
            tried.append(f"{course_in_words(course)} {ahead}")
    tried += [f"{NOT_APART}: {', or '.join(alike)}"] if alike else []
    yield f"  {'; '.join(tried)}."


def course_in_words(course: Course) -> str:
    """Return a course of action."""
    if course.act in ("sell", "buy"):
        return f"{course.act} {ml(course.ml)}"
    if course.act == "sow":
        return f"sow {course.crop}, up to {ha(course.ha)}"
    return f"leave {course.crop} unsown" if course.act == "leave" else "as usual"


def ahead_in_words(course: Course, objective: Objective) -> str | None:
    """Return how far a course is ahead of what is usually done; None: it cannot be told apart."""
    ahead = None if course.ahead is None else course.ahead.by(objective)
    if ahead is None or not told_apart(ahead):
        return None
    better = ahead.value > 0.0
    ends = sorted(abs(end) for end in ahead.headline)
    if objective == "missed_payment":
        low, high = (number(100.0 * end, 1) for end in ends)
        said = f"{number(100.0 * abs(ahead.value), 1)} times in 100"
        return f"a payment missed {said} {'less' if better else 'more'} often ({low} to {high})"
    low, high = (money(end) for end in ends)
    return f"{money(abs(ahead.value))} {'more' if better else 'less'} ({low} to {high})"


def desk_lines(desk: Desk, found: SeasonQuestion, setting: FarmSetting) -> Iterator[str]:
    """Yield the figures for the desk."""
    held, choice = desk.water.held, desk.water.choice
    only = "Planting only what the water held finishes, if no more comes"
    yield f"{only}: {nothing_comes_in_words(held)}."
    if choice is not None:
        yield f"  With our {ha(choice.area_ha)}: {nothing_comes_in_words(choice)}."
    yield f"{bills_in_words(desk)}."
    if desk.prepared is not None:
        yield f"{prepared_in_words(desk.prepared, found.objective)}."
    yield f"{limit_in_words(desk, setting)}."
    yield f"{bales_in_words(desk, setting)}."


def trigger_lines(found: SeasonQuestion, setting: FarmSetting) -> Iterator[str]:
    """Yield what would change the answer by the next decision: the surest of what was found."""
    surest = max(found.triggers, key=lambda each: each.gain / each.gain_error, default=None)
    if surest is None:
        yield f"What would change the area: {NO_TRIGGER}."
    else:
        yield f"What would change the area: {trigger_in_words(surest, found.objective, setting)}."


def trigger_in_words(trigger: Trigger, objective: Objective, setting: FarmSetting) -> str:
    """Return a threshold with its range, how often it is reached, and what it is worth."""

    def level(value: float) -> str:
        if trigger.of == "dam":
            return ml(round(value, -3))
        return own_water(value, setting.farm.licence.general_security_shares_ml)

    where = "in the dam" if trigger.of == "dam" else "in our account"
    at = level(trigger.threshold)
    ends = level(trigger.low), level(trigger.high)
    said = at if ends[0] == ends[1] else f"{at} ({ends[0]} to {ends[1]})"
    worth = (
        f"{number(100.0 * trigger.gain, 1)} times in 100 fewer payments missed (give or take "
        f"{number(100.0 * trigger.gain_error, 1)})"
        if objective == "missed_payment"
        else f"{money(trigger.gain)} more (give or take {money(trigger.gain_error)})"
    )
    return (
        f"on 1 {month_name(trigger.month)}, from {said} {where} on, {ha(trigger.area_reached_ha)} "
        f"is {OBJECTIVES[objective]}, below it {ha(trigger.area_below_ha)}; reached "
        f"{times_in_100(trigger.reached_frac)}; {worth} on years it was not found on"
    )


def nothing_comes_in_words(met: NothingComes) -> str:
    """Return what is finished, and the bank, if no more water comes."""
    at_most = ", all the land there is for it" if met.land_ends_it else ""
    return (
        f"{ha(met.finished_ha)} finished{at_most}; the bank is lowest in "
        f"{month_name(met.lowest_month)} at {money(met.lowest_cash_aud)}, and at "
        f"{money(met.closing_cash_aud)} when June ends"
    )


def bills_in_words(desk: Desk) -> str:
    """Return the hectares that the year's bills need."""
    bills = desk.water.bills
    if bills.bills_aud <= 0.0:
        return "The bills of the twelve months ahead are met without the crop"
    if math.isinf(bills.area_ha):
        return (
            f"The bills of the twelve months ahead, {money(bills.bills_aud)}, are met by no area: "
            "a hectare leaves nothing"
        )
    return (
        f"The bills of the twelve months ahead, {money(bills.bills_aud)}, need "
        f"{ha(bills.area_ha)} watered in full, at {money(bills.leaves_aud_per_ha)} a ha"
    )


def prepared_in_words(prepared: PreparedLand, objective: Objective) -> str:
    """Return how much land to prepare and fertilise, and the regret of too much and too little."""
    many, few = prepared.too_many, prepared.too_few
    return (
        f"Prepared and fertilised ({money(prepared.to_spend_aud_per_ha)} a ha still to spend): "
        f"{ha(prepared.best_ha)} is {OBJECTIVES[objective]}; with hindsight too many "
        f"{times_in_100(many.chance.value, many.chance.draws)}, by {money(many.cost_aud)}; too few "
        f"{times_in_100(few.chance.value, few.chance.draws)}, by {money(few.cost_aud)}"
    )


def limit_in_words(desk: Desk, setting: FarmSetting) -> str:
    """Return the overdraft that holds 90 times in 100, beside the limit there is."""
    needed = with_range(desk.reached.limit_needed_aud, money)
    limit = money(setting.rules.cash.overdraft_limit_aud)
    return f"Overdraft that holds 90 times in 100: {needed}; the limit is {limit}"


def bales_in_words(desk: Desk, setting: FarmSetting) -> str:
    """Return what is reached 90 times in 100, beside what is sold forward."""
    unit = setting.farm.main_crop.unit
    sold = count(round(desk.reached.sold_forward), unit, unit if unit == "t" else "")
    units = unit if unit == "t" else f"{unit}s"
    return (
        f"Reached 90 times in 100 in {desk.water_year}: "
        f"{with_range(desk.reached.bales, number)} {units}; {sold} sold forward so far"
    )
