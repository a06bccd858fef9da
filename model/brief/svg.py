"""How is a chart drawn, as SVG text that any printer can set?

A canvas collects shapes in points; a scale turns values into places on it. Text stays text, with a
white edge, so that no line strikes it. Typeface and shades are the screen's; shades differ in
lightness, so that they print in grey; whatever matters is also named beside its line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final
from xml.sax.saxutils import escape, quoteattr

FONT: Final = "Public Sans, Public Sans Ext, Libertinus Serif"
INK: Final = "#111111"
SOFT: Final = "#7a7a7a"
PALE: Final = "#d6e4e6"
MIDDLE: Final = "#8fb6bb"
DEEP: Final = "#085c66"
STEPS: Final = (1.0, 2.0, 2.5, 5.0, 10.0)
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from `low` to `high` laid on places from `start` to `end`."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of a value."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def nice_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return round values that hold a range.

    Examples
    --------
    >>> nice_ticks(-0.3, 1.2)
    [-0.5, 0.0, 0.5, 1.0, 1.5]
    """
    if not high > low:
        high = low + 1.0
    rough = (high - low) / (most - 1)
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * times for times in STEPS if size * times >= rough * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(number * step, 10) for number in range(first, last + 1)]


@dataclass(slots=True)
class Canvas:
    """A drawing of a width and a height in points."""

    width: float
    height: float
    shapes: list[str] = field(default_factory=list)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: str = "start",
        bold: bool = False,
        size: float = 8.5,
    ) -> None:
        """Write words; `anchor` is start, middle or end."""
        weight = ' font-weight="bold"' if bold else ""
        weight += f' font-size="{size:g}"' if size != 8.5 else ""
        clean = "".join(letter for letter in words if letter.isprintable())
        self.shapes.append(
            f'<text x="{x:.2f}" y="{y:.2f}" text-anchor={quoteattr(anchor)} '
            f'fill="{INK}" stroke="#ffffff" stroke-width="2" paint-order="stroke"{weight}>'
            f"{escape(clean)}</text>"
        )

    def line(
        self, points: Sequence[Point], *, shade: str = INK, width: float = 0.7, dash: str = ""
    ) -> None:
        """Draw a line through points."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.shapes.append(
            f'<polyline points="{_places(points)}" fill="none" stroke="{shade}" '
            f'stroke-width="{width:g}"{dashed}/>'
        )

    def polygon(self, points: Sequence[Point], *, shade: str) -> None:
        """Fill a shape."""
        self.shapes.append(f'<polygon points="{_places(points)}" fill="{shade}"/>')

    def band(
        self, xs: Sequence[float], lows: Sequence[float], highs: Sequence[float], *, shade: str
    ) -> None:
        """Fill what lies between two lines."""
        there = list(zip(xs, highs, strict=True))
        back = list(zip(xs, lows, strict=True))[::-1]
        self.polygon(there + back, shade=shade)

    def box(self, left: float, right: float, y: float, y_other: float, *, shade: str) -> None:
        """Fill a rectangle with a fine edge."""
        corners = [(left, y), (right, y), (right, y_other), (left, y_other)]
        self.polygon(corners, shade=shade)
        self.line([*corners, corners[0]], shade=DEEP, width=0.4)

    def axis_y(
        self,
        scale: Scale,
        ticks: Sequence[float],
        left: float,
        right: float,
        form: Callable[[float], str],
    ) -> None:
        """Draw pale lines across at ticks, with their values at the left."""
        for tick in ticks:
            y = scale.at(tick)
            self.line([(left, y), (right, y)], shade=PALE, width=0.5)
            self.text(left - 5, y + 3, form(tick), anchor="end")

    def svg(self) -> str:
        """Return the drawing as text."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {self.height:g}" '
            f'width="{self.width:g}pt" height="{self.height:g}pt" font-family="{FONT}" '
            'font-size="8.5">' + "".join(self.shapes) + "</svg>"
        )


def _places(points: Sequence[Point]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
