"""What was said of every past year, and what came: a bar a year, and a point on it or beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from dashboard.charts.drawing import LIMIT, QUIET, WATER, picture, ticks, words
from model.say.numbers import number

WIDTH: Final = 900
HEIGHT, TOP, BASE, LEFT, RIGHT = 250, 16, 214, 34, 10


@dataclass(frozen=True, slots=True)
class PastYear:
    """One year: reached 90, 50 and 10 times in 100 as it was said, and what came."""

    year: int
    said: tuple[float, float, float]
    came: float
    held: bool  # as it counts; a lot decides at a bar's end, where many sequences meet


def past_years_picture(
    years: Sequence[PastYear], *, unit: str, alt: str, width: int = WIDTH
) -> str:
    """Draw the years one beside the other.

    Parameters
    ----------
    years
        In their order.
    unit
        Of the amounts.
    alt
        What the picture shows.
    width
        In which it is drawn, px.
    """
    most = max([each for year in years for each in (*year.said, year.came)] + [1e-9])
    room = (width - LEFT - RIGHT) / max(1, len(years))
    parts = [*_axes(years, most, room, width, unit)]
    for at, year in enumerate(years):
        parts += _year(year, LEFT + room * (at + 0.5), most, min(6.0, 0.7 * room))
    return picture(parts, width=width, height=HEIGHT, alt=alt)


def _y(value: float, most: float) -> float:
    return BASE - (BASE - TOP) * value / most


def _axes(
    years: Sequence[PastYear], most: float, room: float, width: int, unit: str
) -> Iterator[str]:
    yield words(LEFT, 10, unit, quiet=True, size=11)
    for tick in ticks(most, 4):
        y = _y(tick, most)
        yield (
            f'<line x1="{LEFT}" x2="{width - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" stroke="{QUIET}" '
            'stroke-width="0.8"/>'
        )
        yield words(LEFT - 6, y + 4, number(tick, 1), at="end", quiet=True, size=11)
    every = 10 if width >= WIDTH else 20
    for at, year in enumerate(years):
        if year.year % every == 0:
            x = LEFT + room * (at + 0.5)
            yield words(x, BASE + 18, str(year.year), at="middle", quiet=True, size=11)


def _year(year: PastYear, x: float, most: float, thick: float) -> Iterator[str]:
    """Yield what was said as a bar with its middle, and what came as a point."""
    sure, middle, lucky = (_y(value, most) for value in year.said)
    yield (
        f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{sure:.1f}" y2="{lucky:.1f}" stroke="{WATER}" '
        f'stroke-width="{thick:.1f}" opacity="0.4"/>'
        f'<line x1="{x - thick / 2:.1f}" x2="{x + thick / 2:.1f}" y1="{middle:.1f}" '
        f'y2="{middle:.1f}" stroke="{WATER}" stroke-width="1.6"/>'
    )
    came = _y(year.came, most)
    hollow = f'fill="none" stroke="{LIMIT}" stroke-width="1.8"'
    look = hollow if not year.held else 'fill="currentColor"'
    yield f'<circle cx="{x:.1f}" cy="{came:.1f}" r="2.8" {look}/>'
