"""What is on the two pages of a brief for many farms?

How many are in trouble in the same season; what is owed beyond the terms in the worst tenth, by
whom, and what it all rests on.
"""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

from model.book.book import Book, scope_key
from model.book.pool import Counted, Pool, Scope, reached_by
from model.brief.charts import LEFT, RIGHT, WIDTH, Drawn
from model.brief.layout import Block, bullets, chart, heading, note, page, table, text
from model.brief.svg import DEEP, INK, MIDDLE, Canvas, Scale, nice_ticks
from model.say.book import (
    JOINT,
    NOT_ADDED_UP,
    RANGE_OF_BOOK,
    WORST_TENTH,
    drivers_in_words,
    missing_in_words,
    owed_in_words,
    scope_title,
    strategy_of_pool,
    valley_line,
)
from model.say.cautions import FARM_CAUTION, INVENTED
from model.say.measures import MEASURES
from model.say.method import ranges_in_words
from model.say.numbers import (
    capital,
    chance_cell,
    count,
    day_name,
    money,
    number,
    plain,
    thousands,
    thousands_heading,
    with_range,
)

SHADES: Final = (INK, DEEP, MIDDLE)
MOST_VALLEYS: Final = 12
"""More are counted, and stand in the files."""


def book_document(book: Book, date: dt.date) -> dict[str, Any]:
    """Return title, date, footer and pages of a brief for many farms, as plain data."""
    return {
        "title": f"{book.name}: {count(book.farms, 'farm')}",
        "made": f"Brief for a lender or an adviser, made on {day_name(date)}.",
        "date": [date.year, date.month, date.day],
        "footer": f"{book.name} · {date.isoformat()} · {count(book.farms, 'farm')}",
        "apart": True,  # each part on a page of its own
        "parts": [at_once_page(book), lost_page(book)],
    }


def scopes_of(book: Book) -> list[Scope]:
    """Return what is looked at: the whole book, or each valley where they are not added up."""
    return [book.whole] if book.whole is not None else list(book.by_valley[:MOST_VALLEYS])


def at_once_page(book: Book) -> dict[str, Any]:
    """Return how many farms are in trouble in the same season."""
    first = scopes_of(book)[0]
    blocks: list[Block] = []
    if any(valley.setting.plan.invented for valley in book.valleys.values()):
        blocks.append(note(f"{INVENTED}: valley or farm of some plans."))
    for scope in scopes_of(book):
        blocks.append(at_once_table(scope))
    pool = first.pools[0]
    blocks.append(
        chart(
            at_once_chart(pool, first.farms),
            f"{scope_title(first)}, {strategy_of_pool(pool)}: times in 100 in which so many farms "
            "or more miss a payment in the same season.",
        )
    )
    blocks += [text(f"{valley_line(book, scope)}") for scope in book.by_valley[:MOST_VALLEYS]]
    finding = capital(missing_in_words(pool.missing, first.farms, short=True))
    return page(
        "1  In trouble at once", f"In any one season, {finding[0].lower()}{finding[1:]}", blocks
    )


def at_once_table(scope: Scope) -> Block:
    """Return farms that miss a payment in the same season, by strategy and season."""
    rows = []
    for pool in scope.pools:
        named = [(s.water_year, s.missing, s.past_limit) for s in pool.seasons]
        for season, missing, past in [*named, ("worst season", pool.missing, pool.past_limit)]:
            rows.append(
                [
                    strategy_of_pool(pool),
                    season,
                    number(missing.farms.mean.value, 1),
                    *_chances(missing),
                    number(past.farms.mean.value, 1),
                    number(past.farms.worst_tenth.value, 1),
                ]
            )
    header = ["Strategy", "Season", "Miss a payment", "one or more", "a tenth", "half"]
    return table(
        f"{scope_title(scope)}, {count(scope.farms, 'farm')}: farms that miss a payment in the "
        "same season, on average; times in 100 that so many of them or more do; farms past the "
        f"overdraft limit, on average and as {WORST_TENTH}.",
        [*header, "Past limit", "worst tenth"],
        rows,
        widths=[1.5, 1.0, 0.8, 1.1, 1.1, 1.1, 0.7, 0.7],
        text_columns=(0, 1),
    )


def _chances(counted: Counted) -> list[str]:
    """Return the chances of one, a tenth and half of the farms or more."""
    parts = counted.chance_of_part
    return [chance_cell(each) for each in (counted.chance_any, parts[0.1], parts[0.5])]


