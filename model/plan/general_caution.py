"""What must stand beside every odds, and beside odds of a farm?"""

from __future__ import annotations

from typing import Final

CAUTION: Final = (
    "General information, not financial, legal or agronomic advice. The valley's water sharing "
    "plan, the licence and current announcements prevail. A chance is not a promise, and past "
    "inflow may not bound the future."
)

FARM_CAUTION: Final = (
    CAUTION + " Yields, prices and costs are the user's own. See an agronomist, an accountant and "
    "the lender before acting on it."
)
