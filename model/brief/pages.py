"""What is on each page of a brief?

Water; what is planted and held, and the bank; what a lender asks; how far to trust it. Each page
opens with its finding. Plain words come first, method last.
"""

from __future__ import annotations

from typing import Any

from model.brief.layout import terms
from model.brief.lender_page import lender_page
from model.brief.planting_page import planting_page
from model.brief.trust_page import trust_in_short, trust_page
from model.brief.water_page import water_page
from model.decide.findings import Findings
from model.say.comparison import survives_in_words
from model.say.farm import bank_in_words, planted_in_words
from model.say.lender import cover_headline


def pages_of(found: Findings) -> list[dict[str, Any]]:
    """Return all pages; the first holds the findings of the others in short."""
    outcome = found.outcome
    in_short = terms(
        [
            ("Planting.", f"{planted_in_words(outcome)}."),
            ("Bank.", bank_in_words(outcome, found.limit_aud)),
            ("Debt.", f"{cover_headline(outcome, found.stress)}."),
            ("No allocation.", survives_in_words(outcome)),
            ("Trust.", trust_in_short(found)),
        ]
    )
    return [
        water_page(found, in_short),
        planting_page(found),
        lender_page(found),
        trust_page(found),
    ]
