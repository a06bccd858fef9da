"""Hectares against times in 100: what an area brings, and the marks that matter on its axis."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from dashboard.charts.drawing import (
    ATTENTION,
    LETTER_PX,
    LIMIT,
    LINE_PX,
    QUIET,
    WATER,
    apart,
    picture,
    ticks,
    words,
)
from model.say.numbers import ha, number

WIDTH, HEIGHT = 640, 300
LEFT, RIGHT, TOP, BASE = 34, 112, 14, 262


@dataclass(frozen=True, slots=True)
class Line:
    """How often something comes, by area."""

    times: Sequence[float]  # in 100; of the last areas, where there are fewer than areas
    ranges: Sequence[tuple[float, float]]  # that the record supports; empty: not drawn
    look: str  # water, limit or attention


LOOKS = {
    "water": f'stroke="{WATER}" stroke-width="2.6"',
    "limit": f'stroke="{LIMIT}" stroke-width="2" stroke-dasharray="7 4"',
    "attention": f'stroke="{ATTENTION}" stroke-width="2" stroke-dasharray="2 3"',
}


def hectares_picture(
    areas_ha: Sequence[float],
    lines: Mapping[str, Line],
    *,
    ours_ha: float,
    marks: Mapping[str, float],
    alt: str,
    width: int = WIDTH,
) -> str:
    """Draw lines by area, our choice across them, and marks on the axis.

    Parameters
    ----------
    areas_ha
        In rising order, from none.
    lines
        By what is said at their ends.
    ours_ha
        Our choice.
    marks
        Areas on the axis, by what is said of them; those beyond the axis are left out.
    alt
        What the picture shows.
    width
        In which it is drawn, px.
    """
    most = max(areas_ha[-1], 1.0)

    def x(area_ha: float) -> float:
        return LEFT + (width - LEFT - RIGHT) * area_ha / most

    parts = [*_axes(x(most), {tick: x(tick) for tick in ticks(most, width // 100)})]
    xs = [x(area_ha) for area_ha in areas_ha]
    for line in lines.values():
        parts += _line(xs[-len(line.times) :], line)
    parts += _ends(lines, x(most))
    parts += _ours(x(min(ours_ha, most)), ha(ours_ha))
    parts += _marks(
        {said: x(area_ha) for said, area_ha in marks.items() if 0.0 <= area_ha <= most}, x(most)
    )
    return picture(parts, width=width, height=HEIGHT, alt=alt)


def _y(times: float) -> float:
    return BASE - (BASE - TOP) * times / 100.0


def _axes(right: float, hectares: Mapping[float, float]) -> Iterator[str]:
    for times in (0, 25, 50, 75, 100):
        y = _y(times)
        yield (
            f'<line x1="{LEFT}" x2="{right:.1f}" y1="{y:.1f}" y2="{y:.1f}" stroke="{QUIET}" '
            f'stroke-width="{1.5 if times == 0 else 0.8}"/>'
        )
        yield words(LEFT - 7, y + 4, str(times), at="end", quiet=True)
    for tick, x in hectares.items():
        yield words(x, BASE + 32, number(tick), at="middle", quiet=True)
    yield words(right + 22, BASE + 32, "ha", quiet=True)


def _line(xs: Sequence[float], line: Line) -> Iterator[str]:
    """Yield a line, over its range."""
    if line.ranges:
        lows = [(x, _y(low)) for x, (low, _) in zip(xs, line.ranges, strict=True)]
        highs = [(x, _y(high)) for x, (_, high) in zip(xs, line.ranges, strict=True)]
        around = " ".join(f"{x:.1f},{y:.1f}" for x, y in [*lows, *reversed(highs)])
        yield f'<polygon points="{around}" fill="{WATER}" opacity="0.2"/>'
    places = " ".join(f"{x:.1f},{_y(times):.1f}" for x, times in zip(xs, line.times, strict=True))
    yield f'<polyline points="{places}" fill="none" {LOOKS[line.look]}/>'


def _ends(lines: Mapping[str, Line], right: float) -> Iterator[str]:
    """Yield what each line is, at its right end, from the highest down."""
    by_height = sorted(lines, key=lambda said: _y(lines[said].times[-1]))
    told = [said.split("\n") for said in by_height]
    ends = [_y(lines[said].times[-1]) + 4 for said in by_height]
    most = BASE - LINE_PX * (sum(len(each) for each in told) - 1)
    last = -1.0
    for place, end in zip(told, ends, strict=True):
        y = max(min(end, most), last)
        for row, said in enumerate(place):
            yield words(right + 8, y + LINE_PX * row, said, bold=row == 0, quiet=row > 0)
        last = y + LINE_PX * len(place)
        most += LINE_PX * len(place)


def _marks(marks: Mapping[str, float], right: float) -> Iterator[str]:
    """Yield marks on the axis, their words above one another."""
    ordered = sorted(marks.items(), key=lambda mark: mark[1])
    heights = list(apart([18.0] * len(ordered), LINE_PX + 2.0))
    for (said, x), height in zip(ordered, heights, strict=True):
        y = BASE - height
        yield (
            f'<path d="M{x - 4:.1f} {BASE - 8} h8 l-4 8 z" fill="currentColor"/>'
            f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{BASE}" y2="{y + 3:.1f}" stroke="currentColor"/>'
        )
        begins = max(LEFT, min(x + 5, right - LETTER_PX * len(said)))
        yield words(begins, y, said, bold=True, over=True)


def _ours(x: float, said: str) -> Iterator[str]:
    """Yield our choice: a line across the picture, and its hectares under the axis."""
    yield (
        f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{BASE}" stroke="currentColor" '
        'stroke-width="1.4"/>'
    )
    width = 7.5 * len(said) + 12
    yield (
        f'<rect x="{x - width / 2:.1f}" y="{BASE + 1}" width="{width:.1f}" height="18" rx="9" '
        'fill="currentColor"/>'
        f'<text class="on" x="{x:.1f}" y="{BASE + 14}" text-anchor="middle" font-size="12" '
        f'font-weight="700">{said}</text>'
    )
