"""What is a page made of, and how are numbers put on paper?

Blocks are plain data for the layout file: no word of them is ever read as markup. Numbers are
printed to the digits that their errors bear out: money in thousands, hectares whole, water per
share to two places.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any, Final

from model.chances import Estimate, in_ten
from model.decide.amounts import Amount

Block = dict[str, Any]
LONG_WORD: Final = re.compile(r"\S{31,}")
BREAK: Final = "\u200b"  # where a word may be broken that is longer than any line
NO_NUMBER: Final = "–"


def text(words: str) -> Block:
    """Give a paragraph."""
    return {"kind": "text", "text": words}


def note(words: str) -> Block:
    """Give a paragraph in small print."""
    return {"kind": "note", "text": words}


def heading(words: str) -> Block:
    """Give a heading inside a page."""
    return {"kind": "heading", "text": words}


def bullets(items: Sequence[str]) -> Block:
    """Give a list."""
    return {"kind": "list", "items": list(items)}


def chart(drawn: tuple[str, str], caption: str) -> Block:
    """Give a chart with its words."""
    svg, alt = drawn
    return {"kind": "chart", "svg": svg, "alt": alt, "caption": caption}


def table(
    caption: str,
    header: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    widths: Sequence[float] | None = None,
    text_columns: Sequence[int] = (0,),
) -> Block:
    """Give a table; a width of 0 is as wide as its words."""
    return {
        "kind": "table",
        "caption": caption,
        "header": list(header),
        "rows": [list(row) for row in rows],
        "widths": list(widths or [1.0] * len(header)),
        "text_columns": list(text_columns),
    }


def page(part: str, headline: str, blocks: Sequence[Block]) -> dict[str, Any]:
    """Give a page: its part of the brief, and the finding as its headline."""
    return {"part": part, "headline": headline, "blocks": list(blocks)}


def thousand(aud: float) -> str:
    """Print money in thousands.

    Examples
    --------
    >>> thousand(-1_234_567.0), thousand(math.nan), thousand(-12.0)
    ('−1,235', '–', '0')
    """
    return _number(aud / 1_000.0, 0)


def whole(value: float) -> str:
    """Print a whole number."""
    return _number(value, 0)


def two(value: float) -> str:
    """Print to two places."""
    return _number(value, 2)


def percent(frac: float) -> str:
    """Print a fraction as a percentage, to one place."""
    return NO_NUMBER if math.isnan(frac) else f"{_number(100.0 * frac, 1)} %"


def _number(value: float, places: int) -> str:
    if math.isnan(value):
        return NO_NUMBER
    return f"{round(value, places) + 0.0:,.{places}f}".replace("-", "−")


def said(estimate: Estimate) -> str:
    """Say a chance with its range, the record's where there is one."""
    low, high = estimate.headline
    return (
        f"{in_ten(estimate.value)} ({percent(estimate.value)}; {percent(low)} to {percent(high)})"
    )


def three(amount: Amount | None, form: Any = whole) -> list[str]:
    """Print what is reached in 9, 5 and 1 years of 10."""
    if amount is None:
        return [NO_NUMBER] * 3
    return [form(amount.spread.reached_in(years).value) for years in (9, 5, 1)]


def breakable(words: str) -> str:
    """Let a very long word be broken; leave out what cannot be printed."""
    clean = "".join(letter if letter.isprintable() else " " for letter in words)
    return LONG_WORD.sub(lambda m: BREAK.join(re.findall(".{1,20}", m.group())), clean)
