"""How does a brief become a PDF?

Parts are laid out as data and handed to the layout file beside this module; the type-setter runs in
this process, with its own fonts and no network. The PDF is tagged and made to the PDF/UA-1
settings; row headers are tagged afterwards (see `row_headers`). Letters that the fonts do not hold
are printed as □ and said to be.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path
from typing import Any, Final

from model.brief.layout import breakable, note
from model.brief.pages import parts_of
from model.brief.plan_hash import plan_sha256
from model.brief.row_headers import with_row_headers
from model.decide.findings import Findings
from model.say.numbers import day_name
from model.water_year import month_name

LAYOUT: Final = Path(__file__).with_name("brief.typ")
FONTS: Final = Path(__file__).with_name("fonts")
STANDARD: Final = "ua-1"
FOOTER_LETTERS: Final = 40
"""Of a title or a strategy's name in the footer."""
TOGETHER: Final = re.compile(r" (?=%)|(?<=\d) (?=(?:of|in) \d)|(?<=\d of) (?=\d)|(?<=\d in) (?=\d)")
"""Spaces at which no line ends: before a percent sign, and in counts such as 3 in 10."""
MISSING: Final = "□"
LAST_CERTAIN: Final = 0x04FF
"""Latin, Greek and Cyrillic are in the fonts (tried letter by letter), all but two signs."""
NOT_HELD: Final = frozenset("\u0485\u0486")
OWN_SIGNS: Final = frozenset("\u200b–—−×÷“”‘’…□•€≤≥")


def brief_pdf(found: Findings, date: dt.date, plan_file: str = "", mark: str = "") -> bytes:
    """Make a brief; the same findings and date give the same bytes.

    Parameters
    ----------
    found
        What it says.
    date
        The day that is printed on it.
    plan_file
        Name of the plan's file, and what is to be said of it; left out where there is none.
    mark
        Of the run whose JSON file holds the figures; it stands in the file's properties.
    """
    return pdf_of(document_of(found, date, plan_file), date, mark)


def pdf_of(document: dict[str, Any], date: dt.date, mark: str = "") -> bytes:
    """Set parts that are laid out as data; the same document gives the same bytes.

    Parameters
    ----------
    document
        Title, what it is made from, date, footer and parts.
    date
        The day that is printed on it.
    mark
        Of a run, for the file's properties.
    """
    import typst

    stamp = dt.datetime(date.year, date.month, date.day, tzinfo=dt.UTC)
    pdf: bytes = typst.compile(
        LAYOUT.read_bytes(),
        output=None,
        format="pdf",
        font_paths=typst.Fonts(include_system_fonts=False, font_paths=[FONTS]),
        sys_inputs={
            "data": json.dumps(_printable(document)),
            "title": _plain(document["title"]),
            "keywords": f"run {mark}" if mark else "",
        },
        ignore_system_fonts=True,
        timestamp=int(stamp.timestamp()),
        pdf_standards=[STANDARD],
    )
    return with_row_headers(pdf)


def document_of(found: Findings, date: dt.date, plan_file: str = "") -> dict[str, Any]:
    """Return title, date, footer and parts as plain data."""
    title, record = found.odds.plan.title, found.odds.record
    names = (title, f"“{found.outcome.strategy.name}”")
    short = " · ".join(map(_short, names))
    return {
        "title": title,
        "made": made_in_words(found, date, plan_file),
        "date": [date.year, date.month, date.day],
        "footer": f"{short} · {date.isoformat()} · plan {plan_sha256(found.odds.plan)[:12]} · "
        f"record {record.sha256[:12]} · seed {found.odds.plan.sequences.seed}",
        "parts": parts_of(found),
    }


def _short(name: str) -> str:
    """Return a name as the footer has room for it."""
    return name if len(name) <= FOOTER_LETTERS else f"{name[: FOOTER_LETTERS - 1]}…"


def made_in_words(found: Findings, date: dt.date, plan_file: str = "") -> str:
    """Return for whom, when and from which file it was made, and at what time things stand so."""
    stands = month_name(found.odds.seasons[0].first_month)
    words = (
        f"Credit paper for a partner or a lender, made on {day_name(date)}, of the strategy "
        f"“{found.outcome.strategy.name}”. It stands at the start of {stands}."
    )
    return f"{words} Plan file: {plan_file}." if plan_file else words


def _printable(document: dict[str, Any]) -> dict[str, Any]:
    """Put a sign for every letter that may be missing from the fonts, and say so."""
    missing: set[str] = set()

    def clean(value: Any) -> Any:
        if isinstance(value, str):
            words = breakable(value)
            missing.update(letter for letter in words if not _certain(letter))
            held = "".join(c if _certain(c) else MISSING for c in words)
            return TOGETHER.sub("\u00a0", held)
        if isinstance(value, list):
            return [clean(item) for item in value]
        if isinstance(value, dict):
            return {k: item if k == "svg" else clean(item) for k, item in value.items()}
        return value

    cleaned: dict[str, Any] = clean(document)
    if missing:
        cleaned["parts"][-1]["blocks"].append(
            note(f"Letters that the fonts of this brief do not hold stand as {MISSING}.")
        )
    return cleaned


def _plain(title: str) -> str:
    """Return a title as the file's own properties hold it."""
    return "".join(letter if letter.isprintable() else " " for letter in title)


def _certain(letter: str) -> bool:
    """Return whether the fonts hold a letter for certain."""
    return letter in OWN_SIGNS or (ord(letter) <= LAST_CERTAIN and letter not in NOT_HELD)
