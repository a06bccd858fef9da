"""What is in a brief, part by part?

The decision; water; what is planted and held, and the bank; debt cover and what may turn; security
and covenants; how far to trust it. Each part opens with its finding. Plain words come first, method
last.
"""

from __future__ import annotations

from typing import Any

from model.brief.decision_page import decision_page
from model.brief.lender_page import lender_page
from model.brief.planting_page import planting_page
from model.brief.security_page import security_page
from model.brief.trust_page import trust_page
from model.brief.water_page import water_page
from model.decide.findings import Findings


def parts_of(found: Findings) -> list[dict[str, Any]]:
    """Return all parts; the first decides alone."""
    return [
        decision_page(found),
        water_page(found),
        planting_page(found),
        lender_page(found),
        security_page(found),
        trust_page(found),
    ]
