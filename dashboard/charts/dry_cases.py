"""Dry seasons side by side: what each brings, season by season, on axes that all cases share."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from dashboard.charts.drawing import (
    ATTENTION,
    LETTER_PX,
    LIMIT,
    QUIET,
    WATER,
    picture,
    words,
)

WIDTH: Final = 900
YEAR_PX, GAP_PX, ROW_PX, TITLE_PX, HEAD_PX = 58, 14, 32, 18, 20


@dataclass(frozen=True, slots=True)
class Column:
    """An amount by case and season."""

    title: str
    form: Callable[[float], str]
    values: Sequence[Sequence[float]]  # by case, then by season; not a number: none
    limit: float | None = None  # must not be passed


def cases_picture(
    cases: Sequence[str],
    years: Sequence[str],
    columns: Sequence[Column],
    *,
    alt: str,
    width: int = WIDTH,
) -> str:
    """Draw cases under one another, their amounts beside one another.

    Parameters
    ----------
    cases
        Their names.
    years
        The water years of the run.
    columns
        The amounts.
    alt
        What the picture shows.
    width
        In which it is drawn, px.
    """
    each = (width - YEAR_PX - GAP_PX * len(columns)) / len(columns)
    lefts = [YEAR_PX + at * (each + GAP_PX) for at in range(len(columns))]
    parts = [
        words(left, 13, column.title, bold=True)
        for left, column in zip(lefts, columns, strict=True)
    ]
    y = float(HEAD_PX)
    for at, case in enumerate(cases):
        lines = textwrap.wrap(case, int(width / LETTER_PX))
        for line in lines:
            y += TITLE_PX
            parts.append(words(0, y, line, bold=True, size=13))
        for season, year in enumerate(years):
            parts.append(words(0, y + 20, year, quiet=True))
            for left, column in zip(lefts, columns, strict=True):
                parts += _cell(column, column.values[at][season], left, each, y)
            y += ROW_PX
        y += 4
    return picture(parts, width=width, height=round(y + 4), alt=alt)


def _cell(column: Column, value: float, left: float, width: float, y: float) -> Iterator[str]:
    """Yield an amount in figures, and as a bar under them."""
    if value != value:  # none: the season's crop was planted before the run
        yield words(left, y + 16, "–", quiet=True)
        return
    passed = column.limit is not None and value < column.limit
    yield words(left, y + 16, column.form(value), bold=passed)
    known = [each for case in column.values for each in case if each == each]
    least, most = min(0.0, *known, column.limit or 0.0), max(0.0, *known)
    room = width / max(most - least, 1e-9)
    zero, end = left + (0.0 - least) * room, left + (value - least) * room
    look = LIMIT if passed else ATTENTION if value < 0.0 else WATER
    yield (
        f'<line x1="{left:.1f}" x2="{left + width:.1f}" y1="{y + 24:.1f}" y2="{y + 24:.1f}" '
        f'stroke="{QUIET}" stroke-width="1"/>'
        f'<rect x="{min(zero, end):.1f}" y="{y + 21:.1f}" width="{abs(end - zero):.1f}" height="6" '
        f'fill="{look}"/>'
    )
    if column.limit is not None:
        x = left + (column.limit - least) * room
        yield (
            f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{y + 18:.1f}" y2="{y + 30:.1f}" stroke="{LIMIT}" '
            'stroke-width="1.6"/>'
        )
