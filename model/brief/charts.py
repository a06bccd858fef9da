"""What do the brief's charts show?

Water by season, the bank by month, and cover in each case of the stress set. Each is a drawing
and the words for who cannot see it.
"""

from __future__ import annotations

import math
from typing import Final

from model.brief.svg import DEEP, INK, MIDDLE, PALE, SOFT, Canvas, Scale, nice_ticks
from model.decide.cash_months import CashMonths
from model.decide.stress import StressSet
from model.outlook.chances import QUANTILES, Spread
from model.outlook.outlook import SeasonOutlook
from model.say.numbers import money, number, plain, thousands_heading
from model.say.outlook import reached_in_words
from model.water_year import is_july, month_name, water_year_label

WIDTH: Final = 480.0
LEFT: Final = 42.0
RIGHT: Final = WIDTH - 8.0
Drawn = tuple[str, str]
"""SVG text, and what it shows in words."""


def water_chart(seasons: tuple[SeasonOutlook, ...]) -> Drawn:
    """Return a drawing of each season's usable water at planting and at the finish."""
    bars: list[tuple[str, str, Spread]] = []
    for season in seasons:
        points = (("at planting", season.planting), ("to finish with", season.finish))
        own = [
            (season.water_year, what, point.amounts["usable_ml_per_share"])
            for what, point in points
            if point is not None
        ]
        announced = season.amounts["announced_to_date_ml_per_share"]
        bars += own or [(season.water_year, "announced by June", announced)]
    canvas = Canvas(WIDTH, 172.0)
    top = max(bar.quantiles[0.95].value for _, _, bar in bars)
    ticks = nice_ticks(0.0, max(top, 0.1))
    scale = Scale(ticks[0], ticks[-1], 140.0, 18.0)
    canvas.text(4, 9, "usable water, ML a share")
    digits = 2 if ticks[1] % 0.1 else 1
    canvas.axis_y(scale, ticks, LEFT, RIGHT, lambda tick: number(tick, digits))
    step = (RIGHT - LEFT) / len(bars)
    places: dict[str, list[float]] = {}
    for place, (year, what, bar) in enumerate(bars):
        x = LEFT + step * (place + 0.42)
        _bar(canvas, scale, bar, x)
        canvas.text(x, 151, what, anchor="middle", size=8.0)
        places.setdefault(year, []).append(x)
    for place, (year, xs) in enumerate(places.items()):
        canvas.text(sum(xs) / len(xs), 165, year, anchor="middle", bold=True)
        if place:
            edge = xs[0] - 0.5 * step
            canvas.line([(edge, 143), (edge, 167)], shade=SOFT, width=0.5)
    said = "; ".join(f"{year} {what}: {reached_in_words(bar)}" for year, what, bar in bars)
    return canvas.svg(), f"Bars of water by season. {said}."


def _bar(canvas: Canvas, scale: Scale, bar: Spread, x: float) -> None:
    """Draw 8 in 10 pale, 5 in 10 darker, the middle as a line with its number."""
    values = {frac: scale.at(bar.quantiles[frac].value) for frac in QUANTILES}
    canvas.box(x - 15, x + 15, values[0.1], values[0.9], shade=PALE)
    canvas.box(x - 15, x + 15, values[0.25], values[0.75], shade=MIDDLE)
    canvas.line([(x - 18, values[0.5]), (x + 18, values[0.5])], width=2.0)
    canvas.text(x + 21, values[0.5] + 3, number(bar.quantiles[0.5].value, 2), bold=True)


