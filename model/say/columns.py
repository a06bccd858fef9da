"""What unit and number format belong to a name, such as `margin_aud_per_ha`?

Names end in their unit; the longest ending that is known counts. What has no such ending is a count
or a plain number, and the few that the plan has are named here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

FORMS: Final = {
    "_frac": "0.0%",
    "_frac_per_year": "0.00%",
    "_aud": "#,##0",
    "_aud_per_year": "#,##0",
    "_ml": "#,##0",
    "_ml_per_year": "#,##0",
    "_ml_per_month": "#,##0",
    "_ha": "#,##0.0",
    "_ml_per_share": "0.000",
    "_bales_per_ha": "0.00",
    "_aud_per_ml": "#,##0",
    "_aud_per_ha": "#,##0",
    "_aud_per_bale": "#,##0",
    "_aud_per_unit": "#,##0",
    "_units_per_ha": "0.00",
    "_aud_per_share": "#,##0.00",
    "pattern": "0.0%",
    "cover": "0.00",
    "bales": "#,##0",
    "now": "#,##0.00",
    "break-even": "#,##0.00",
}
"""Number formats by how a name ends; the longest ending counts."""

UNITS: Final = {
    "_ml_per_share": "ML per share",
    "_ml_per_ha": "ML per ha",
    "_ml_per_day": "ML a day",
    "_ml_per_month": "ML a month",
    "_ml_per_year": "ML a year",
    "_bales_per_ha": "bales per ha",
    "_units_per_ha": "bales or t per ha",
    "_aud_per_ml": "AUD per ML",
    "_aud_per_ha": "AUD per ha",
    "_aud_per_bale": "AUD per bale",
    "_aud_per_unit": "AUD per bale or t",
    "_aud_per_share": "AUD per share",
    "_aud_per_year": "AUD a year",
    "_aud": "AUD",
    "_ml": "ML",
    "_ha": "ha",
    "_mm": "mm",
    "_mm_per_day": "mm a day",
    "_frac": "fraction",
    "_frac_per_year": "fraction a year",
    "_frac_per_day": "fraction a day",
    "pattern": "fraction",
    "_chance": "fraction",
    "_days": "days",
    "_days_per_month": "days a month",
    "_years": "years",
    "years_ahead": "years",
    "_months": "months",
    "_day": "day of the month",
    "before_day": "days after sowing",
    "ends_days": "days after sowing",
    "bales": "bales",
    "seasons": "seasons",
    "count": "sequences",
    "missed": "payments",
    "survived": "seasons",
    "cover": "ratio",
    "_factor": "ratio",
    "_elasticity": "ratio",
    "_exponent": "ratio",
    "kc_initial": "ratio",
    "kc_middle": "ratio",
    "kc_end": "ratio",
    "seed": "number",
}
"""Units by how a name ends; the longest ending counts."""


def form_of(name: str) -> str:
    """Give the number format of a name; empty where it has none."""
    return _by_ending(FORMS, name)


def unit_of(name: str) -> str:
    """Give the unit of a name; empty where it has none.

    Examples
    --------
    >>> unit_of("margin_aud_per_ha"), unit_of("closing_cash_aud mean")
    ('AUD per ha', 'AUD')
    >>> unit_of("rule: buy_up_to_ml"), unit_of("payments_missed"), unit_of("sell_month")
    ('ML', 'payments', '')
    """
    return _by_ending(UNITS, name)


def _by_ending(known: Mapping[str, str], name: str) -> str:
    """Find what belongs to the longest known ending of any word of a name, first word first."""
    for word in name.split(" "):
        endings = [ending for ending in known if word.endswith(ending)]
        if endings:
            return known[max(endings, key=len)]
    return ""
