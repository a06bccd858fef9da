"""What is a page made of, and how are numbers put on paper?

Blocks are plain data for the layout file: no word of them is ever read as markup. Numbers are
printed to the digits that their errors bear out: money in thousands, hectares whole, water per
share to two places, volumes to two figures, chances in whole percent but for small ones.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Any, Final

from model.decide.amounts import Amount
from model.outlook.chances import Estimate, in_percent, in_ten

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


def terms(items: Sequence[tuple[str, str]]) -> Block:
    """Give a list whose items open with a word in bold."""
    return {"kind": "terms", "items": [list(item) for item in items]}


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
        "parts": _parts([row[0] for row in rows]),
    }


def _parts(firsts: Sequence[str]) -> list[int]:
    """Number the rows (from 1) that end a part: rows of one first word stand together."""
    if len(set(firsts)) == len(firsts):
        return []
    return [at for at, (one, other) in enumerate(pairwise(firsts), start=1) if one != other]


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


def about(value: float) -> str:
    """Print a volume to two figures, which is all that its errors bear out.

    Examples
    --------
    >>> about(41_687.0), about(672.4), about(-3.6), about(0.0), about(math.nan)
    ('42,000', '670', '−4', '0', '–')
    """
    if math.isnan(value) or value == 0.0:
        return _number(value, 0)
    return _number(value, min(0, 1 - math.floor(math.log10(abs(value)))))


def money(aud: float) -> str:
    """Say a sum in a sentence.

    Examples
    --------
    >>> money(1_000_000.0), money(1_250_000.0), money(873_900.0), money(420.0)
    ('1 million AUD', '1.25 million AUD', '874,000 AUD', '420 AUD')
    """
    if abs(aud) >= 999_500.0:
        return f"{_number(aud / 1e6, 2).rstrip('0').rstrip('.')} million AUD"
    return f"{_number(aud, -3 if abs(aud) >= 10_000.0 else 0)} AUD"


def percent(frac: float) -> str:
    """Print a share in whole percent, a small one to one place.

    Examples
    --------
    >>> percent(0.258), percent(0.035), percent(0.0), percent(0.0002), percent(0.9996)
    ('26 %', '3.5 %', '0 %', 'under 0.1 %', 'over 99 %')
    """
    return NO_NUMBER if math.isnan(frac) else f"{_share(frac)} %"


def _share(frac: float) -> str:
    """Print a share in percent, without the sign."""
    return NO_NUMBER if math.isnan(frac) else in_percent(frac).replace("-", "−")


def rate(frac_per_year: float) -> str:
    """Print a rate of interest as it was stated.

    Examples
    --------
    >>> rate(0.075), rate(0.1234)
    ('7.5 %', '12.34 %')
    """
    return f"{100.0 * frac_per_year:.6g} %"


def _number(value: float, places: int) -> str:
    if math.isnan(value):
        return NO_NUMBER
    return f"{round(value, places) + 0.0:,.{max(0, places)}f}".replace("-", "−")


def said(estimate: Estimate) -> str:
    """Say a chance with its range: the record's, or the draws' where that leaves nothing open."""
    words = in_ten(estimate.value)
    low, high = estimate.headline
    if low == high:
        low, high = estimate.draws_low, estimate.draws_high
    return f"{words} ({percent(estimate.value)}; {_share(low)} to {_share(high)} %)"


def said_briefly(estimate: Estimate) -> str:
    """Say a chance with its range in the cell of a table."""
    return said(estimate).replace(" in these sequences", "")


def of_runs(chance_frac: float) -> str:
    """Say in how many runs of seasons something happens, inside a sentence.

    Examples
    --------
    >>> of_runs(0.31), of_runs(0.0), of_runs(1.0)
    ('about 3 in 10 runs', 'no run', 'every run')
    """
    if chance_frac <= 0.0:
        return "no run"
    return "every run" if chance_frac >= 1.0 else f"{in_ten(chance_frac)} runs"


def with_range(estimate: Estimate, form: Any) -> str:
    """Print an amount, and in brackets the record's range where it shows at these digits."""
    value, low, high = (form(each) for each in (estimate.value, *estimate.headline))
    return str(value) if low == high else f"{value} ({low} to {high})"


def three(amount: Amount | None, form: Any = whole) -> list[str]:
    """Print what is reached in 9, 5 and 1 years of 10."""
    if amount is None:
        return [NO_NUMBER] * 3
    return [form(amount.spread.reached_in(years).value) for years in (9, 5, 1)]


def breakable(words: str) -> str:
    """Let a very long word be broken; leave out what cannot be printed."""
    clean = "".join(letter if letter.isprintable() else " " for letter in words)
    return LONG_WORD.sub(lambda m: BREAK.join(re.findall(".{1,20}", m.group())), clean)
