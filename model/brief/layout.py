"""What is a page made of?

Blocks are plain data for the layout file: no word of them is ever read as markup.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Any, Final

Block = dict[str, Any]
LONG_WORD: Final = re.compile(r"(?![0-9a-f]{64}\b)\S{31,}")
"""A word that may not fit a line; a hash does, and a copied one must match."""
BREAK: Final = "\u200b"  # where a word may be broken that is longer than any line


def text(words: str) -> Block:
    """Return a paragraph."""
    return {"kind": "text", "text": words}


def note(words: str) -> Block:
    """Return a paragraph in small print."""
    return {"kind": "note", "text": words}


def heading(words: str) -> Block:
    """Return a heading inside a page."""
    return {"kind": "heading", "text": words}


def bullets(items: Sequence[str]) -> Block:
    """Return a list."""
    return {"kind": "list", "items": list(items)}


def terms(items: Sequence[tuple[str, str]]) -> Block:
    """Return a list whose items open with a word in bold."""
    return {"kind": "terms", "items": [list(item) for item in items]}


def chart(drawn: tuple[str, str], caption: str) -> Block:
    """Return a chart with its words."""
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
    """Return a table; a width of 0 is as wide as its words."""
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
    """Return the rows (from 1) that end a part: rows of one first word stand together."""
    if len(set(firsts)) == len(firsts):
        return []
    return [at for at, (one, other) in enumerate(pairwise(firsts), start=1) if one != other]


def page(part: str, headline: str, blocks: Sequence[Block]) -> dict[str, Any]:
    """Return a part of a brief: its number and name, and the finding as its headline."""
    return {"part": part, "headline": headline, "blocks": list(blocks)}


def breakable(words: str) -> str:
    """Return words with breaks in a very long one; leave out what cannot be printed."""
    clean = "".join(letter if letter.isprintable() else " " for letter in words)
    return LONG_WORD.sub(lambda m: BREAK.join(re.findall(".{1,20}", m.group())), clean)
