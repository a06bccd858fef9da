"""Why is nothing more announced? What the rules count on, over what is set aside first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from textwrap import wrap

from dashboard.charts.drawing import LETTER_PX, LIMIT, LINE_PX, WATER, picture, words
from dashboard.charts.look import set_aside_looks

WIDTH = 640
BAR_PX = 20
LINES = 3
"""Of names under the lower bar, at full width."""


def set_aside_picture(
    counted_ml: float,
    commitments_ml: Mapping[str, float],
    *,
    said: str,
    form: Callable[[float], str],
    alt: str,
    width: int = WIDTH,
) -> str:
    """Draw what is counted on over what is set aside, on one scale.

    Parameters
    ----------
    counted_ml
        In the dam, with the least inflow the rules assume.
    commitments_ml
        What is set aside, in its order.
    said
        What the upper bar is.
    form
        How a volume is written.
    alt
        What the picture shows.
    width
        In which it is drawn, px; where the bar is too narrow for its words, they stand over it.
    """
    needed_ml = sum(commitments_ml.values())
    scale = width / max(needed_ml, counted_ml, 1.0)
    within = LETTER_PX * len(said) < counted_ml * scale
    over = [] if within else wrap(said, int(width / LETTER_PX))
    top, lines = LINE_PX * len(over), LINES if within else len(commitments_ml)
    parts = [words(0, 11 + LINE_PX * line, told, bold=True) for line, told in enumerate(over)]
    parts += _counted(counted_ml, needed_ml, scale, top, form)
    if within:
        parts.append(words(7, 14, said, bold=True))
    parts += _commitments(commitments_ml, scale, top, form, width=width, lines=lines)
    return picture(parts, width=width, height=top + 47 + LINE_PX * lines, alt=alt)


def _bar(x: float, y: float, width: float, look: str) -> str:
    return f'<rect x="{x:.1f}" y="{y}" width="{max(0.0, width):.1f}" height="{BAR_PX}" {look}/>'


def _counted(
    counted_ml: float, needed_ml: float, scale: float, top: int, form: Callable[[float], str]
) -> Iterator[str]:
    """Yield the upper bar, and what is short of it."""
    yield _bar(0, top, counted_ml * scale, f'fill="{WATER}" opacity="0.35"')
    short_ml = needed_ml - counted_ml
    if short_ml <= 0.0:
        return
    look = f'fill="none" stroke="{LIMIT}" stroke-width="1.5" stroke-dasharray="4 3"'
    yield _bar(counted_ml * scale + 1, top + 1, short_ml * scale - 2, look)
    told = f"{form(short_ml)} short"
    if short_ml * scale > LETTER_PX * len(told):
        yield words((counted_ml + short_ml / 2) * scale, top + 14, told, at="middle", bold=True)


def _commitments(
    commitments_ml: Mapping[str, float],
    scale: float,
    top: int,
    form: Callable[[float], str],
    *,
    width: int,
    lines: int,
) -> Iterator[str]:
    """Yield the parts of the lower bar, each with its name under it where there is room."""
    x, free_from = 0.0, [0.0] * lines
    looks = set_aside_looks(len(commitments_ml))
    for (name, volume_ml), (shade, _) in zip(commitments_ml.items(), looks, strict=True):
        long = volume_ml * scale
        yield _bar(x, top + 24, long - 1.5, f'fill="{shade}"')
        if volume_ml > 0.0:
            told = f"{name} {form(volume_ml)}"
            begins = max(0.0, min(x, width - LETTER_PX * len(told)))
            line = next((at for at, free in enumerate(free_from) if free <= begins), lines - 1)
            free_from[line] = begins + LETTER_PX * len(told) + 8
            yield words(begins, top + 58 + LINE_PX * line, told, quiet=True)
        x += long
