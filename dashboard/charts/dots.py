"""Fifty dots for an amount, each of 2 times in 100: seasons under one another on one axis."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from dashboard.charts.drawing import LIMIT, QUIET, WATER, picture, ticks, words

WIDTH, LABELS, RIGHT = 440, 128, 14
DOT_PX, PLACE_PX = 3.1, 6.8
ROW_PX, AXIS_PX = 74, 26


@dataclass(frozen=True, slots=True)
class Row:
    """An amount as fifty dots, and what is said beside it."""

    name: str
    said: Sequence[str]
    values: Sequence[float]


def dots_picture(
    rows: Sequence[Row], *, needed: float | None, form: Callable[[float], str], alt: str
) -> str:
    """Draw rows of dots on one axis; what is below `needed` is drawn hollow.

    Parameters
    ----------
    rows
        From the top.
    needed
        A line across all rows; None: no line.
    form
        How an amount is written.
    alt
        What the picture shows.
    """
    most = max([*(row.values[-2] for row in rows if len(row.values) > 1), needed or 0.0, 1.0])
    height = len(rows) * (ROW_PX + AXIS_PX) + 6
    parts: list[str] = []
    for at, row in enumerate(rows):
        base = at * (ROW_PX + AXIS_PX) + ROW_PX
        parts += [*_labels(row, base), *_axis(base, most, form), *_dots(row, base, most, needed)]
        if needed:
            x = _x(needed, most)
            parts.append(
                f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{base - ROW_PX + 8}" y2="{base}" '
                'stroke="currentColor" stroke-width="1.2" stroke-dasharray="3 3"/>'
            )
    return picture(parts, width=WIDTH, height=height, alt=alt)


def _x(value: float, most: float) -> float:
    room = WIDTH - LABELS - RIGHT
    return LABELS + room * min(1.0, value / most)


def _labels(row: Row, base: int) -> Iterator[str]:
    yield words(0, base - 50, row.name, bold=True, size=13)
    for line, said in enumerate(row.said):
        yield words(0, base - 34 + 15 * line, said, quiet=line > 0)


def _axis(base: int, most: float, form: Callable[[float], str]) -> Iterator[str]:
    yield (
        f'<line x1="{LABELS}" x2="{WIDTH - RIGHT + 8}" y1="{base}" y2="{base}" stroke="{QUIET}" '
        'stroke-width="1.5"/>'
    )
    for tick in ticks(most, 3):
        yield words(_x(tick, most), base + 15, form(tick), at="middle", quiet=True, size=11)


def _dots(row: Row, base: int, most: float, needed: float | None) -> Iterator[str]:
    """Yield the dots, stacked by their place on the axis; those beyond its end stand at its end."""
    placed = [(_x(value, most), needed is not None and value < needed) for value in row.values]
    yield from stacked_dots(placed, base, ROW_PX - 10)


def stacked_dots(
    placed: Sequence[tuple[float, bool]], base: float, room_px: float
) -> Iterator[str]:
    """Yield dots, stacked on a line where they lie together; those that fall short are hollow.

    Parameters
    ----------
    placed
        Where each stands along the line, px, and whether it falls short.
    base
        Of the line, px from the top.
    room_px
        Above it.
    """
    places = [round(x / PLACE_PX) for x, _ in placed]
    step = min(2 * DOT_PX + 0.6, room_px / max(Counter(places).values()))
    stacked: Counter[int] = Counter()
    for place, (_, short) in zip(places, placed, strict=True):
        x, y = PLACE_PX * place, base - DOT_PX - 1.5 - step * stacked[place]
        stacked[place] += 1
        look = f'fill="none" stroke="{LIMIT}" stroke-width="1.3"' if short else f'fill="{WATER}"'
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{DOT_PX}" {look}/>'
