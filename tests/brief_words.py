"""What a brief's pages say, read back, and numbers printed as a reader would print them."""

from __future__ import annotations

import io

from pypdf import PdfReader


def words_of(pdf: bytes) -> str:
    """Read a PDF's text back, spaces evened out."""
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return " ".join(text.split())


def printed(value: float, places: int = 0) -> str:
    """Print a number as a reader would, with a true minus."""
    return f"{round(value, places) + 0.0:,.{places}f}".replace("-", "−")


def dollars(aud: float) -> str:
    """Print money as a reader would: to the dollar, the thousand or the hundredth of a million."""
    sign, size = ("−" if aud < 0 else ""), abs(aud)
    if size >= 999_500:
        return f"{sign}${float(f'{size / 1e6:.2f}'):g} million"
    return f"{sign}${size:,.0f}" if size < 10_000 else f"{sign}${round(size / 1_000):,},000"


def hectares(value: float) -> str:
    """Print an area as a reader would."""
    return f"{printed(value)} ha"


def in_percent(frac: float) -> str:
    """Print a share: whole percent, below 10 one place, and nothing sharper than the ends."""
    if 0.0 < frac < 0.0005:
        return "under 0.1"
    if 0.995 < frac < 1.0:
        return "over 99"
    small = 0.0 < 100 * frac < 9.95
    return printed(100 * frac, 1 if small else 0)


def two_figures(value: float) -> str:
    """Print a volume to two figures."""
    return printed(float(f"{value:.2g}"))


def with_range(estimate: dict[str, float], form) -> str:
    """Print an amount of a file, with the record's range where it shows."""
    value, low, high = (form(estimate[key]) for key in ("value", "record_low", "record_high"))
    return value if low == high else f"{value} ({low} to {high})"


def chance_cell(chance: dict[str, float]) -> str:
    """Print a chance of a file, in 100, as it is in a table's cell."""
    return f"{in_100(chance['value'])}{_chance_range(chance)}"


def chance_words(chance: dict[str, float], drawn: int) -> str:
    """Print a chance of a file with the record's range, or the draws' where that is a point."""
    value = chance["value"]
    if value in (0.0, 1.0):
        said = f"in {'none' if value == 0.0 else 'all'} of the {drawn:,} drawn"
    elif value < 0.01:
        said = "less than once in 100"
    elif value > 0.99:
        said = "more than 99 times in 100"
    else:
        said = "once in 100" if in_100(value) == "1" else f"{in_100(value)} times in 100"
    return f"{said}{_chance_range(chance)}"


def in_100(value: float) -> str:
    """Print a chance in 100, nothing sharper than the ends."""
    if 0.0 < value < 0.01:
        return "less than 1"
    return "more than 99" if 0.99 < value < 1.0 else printed(100 * value)


def _chance_range(chance: dict[str, float]) -> str:
    low, high = chance["record_low"], chance["record_high"]
    if low == high and 0.0 < chance["value"] < 1.0:
        low, high = chance["low"], chance["high"]
    return "" if in_100(low) == in_100(high) else f" ({in_100(low)} to {in_100(high)})"
