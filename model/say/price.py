"""How is it said what yearly water costs in a run, and whether the plan's reference fits it?"""

from __future__ import annotations

import numpy as np

from model.farm.price import PriceMet
from model.say.numbers import money, money_for_each
from model.water_year import MONTH_NAMES


def price_in_words(met: PriceMet) -> str:
    """Return what yearly water costs half the time, beside the plan's own figure.

    Examples
    --------
    >>> print(price_in_words(PriceMet(np.linspace(140.0, 162.0, 12), 150.0, 148.0)))
    Yearly water costs $150 a ML or more half the time ($140 in July, $162 in June, before the \
month's own factor); the plan says $148 in a middle season.
    """
    by_month = met.by_month_aud_per_ml
    ends = (int(np.nanargmin(by_month)), int(np.nanargmax(by_month)))
    months = ", ".join(f"{money(by_month[k])} in {MONTH_NAMES[k]}" for k in ends)
    return (
        f"Yearly water costs {money_for_each(met.median_aud_per_ml, 'ML')} or more half the time "
        f"({months}, before the month's own factor); the plan says "
        f"{money(met.reference_aud_per_ml)} in a middle season."
    )


def price_caution(met: PriceMet) -> str | None:
    """Return the caution where the two do not fit; None where they do.

    Examples
    --------
    >>> price_caution(PriceMet(np.full(12, 150.0), 150.0, 148.0)) is None
    True
    >>> print(price_caution(PriceMet(np.full(12, 320.0), 320.0, 148.0)))
    The price of yearly water met in these runs ($320 a ML) is more than a third away from the \
plan's middle season ($148). In a dry or a wet start that may be right; otherwise check the plan's \
reference price and the supply it belongs to.
    """
    if met.is_near:
        return None
    return (
        "The price of yearly water met in these runs "
        f"({money_for_each(met.median_aud_per_ml, 'ML')}) is more than a third away from the "
        f"plan's middle season ({money(met.reference_aud_per_ml)}). In a dry or a wet start that "
        "may be right; otherwise check the plan's reference price and the supply it belongs to."
    )


def price_lines(met: PriceMet | None) -> list[str]:
    """Return both, as far as there is a market and a caution."""
    if met is None:
        return []
    caution = price_caution(met)
    return [price_in_words(met), *([caution] if caution else [])]
