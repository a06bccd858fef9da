"""How far apart in lightness are two colours, to the eye?

Relative luminance and contrast ratio as the Web Content Accessibility Guidelines define them:
WCAG 2.2, W3C Recommendation of 5 October 2023, section 6, "relative luminance" and "contrast
ratio" (as in WCAG 2.1).
"""

from __future__ import annotations

Channels = tuple[float, float, float]


def channels(colour: str) -> Channels:
    """Read red, green and blue of #RRGGBB, 0 to 1."""
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


def laid_over(colour: str, page: str) -> Channels:
    """Return rgba(red, green, blue, opacity) over a page, 0 to 1."""
    *over, opacity = (float(part) for part in colour.removeprefix("rgba(")[:-1].split(","))
    under = channels(page)
    red, green, blue = (
        opacity * above / 255 + (1.0 - opacity) * below
        for above, below in zip(over, under, strict=True)
    )
    return red, green, blue


def contrast(one: str | Channels, other: str | Channels) -> float:
    """Return the contrast ratio of two colours, 1 to 21."""
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str | Channels) -> float:
    """Return the relative luminance of a colour, 0 to 1."""
    parts = channels(colour) if isinstance(colour, str) else colour
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
