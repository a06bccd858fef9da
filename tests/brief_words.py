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


def brief_chance(chance: dict[str, float | str]) -> str:
    """Print a chance of a file as it stands in a table's cell."""
    return chance_words(chance).replace(" in these sequences", "")


def chance_words(chance: dict[str, float | str]) -> str:
    """Print a chance of a file, with the record's range, or the draws' where that is a point."""
    low, high = float(chance["record_low"]), float(chance["record_high"])
    if low == high:
        low, high = float(chance["low"]), float(chance["high"])
    said = f"{chance['words']} ({in_percent(float(chance['value']))} %; "
    return f"{said}{in_percent(low)} to {in_percent(high)} %)"