def at_once_chart(pool: Pool, farms: int) -> Drawn:
    """Return a drawing of how often so many farms or more miss a payment, season by season."""
    canvas, across = Canvas(WIDTH, 190.0), Scale(0.0, float(farms), LEFT + 6, RIGHT - 60)
    scale = Scale(0.0, 100.0, 160.0, 18.0)
    canvas.text(4, 9, "times in 100")
    canvas.axis_y(scale, [0.0, 25.0, 50.0, 75.0, 100.0], LEFT, RIGHT - 56, lambda t: number(t))
    said = []
    for season, shade in zip(pool.seasons, SHADES, strict=False):
        reached = reached_by(season.missing, farms)
        canvas.line([(across.at(n), scale.at(100.0 * c)) for n, c in reached], shade=shade)
        first = reached[0]
        if first[1] > 0.0:
            place = across.at(min(1.0, farms)), scale.at(100.0 * first[1])
            canvas.text(place[0] + 3, place[1] - 3, season.water_year, size=8)
        said.append(f"{season.water_year}: {missing_in_words(season.missing, farms, short=True)}")
    for tick in nice_ticks(0.0, float(farms)):
        if tick <= farms and tick == int(tick):
            canvas.text(across.at(tick), 173, plain(tick), anchor="middle", size=8)
    canvas.text(across.at(farms / 2.0), 186, "farms or more in the same season", anchor="middle")
    return canvas.svg(), f"Lines falling from few farms to many. {'; '.join(said)}."


def lost_page(book: Book) -> dict[str, Any]:
    """Return what is owed beyond the terms, by whom, and what it rests on."""
    scope = scopes_of(book)[0]
    owed = scope.pools[0].owed_aud
    blocks: list[Block] = [lost_table(each) for each in scopes_of(book)]
    if book.whole is not None and len(book.by_valley) > 1:
        blocks.append(valleys_table(book))
    blocks.append(drivers_table(book, scope))
    blocks += [text(f"{said}.") for said in drivers_in_words(book.drivers[scope_key(scope), 0])]
    blocks += [heading("What it rests on"), bullets(rests_on(book)), note(FARM_CAUTION)]
    headline = (
        f"{scope_title(scope)}: {money(owed.worst_tenth.value)} owed beyond the terms as "
        f"{WORST_TENTH}, {money(owed.mean.value)} on average"
    )
    return page("2  What is lost, and by whom", headline, blocks)


def lost_table(scope: Scope) -> Block:
    """Return what farms together owe and stand at, by strategy."""
    rows = [
        [
            strategy_of_pool(pool),
            with_range(pool.owed_aud.mean, thousands),
            with_range(pool.owed_aud.worst_tenth, thousands),
            with_range(pool.standing_aud.mean, thousands),
            with_range(pool.standing_aud.worst_tenth, thousands),
        ]
        for pool in scope.pools
    ]
    return table(
        f"{scope_title(scope)} as the run ends, {thousands_heading()}; in brackets the range the "
        f"record supports. Standing: {MEASURES['standing_aud'].title[0].lower()}"
        f"{MEASURES['standing_aud'].title[1:]}.",
        ["Strategy", "Owed, mean", "Owed, worst tenth", "Standing, mean", "worst tenth"],
        rows,
        widths=[1.2, 1.2, 1.4, 1.4, 1.6],
    )


def valleys_table(book: Book) -> Block:
    """Return each valley's farms under the first strategy."""
    rows = []
    for scope in book.by_valley[:MOST_VALLEYS]:
        pool = scope.pools[0]
        rows.append(
            [
                scope.name,
                f"{scope.farms}",
                number(pool.missing.farms.mean.value, 1),
                chance_cell(pool.missing.chance_of_part[0.5]),
                thousands(pool.owed_aud.worst_tenth.value),
            ]
        )
    return table(
        f"By valley, {strategy_of_pool(book.by_valley[0].pools[0])}; owed in "
        f"{thousands_heading()}.",
        ["Valley", "Farms", "Miss a payment, worst season", "half or more", "Owed, worst tenth"],
        rows,
        widths=[2.0, 0.6, 1.4, 1.0, 1.0],
    )


def drivers_table(book: Book, scope: Scope) -> Block:
    """Return which farms the worst tenth comes from."""
    found = book.drivers[scope_key(scope), 0]
    return table(
        f"Farms that add most to the {WORST_TENTH}, {strategy_of_pool(scope.pools[0])}, "
        f"{thousands_heading()}.",
        ["Farm", "Plan file", "Adds"],
        [[driver.farm, driver.file, thousands(driver.aud)] for driver in found.most]
        or [["none", "", thousands(0.0)]],
        widths=[2.0, 2.0, 0.8],
        text_columns=(0, 1),
    )


def rests_on(book: Book) -> list[str]:
    """Return what the figures rest on."""
    how = next(iter(book.valleys.values())).drawn.how
    found = [owed_in_words(), f"{ranges_in_words(how)} {RANGE_OF_BOOK}"]
    if len(book.by_valley) > 1:
        found.append(NOT_ADDED_UP if book.joint is None else JOINT[book.joint])
    if len(book.by_valley) > MOST_VALLEYS:
        found.append(f"{count(len(book.by_valley), 'valley')}: all are in portfolio.json.")
    files = len({fault.file for fault in book.faults})
    if files:
        found.append(f"{count(files, 'plan')} could not be played, and are not counted here.")
    return [
        *found,
        "Farms meet the water of their valley; none of them moves the dam, and none buys another's "
        "land, debt or water.",
    ]