def cash_chart(cash: CashMonths, limit_aud: float) -> Drawn:
    """Return a drawing of the bank balance by month with its bands, and the overdraft limit."""
    thousand = cash.quantiles_aud / 1_000.0
    by_frac = dict(zip(QUANTILES, thousand.tolist(), strict=True))
    count = thousand.shape[1]
    canvas = Canvas(WIDTH, 196.0)
    low = min(float(thousand.min()), -limit_aud / 1_000.0)
    ticks = nice_ticks(low, max(float(thousand.max()), 0.0))
    scale = Scale(ticks[0], ticks[-1], 172.0, 18.0)
    across = Scale(0.0, max(1.0, count - 1.0), LEFT + 6, RIGHT - 66)
    xs = [across.at(t) for t in range(count)]
    canvas.text(4, 9, f"bank balance, {thousands_heading()}")
    canvas.axis_y(scale, ticks, LEFT, RIGHT - 62, number)
    for low_frac, high_frac, shade in ((0.1, 0.9, PALE), (0.25, 0.75, MIDDLE)):
        lows, highs = ([scale.at(v) for v in by_frac[frac]] for frac in (low_frac, high_frac))
        canvas.band(xs, lows, highs, shade=shade)
    canvas.line(list(zip(xs, map(scale.at, by_frac[0.5]), strict=True)), width=1.6)
    canvas.line([(xs[0], scale.at(0.0)), (xs[-1], scale.at(0.0))], shade=SOFT)
    limit = scale.at(-limit_aud / 1_000.0)
    canvas.line([(LEFT, limit), (RIGHT - 62, limit)], width=1.1, dash="5 3")
    canvas.text(RIGHT - 58, limit + 3, "overdraft limit")
    end = scale.at(by_frac[0.5][-1])
    beside = end if abs(end - limit) >= 10.0 else limit + math.copysign(10.0, end - limit)
    canvas.text(RIGHT - 58, beside + 3, "middle")
    _seasons(canvas, cash, xs)
    lowest = min(range(count), key=lambda t: by_frac[0.5][t])
    place = (xs[lowest], scale.at(by_frac[0.5][lowest]))
    _mark(canvas, place, (scale.at(0.0), limit), month_name(cash.first_month + lowest))
    ends = {frac: money(1e3 * values[-1]) for frac, values in by_frac.items()}
    said = (
        f"Bank balance by month. The middle line is lowest in "
        f"{month_name(cash.first_month + lowest)} at {money(1e3 * by_frac[0.5][lowest])} and ends "
        f"at {ends[0.5]}; the band of 80 times in 100 ends between {ends[0.1]} and {ends[0.9]}. "
        f"The overdraft limit is {money(limit_aud)}."
    )
    return canvas.svg(), said


def _mark(canvas: Canvas, place: tuple[float, float], lines: tuple[float, ...], month: str) -> None:
    """Mark where the middle is lowest, and name the month below it, clear of lines across."""
    x, y = place
    canvas.box(x - 2.2, x + 2.2, y - 2.2, y + 2.2, shade=INK)
    anchor = "end" if x > (LEFT + RIGHT) / 2 else "start"
    in_the_way = [line for line in lines if y + 4 < line < y + 16]
    below = max(in_the_way) + 11 if in_the_way else y + 13
    canvas.text(x, below, month, anchor=anchor, size=8.0)


def _seasons(canvas: Canvas, cash: CashMonths, xs: list[float]) -> None:
    """Part the seasons at each 1 July and name them."""
    starts = [0] + [t for t in range(1, len(xs)) if is_july(cash.first_month + t)]
    for start, end in zip(starts, [*starts[1:], len(xs)], strict=True):
        if start:
            canvas.line([(xs[start], 18), (xs[start], 176)], shade=SOFT, width=0.5, dash="1 2")
        middle = (xs[start] + xs[end - 1]) / 2
        canvas.text(
            middle, 188, water_year_label(cash.first_month + start), anchor="middle", bold=True
        )


def stress_chart(stress: StressSet) -> Drawn:
    """Return a drawing of cover over the run in each case; empty without debt."""
    cases = [case for case in stress.cases if not math.isnan(case.result.run_cover)]
    if not cases:
        return "", ""
    row, left = 13.5, 178.0
    canvas = Canvas(WIDTH, row * len(cases) + 22.0)
    covers = [case.result.run_cover for case in cases]
    ticks = nice_ticks(min(0.0, *covers), max(1.5, *covers))
    scale = Scale(ticks[0], ticks[-1], left, RIGHT - 30)
    bottom = row * len(cases) + 4
    for tick in ticks:
        canvas.line([(scale.at(tick), 2), (scale.at(tick), bottom)], shade=PALE, width=0.5)
        canvas.text(scale.at(tick), bottom + 12, plain(tick), anchor="middle")
    ends_of = [sorted((scale.at(0.0), scale.at(cover))) for cover in covers]
    for place, (left_end, right_end) in enumerate(ends_of):
        y, shade = 4 + row * place, MIDDLE if covers[place] >= 1.0 else DEEP
        canvas.box(left_end, right_end, y + 2, y + row - 3, shade=shade)
    canvas.line([(scale.at(1.0), 0), (scale.at(1.0), bottom)], shade=INK, width=1.4, dash="4 2")
    for place, case in enumerate(cases):
        y, cover = 4 + row * place, case.result.run_cover
        canvas.text(left - 6, y + 8.5, case.name, anchor="end")
        canvas.text(ends_of[place][1] + 4, y + 8.8, number(cover, 2), bold=cover < 1.0)
    said = "; ".join(f"{case.name} {number(case.result.run_cover, 2)}" for case in cases)
    return canvas.svg(), f"Bars of cover over the run, with a line at 1.00. {said}."
