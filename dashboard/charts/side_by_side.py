"""One way of running the farm in a column: hectares and bank by season, and the money at the end.

Columns of one page stand on the same axes, so that ways are compared by looking across.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from dashboard.charts.dots import stacked_dots
from dashboard.charts.drawing import LIMIT, QUIET, WATER, picture, words

WIDTH: Final = 250
LABELS, RIGHT = 52, 12
ROW_PX, HEAD_PX, AXIS_PX, DOTS_PX = 21, 22, 24, 72

Reached = tuple[float, float, float]
"""Reached 90, 50 and 10 times in 100."""


@dataclass(frozen=True, slots=True)
class Panel:
    """What a column shows of one amount."""

    title: str
    form: Callable[[float], str]
    by_season: Mapping[str, Reached]


@dataclass(frozen=True, slots=True)
class Axis:
    """The ends of an axis, the same in every column, and a line that must not be passed."""

    least: float
    most: float
    limit: float | None = None

    def x(self, value: float) -> float:
        """Return where an amount stands, px; beyond an end it stands at that end."""
        room = WIDTH - LABELS - RIGHT
        share = (value - self.least) / max(self.most - self.least, 1e-9)
        return LABELS + room * min(1.0, max(0.0, share))


@dataclass(frozen=True, slots=True)
class Dots:
    """Fifty amounts at the end of the run, rising."""

    title: str
    form: Callable[[float], str]
    values: Sequence[float]


def column_picture(
    panels: Sequence[Panel], end: Dots, axes: Mapping[str, Axis], *, alt: str
) -> str:
    """Draw a column.

    Parameters
    ----------
    panels
        Amounts by season, from the top.
    end
        What stands under them.
    axes
        Of each, by its title.
    alt
        What the picture shows.
    """
    parts: list[str] = []
    top = 0.0
    for panel in panels:
        parts += _panel(panel, axes[panel.title], top)
        top += HEAD_PX + ROW_PX * len(panel.by_season) + AXIS_PX
    axis, base = axes[end.title], top + HEAD_PX + DOTS_PX
    parts.append(words(0, top + 13, end.title, bold=True, size=12))
    parts += [*_line_at(axis, top + HEAD_PX, base), *_ends(axis, base, end.form)]
    line = axis.least if axis.limit is None else axis.limit
    placed = [(axis.x(value), value < line) for value in end.values]
    parts += stacked_dots(placed, base, DOTS_PX)
    return picture(parts, width=WIDTH, height=round(base + AXIS_PX), alt=alt)


def _panel(panel: Panel, axis: Axis, top: float) -> Iterator[str]:
    """Yield an amount by season: a bar from 90 times in 100 to 10, a point at 50."""
    yield words(0, top + 13, panel.title, bold=True, size=12)
    base = top + HEAD_PX + ROW_PX * len(panel.by_season)
    yield from _line_at(axis, top + HEAD_PX, base)
    for at, (year, (sure, middle, lucky)) in enumerate(panel.by_season.items()):
        y = top + HEAD_PX + ROW_PX * (at + 0.5)
        yield words(0, y + 4, year, quiet=True, size=11)
        yield (
            f'<line x1="{axis.x(sure):.1f}" x2="{axis.x(lucky):.1f}" y1="{y:.1f}" y2="{y:.1f}" '
            f'stroke="{WATER}" stroke-width="5" stroke-linecap="round" opacity="0.45"/>'
            f'<circle cx="{axis.x(middle):.1f}" cy="{y:.1f}" r="4.5" fill="{WATER}"/>'
        )
    yield from _ends(axis, base, panel.form)


def _line_at(axis: Axis, top: float, base: float) -> Iterator[str]:
    """Yield the axis, and across it the line that must not be passed."""
    yield (
        f'<line x1="{LABELS}" x2="{WIDTH - RIGHT}" y1="{base}" y2="{base}" stroke="{QUIET}" '
        'stroke-width="1.2"/>'
    )
    if axis.limit is not None:
        x = axis.x(axis.limit)
        yield (
            f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top}" y2="{base}" stroke="{LIMIT}" '
            'stroke-width="1.4" stroke-dasharray="3 3"/>'
        )


def _ends(axis: Axis, base: float, form: Callable[[float], str]) -> Iterator[str]:
    """Yield what stands at the ends of an axis, and at its limit."""
    yield words(LABELS, base + 13, form(axis.least), quiet=True, size=11)
    yield words(WIDTH - RIGHT, base + 13, form(axis.most), at="end", quiet=True, size=11)
    if axis.limit is not None and 0.3 < (axis.x(axis.limit) - LABELS) / (WIDTH - LABELS) < 0.7:
        yield words(axis.x(axis.limit), base + 13, form(axis.limit), at="middle", size=11)
