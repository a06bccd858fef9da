"""How does a brief become a PDF?

Pages are laid out as data and handed to the layout file beside this module; the type-setter runs in
this process, with its own fonts and no network. The PDF is tagged and made to the PDF/UA-1
settings. Where names are long and cases many, all is set a little smaller, so that four pages hold
it. Letters that the fonts do not hold are printed as □ and said to be.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path
from typing import Any, Final

from model.brief.layout import breakable, note
from model.brief.pages import pages_of
from model.decide.findings import Findings
from model.say.numbers import day_name
from model.water_year import month_name

LAYOUT: Final = Path(__file__).with_name("brief.typ")
STANDARD: Final = "ua-1"
MOST_PAGES: Final = 4
SCALES: Final = ("1.0", "0.96", "0.92", "0.88", "0.84", "0.80")
"""Tried in turn: long names and many cases are set smaller rather than on another page."""
TOGETHER: Final = re.compile(r" (?=%)|(?<=\d) (?=(?:of|in) \d)|(?<=\d of) (?=\d)|(?<=\d in) (?=\d)")
"""Spaces at which no line ends: before a percent sign, and in counts such as 3 in 10."""
MISSING: Final = "□"
LAST_CERTAIN: Final = 0x04FF
"""Latin, Greek and Cyrillic are in the fonts (tried letter by letter), all but two signs."""
NOT_HELD: Final = frozenset("\u0485\u0486")
OWN_SIGNS: Final = frozenset("\u200b–—−×÷“”‘’…□•€≤≥")


def brief_pdf(found: Findings, date: dt.date, plan_file: str = "") -> bytes:
    """Make a brief; the same findings and date give the same bytes.

    Parameters
    ----------
    found
        What it says.
    date
        The day that is printed on it.
    plan_file
        Name of the plan's file, and what is to be said of it; left out where there is none.
    """
    return pdf_of(document_of(found, date, plan_file), date)


def pdf_of(document: dict[str, Any], date: dt.date, most_pages: int = MOST_PAGES) -> bytes:
    """Set pages that are laid out as data; the same document gives the same bytes.

    Parameters
    ----------
    document
        Title, what it is made from, date, footer and pages.
    date
        The day that is printed on it.
    most_pages
        That may hold it: set smaller where it is longer.
    """
    import typst

    stamp = dt.datetime(date.year, date.month, date.day, tzinfo=dt.UTC)
    title = _plain(document["title"])
    inputs = {"data": json.dumps(_printable(document)), "title": title}
    pdf: bytes = typst.compile(
        LAYOUT.read_bytes(),
        output=None,
        format="pdf",
        sys_inputs=inputs | {"scale": _scale(inputs, most_pages)},
        ignore_system_fonts=True,
        timestamp=int(stamp.timestamp()),
        pdf_standards=[STANDARD],
    )
    return pdf


def _scale(inputs: dict[str, str], most_pages: int) -> str:
    """Return the largest size of letters at which it has no more than so many pages."""
    import typst

    for scale in SCALES[:-1]:
        pages = typst.query(
            LAYOUT.read_bytes(),
            "<pages>",
            field="value",
            one=True,
            sys_inputs=inputs | {"scale": scale},
            ignore_system_fonts=True,
        )
        if int(pages) <= most_pages:
            return scale
    return SCALES[-1]


def document_of(found: Findings, date: dt.date, plan_file: str = "") -> dict[str, Any]:
    """Return title, date, footer and pages as plain data."""
    title = found.odds.plan.title
    short = title if len(title) <= 40 else f"{title[:39]}…"
    record = found.odds.record
    return {
        "title": title,
        "made": made_in_words(found, date, plan_file),
        "date": [date.year, date.month, date.day],
        "footer": f"{short} · {date.isoformat()} · record {record.sha256[:12]} · "
        f"seed {found.odds.plan.sequences.seed}",
        "pages": pages_of(found),
    }


def made_in_words(found: Findings, date: dt.date, plan_file: str = "") -> str:
    """Return for whom, when and from which file it was made, and at what time things stand so."""
    stands = month_name(found.odds.seasons[0].first_month)
    words = (
        f"Brief for a partner or a lender, made on {day_name(date)}. It stands at the start of "
        f"{stands}."
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
        cleaned["pages"][-1]["blocks"].append(
            note(f"Letters that the fonts of this brief do not hold stand as {MISSING}.")
        )
    return cleaned


def _plain(title: str) -> str:
    """Return a title as the file's own properties hold it."""
    return "".join(letter if letter.isprintable() else " " for letter in title)


def _certain(letter: str) -> bool:
    """Return whether the fonts hold a letter for certain."""
    return letter in OWN_SIGNS or (ord(letter) <= LAST_CERTAIN and letter not in NOT_HELD)
