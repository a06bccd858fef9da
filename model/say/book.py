"""How is it told how many farms stand together?"""

from __future__ import annotations

from typing import Final

from model.book.book import Book, Drivers, scope_key
from model.book.pool import Counted, Pool, Scope
from model.say.cautions import FARM_CAUTION
from model.say.measures import MEASURES
from model.say.method import method_in_words, ranges_in_words
from model.say.notes import QUANTILES, Notes
from model.say.numbers import chance, count, listed, money, number, times_in_100, with_range
from model.water_year import month_name

WORST_TENTH: Final = "average of the worst 10 in 100"

FEW_FARMS: Final = 10
"""A tenth of so few is one."""

FIRST_OF_EACH: Final = "Each farm under the first strategy of its plan"

OWED: Final = MEASURES["owed_beyond_terms_aud"].title

NOT_ADDED_UP: Final = (
    "The valleys are not added up: nothing in the plans says how they come together. State it: "
    "--joint same_years (all valleys meet the same years of their records) or --joint independent "
    "(they know nothing of each other)."
)

JOINT: Final = {
    "same_years": "All valleys meet the same years of their records, as stated: years are drawn "
    "once, from those that all records hold.",
    "independent": "The valleys know nothing of each other, as stated: their sequences are put "
    "side by side at random. A drought over all of them at once comes less often so than where "
    "they share their weather.",
}
"""How valleys come together."""

RANGE_OF_BOOK: Final = (
    "For a book the farms are not played again on each resampled record: the same runs are counted "
    "as often as it holds the years that they begin with, and the method is not fitted again."
)


def book_in_words(book: Book) -> str:
    """Return a book as text for a terminal."""
    parts = ["\n".join([_head(book), *(valley_line(book, scope) for scope in book.by_valley)])]
    if len(book.by_valley) > 1:
        parts += [_scope_in_words(book, scope) for scope in book.by_valley]
        parts.append(NOT_ADDED_UP if book.joint is None else JOINT[book.joint])
    if book.whole is not None:
        parts.append(_scope_in_words(book, book.whole))
    if book.faults:
        parts.append(faults_in_words(book))
    how = next(iter(book.valleys.values())).drawn.how
    parts.append(f"{owed_in_words()}\n{ranges_in_words(how)} {RANGE_OF_BOOK}")
    return "\n\n".join(parts)


def _head(book: Book) -> str:
    """Return how many farms there are."""
    return (
        f"{book.name}: {count(book.farms, 'farm')} played, on "
        f"{count(len(book.by_valley), 'valley')}."
    )


def valley_line(book: Book, scope: Scope) -> str:
    """Return what a valley's farms were played through."""
    valley = book.valleys[scope.valleys[0]]
    calendar = valley.setting.calendar
    return (
        f"{scope.name}: {count(scope.farms, 'farm')}, "
        f"{count(len(valley.drawn.drawn), 'sequence')} from "
        f"{month_name(calendar.opening_month)}, {count(calendar.seasons, 'season')}: "
        f"{method_in_words(valley.drawn.method.settings())}."
    )


def _scope_in_words(book: Book, scope: Scope) -> str:
    """Return farms that are looked at together, under each strategy."""
    lines = [f"{scope_title(scope)}: {count(scope.farms, 'farm')}"]
    for at, pool in enumerate(scope.pools):
        lines += ["", strategy_of_pool(pool)]
        lines += [
            f"  {s.water_year}: {missing_in_words(s.missing, scope.farms)}" for s in pool.seasons
        ]
        lines.append(f"  In any one season: {missing_in_words(pool.missing, scope.farms)}")
        past = pool.past_limit.farms
        lines.append(
            f"  Past the overdraft limit in the same season: {_farms(past.mean.value)} on average, "
            f"{_farms(past.worst_tenth.value)} as {WORST_TENTH}"
        )
        lines.append(f"  {lost_in_words(pool)}")
        lines += [f"  {said}" for said in drivers_in_words(book.drivers[scope_key(scope), at])]
    return "\n".join(lines)


