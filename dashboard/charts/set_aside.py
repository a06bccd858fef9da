"""Why is nothing more announced? What the rules count on, over what is set aside first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from dashboard.charts.drawing import LIMIT, WATER, picture, words
from dashboard.charts.look import SET_ASIDE_SHADES

WIDTH, HEIGHT = 640, 92
BAR_PX = 20
LETTER_PX = 6.6


def set_aside_picture(
    counted_ml: float,
    commitments_ml: Mapping[str, float],
    *,
    said: str,
    form: Callable[[float], str],
    alt: str,
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
    """
    needed_ml = sum(commitments_ml.values())
    scale = WIDTH / max(needed_ml, counted_ml, 1.0)
    parts = [*_counted(counted_ml, needed_ml, scale, said, form)]
    parts += _commitments(commitments_ml, scale)
    return picture(parts, width=WIDTH, height=HEIGHT, alt=alt)


def _bar(x: float, y: float, width: float, look: str) -> str:
    return f'<rect x="{x:.1f}" y="{y}" width="{max(0.0, width):.1f}" height="{BAR_PX}" {look}/>'


def _counted(
    counted_ml: float, needed_ml: float, scale: float, said: str, form: Callable[[float], str]
) -> Iterator[str]:
    """Yield the upper bar, and what is short of it."""
    yield _bar(0, 0, counted_ml * scale, f'fill="{WATER}" opacity="0.35"')
    yield words(7, 14, said, bold=True)
    short_ml = needed_ml - counted_ml
    if short_ml <= 0.0:
        return
    look = f'fill="none" stroke="{LIMIT}" stroke-width="1.5" stroke-dasharray="4 3"'
    yield _bar(counted_ml * scale + 1, 1, short_ml * scale - 2, look)
    told = f"{form(short_ml)} short"
    if short_ml * scale > LETTER_PX * len(told):
        yield words((counted_ml + short_ml / 2) * scale, 14, told, at="middle", bold=True)


def _commitments(commitments_ml: Mapping[str, float], scale: float) -> Iterator[str]:
    """Yield the parts of the lower bar, each with its name under it on one of three lines."""
    x, free_from = 0.0, [0.0, 0.0, 0.0]
    for (name, volume_ml), shade in zip(commitments_ml.items(), SET_ASIDE_SHADES, strict=False):
        width = volume_ml * scale
        yield _bar(x, 24, width - 1.5, f'fill="{shade}"')
        if volume_ml > 0.0:
            told = f"{name} {volume_ml / 1_000:,.0f}"
            begins = min(x, WIDTH - LETTER_PX * len(told))
            line = next((at for at, free in enumerate(free_from) if free <= begins), 2)
            free_from[line] = begins + LETTER_PX * len(told) + 8
            yield words(begins, 58 + 15 * line, told, quiet=True)
        x += width
