"""How does a brief become a PDF?

Pages are laid out as data and handed to the layout file beside this module; the type-setter runs in
this process, with its own fonts and no network. The PDF is tagged and made to the PDF/UA-1
settings. Letters that the fonts do not hold are printed as □ and said to be.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any, Final

from model.brief.findings import Findings
from model.brief.layout import breakable, note
from model.brief.pages import pages_of

LAYOUT: Final = Path(__file__).with_name("brief.typ")
STANDARD: Final = "ua-1"
MISSING: Final = "□"
LAST_CERTAIN: Final = 0x04FF
"""Latin, Greek and Cyrillic are in the fonts (tried letter by letter), all but two signs."""
NOT_HELD: Final = frozenset("\u0485\u0486")
OWN_SIGNS: Final = frozenset("\u200b–—−×÷“”‘’…□•€≤≥")


def brief_pdf(found: Findings, date: dt.date) -> bytes:
    """Make a brief; the same findings and date give the same bytes.

    Parameters
    ----------
    found
        What it says.
    date
        The day that is printed on it.
    """
    import typst

    words = _printable(document_of(found, date))
    stamp = dt.datetime(date.year, date.month, date.day, tzinfo=dt.UTC)
    pdf: bytes = typst.compile(
        LAYOUT.read_bytes(),
        output=None,
        format="pdf",
        sys_inputs={"data": json.dumps(words), "title": _plain(found.odds.plan.title)},
        ignore_system_fonts=True,
        timestamp=int(stamp.timestamp()),
        pdf_standards=[STANDARD],
    )
    return pdf


def document_of(found: Findings, date: dt.date) -> dict[str, Any]:
    """Give title, date, footer and pages as plain data."""
    title = found.odds.plan.title
    short = title if len(title) <= 40 else f"{title[:39]}…"
    record = found.odds.record
    return {
        "title": title,
        "date": [date.year, date.month, date.day],
        "footer": f"{short} · {date.isoformat()} · record {record.sha256[:12]} · "
        f"seed {found.odds.plan.sequences.seed}",
        "pages": pages_of(found),
    }


def _printable(document: dict[str, Any]) -> dict[str, Any]:
    """Put a sign for every letter that may be missing from the fonts, and say so."""
    missing: set[str] = set()

    def clean(value: Any) -> Any:
        if isinstance(value, str):
            words = breakable(value)
            missing.update(letter for letter in words if not _certain(letter))
            return "".join(c if _certain(c) else MISSING for c in words)
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
    """Give a title as the file's own properties hold it."""
    return "".join(letter if letter.isprintable() else " " for letter in title)


def _certain(letter: str) -> bool:
    """Tell whether the fonts hold a letter for certain."""
    return letter in OWN_SIGNS or (ord(letter) <= LAST_CERTAIN and letter not in NOT_HELD)
