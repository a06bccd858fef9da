"""Of what rules is a file of evidence, so that no other plan's papers can print its verdict?

The trial hangs on the valley and its rules, on how sequences are drawn and the record is read, on
the calendar month that opens the run and on how many seasons it has. The farm, the seed and the
number of sequences are not in it; nor is where things stand today: the replay begins from there,
but thirty years before the first year that is tried.
"""

from __future__ import annotations

import hashlib
from typing import Any, Final

from model.plan.plan import Plan
from model.water_year import month_of_water_year, parse_month

PARTS: Final[dict[str, Any]] = {
    "valley": True,
    "record_fill": True,
    "record_missing_days_frac": True,
    "record_columns": True,
    "record_unit": True,
    "record_sheet": True,
    "record_decimal": True,
    "sequences": {"method", "kind", "block_years", "climate_indices", "seasons"},
}


def rules_fingerprint(plan: Plan) -> str:
    """Return the SHA-256 of the parts of a plan that a trial of its odds hangs on."""
    opens_in = month_of_water_year(parse_month(plan.opening.month))
    return hashlib.sha256(f"{opens_in} {plan.model_dump_json(include=PARTS)}".encode()).hexdigest()
