"""How is a still picture drawn? As SVG, in the page's own typeface and text colour.

A still picture costs the page next to nothing: no library is loaded for it. Text takes the colour
of its page; marks have one colour that keeps 3 to 1 against the light and the dark page.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from html import escape
from typing import Final

from dashboard.charts.look import ATTENTION, WATER

LIMIT: Final = "#CB4457"
"""What must not be passed: over the limit, below what is needed."""

QUIET: Final = "rgba(128, 132, 149, 0.45)"
"""Axes and grid."""

LINE_PX: Final = 15
"""Height of a line of labels."""

NARROW_PX: Final = 358
"""Width of a picture on a telephone: drawn wider, its words would be too small to read."""

LETTER_PX: Final = 6.6
"""Room that a letter of a label takes, about."""

__all__ = [
    "ATTENTION",
    "LETTER_PX",
    "LIMIT",
    "LINE_PX",
    "NARROW_PX",
    "QUIET",
    "WATER",
    "apart",
    "picture",
    "ticks",
    "words",
]


def picture(parts: Iterable[str], *, width: int, height: int, alt: str) -> str:
    """Join the parts of a picture; it is as wide as its place, and described for who cannot see it.

    Parameters
    ----------
    parts
        Elements of SVG.
    width, height
        In which the parts are drawn, px at full size.
    alt
        What it shows.
    """
    return (
        f'<svg class="picture" role="img" aria-label="{escape(alt)}" viewBox="0 0 {width} {height}"'
        f' style="max-width:{width * 1.35:.0f}px">{"".join(parts)}</svg>'
    )


def words(
    x: float,
    y: float,
    text: str,
    *,
    at: str = "start",
    bold: bool = False,
    quiet: bool = False,
    over: bool = False,
    size: int = 12,
) -> str:
    """Return a line of words that begins, ends or has its middle at a place.

    Words that lie over lines stay legible (`over`).
    """
    weight = ' font-weight="700"' if bold else ""
    faint = ' class="quiet"' if quiet else ' class="over"' if over else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{at}" font-size="{size}"{weight}{faint}>'
        f"{escape(text)}</text>"
    )


def ticks(most: float, about: int) -> list[float]:
    """Return round amounts from 0 up to the most, about so many.

    Examples
    --------
    >>> ticks(240.0, 5), ticks(2_600.0, 3)
    ([0.0, 50.0, 100.0, 150.0, 200.0], [0.0, 1000.0, 2000.0])
    """
    if most <= 0.0:
        return [0.0]
    size = 10.0 ** math.floor(math.log10(most / about))
    step = next(size * each for each in (1.0, 2.0, 5.0, 10.0) if size * each * about >= most * 0.8)
    return [step * place for place in range(int(most / step + 1e-9) + 1)]


def apart(places: Iterable[float], least: float) -> Iterator[float]:
    """Yield places of labels, in their order, moved so that none lies nearer than `least`.

    Examples
    --------
    >>> list(apart([10.0, 12.0, 40.0], 15.0))
    [10.0, 25.0, 40.0]
    """
    last = -math.inf
    for place in places:
        last = max(place, last + least)
        yield last