def scope_title(scope: Scope) -> str:
    """Return which farms are looked at."""
    return scope.name or "The whole book"


def strategy_of_pool(pool: Pool) -> str:
    """Return under which strategy farms are looked at together."""
    return pool.strategy or FIRST_OF_EACH


def _farms(farms: float) -> str:
    """Return a number of farms, which need not be whole."""
    return "fewer than 0.1 farms" if 0.0 < farms < 0.05 else f"{number(farms, 1)} farms"


def missing_in_words(counted: Counted, farms: int, *, short: bool = False) -> str:
    """Return how many farms miss a payment at once; in short, on average and half or more."""
    mean = _farms(counted.farms.mean.value)
    if counted.farms.mean.value == 0.0:
        draws = counted.chance_any.draws
        return f"no farm misses a payment {times_in_100(1.0, draws)}"
    said = f"a payment missed by {mean} on average"
    if not short:
        said += f", {chance_words('one or more', counted, None)}"
    if farms > FEW_FARMS and not short:
        said += f"; {chance_words('a tenth of them or more', counted, 0.1)}"
    if farms > 1:
        said += f"; {chance_words('half of them or more', counted, 0.5)}"
    return said


def chance_words(who: str, counted: Counted, part: float | None) -> str:
    """Return how often so many farms or more are in trouble at once."""
    found = counted.chance_any if part is None else counted.chance_of_part[part]
    return f"{who} {chance(found)}"


def lost_in_words(pool: Pool) -> str:
    """Return what is lost in the worst tenth."""
    owed = pool.owed_aud
    return (
        f"{OWED} as the run ends: {with_range(owed.worst_tenth, money)} as {WORST_TENTH}, "
        f"{with_range(owed.mean, money)} on average"
    )


def drivers_in_words(drivers: Drivers, shown: int = 3) -> list[str]:
    """Return which farms the worst tenth comes from; nothing where nothing is owed."""
    if not drivers.most:
        return []
    names = listed([f"{d.farm} ({money(d.aud)})" for d in drivers.most[:shown]])
    return [f"Most of it from {names}; half of it from {count(drivers.farms_of_half, 'farm')}"]


def faults_in_words(book: Book, shown: int = 3) -> str:
    """Return which plans could not be played."""
    files = list(dict.fromkeys(fault.file for fault in book.faults))
    lines = [f"{count(len(files), 'plan')} could not be played (all in faults.csv):"]
    lines += [f"  {fault.file}: {fault.fault}" for fault in book.faults[:shown]]
    return "\n".join(lines)


def owed_in_words() -> str:
    """Return what is counted as lost."""
    measure = MEASURES["owed_beyond_terms_aud"]
    return f"{measure.title}: {measure.formula}."


def portfolio_notes(book: Book) -> Notes:
    """Return what a reader of portfolio.json needs beside its numbers."""
    joint = NOT_ADDED_UP if book.joint is None else JOINT[book.joint]
    return {
        "quantiles": QUANTILES,
        "errors": {
            "low, high": "error of the draws, 95 %: Wilson's interval, or order statistics",
            "record_low, record_high": "error of the record, 95 %: its years resampled in blocks. "
            + RANGE_OF_BOOK,
        },
        "worst_tenth": "mean of the worst tenth of the sequences",
        "owed_beyond_terms_aud": MEASURES["owed_beyond_terms_aud"].formula,
        "standing_aud": MEASURES["standing_aud"].title,
        "farms_missing": MEASURES["farms_missing"].title,
        "farms_past_limit": MEASURES["farms_past_limit"].title,
        "worst_season": "in that season of the run in which most farms are in trouble",
        "chance_of_part": "so large a part of the farms, or larger, in the same season",
        "in_worst_tenth_aud": "what a farm adds to the worst tenth of all farms together",
        "joint": "" if len(book.by_valley) == 1 else joint,
        "caution": FARM_CAUTION,
    }
