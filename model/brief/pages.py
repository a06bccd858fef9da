"""What stands on each page of a brief?

Water; what is planted and held, and the bank; what a lender asks; how far to trust it. Each page
opens with its finding. Plain words come first, method last.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from model.brief.findings import Findings
from model.brief.layout import terms
from model.brief.lender_page import headline_of as lender_headline
from model.brief.lender_page import lender_page, survives_words
from model.brief.planting_page import bank_words, planted_words, planting_page
from model.brief.trust_page import trust_page
from model.brief.trust_words import no_better
from model.brief.water_page import water_page


def pages_of(found: Findings) -> list[dict[str, Any]]:
    """Write all pages; the first holds the findings of the others in short."""
    trust = trust_page(found)
    in_short = terms(
        [
            ("Planting.", f"{planted_words(found)}."),
            ("Bank.", bank_words(found)),
            ("Debt.", f"{lender_headline(found)}."),
            ("No allocation.", survives_words(found.compared.outcomes[found.at])),
            ("Trust.", _trust_words(trust["headline"], found.verdict)),
        ]
    )
    return [water_page(found, in_short), planting_page(found), lender_page(found), trust]


def _trust_words(headline: str, verdict: Sequence[str]) -> str:
    """Say how far to trust it, and what is no better than the long-run record."""
    return f"{headline}. {no_better(verdict)}".strip()
