"""How is a method said to a person?"""

from __future__ import annotations

from collections.abc import Mapping


def method_in_words(settings: Mapping[str, str | float]) -> str:
    """Describe how sequences were drawn, from a method's settings.

    Examples
    --------
    >>> method_in_words({"method": "blocks", "kind": "stationary", "block_years": 2.31})
    'stationary blocks of a mean of 2.3 years'
    """
    method = settings["method"]
    if method == "blocks":
        mean = "a mean of " if settings["kind"] == "stationary" else ""
        words = f"{settings['kind']} blocks of {mean}{float(settings['block_years']):.1f} years"
    elif method == "present":
        words = (
            f"runs of past years, about {float(settings['block_years']):.0f} years at a time, "
            "their level moved to where the river stands today (flow of the next three months "
            f"times {float(settings['middle_factor_1_3']):.2f} in the middle; from "
            f"{settings['fitted_on_starts']:.0f} past starts)"
        )
    elif method == "neighbours":
        inflow_ml = float(settings["last_twelve_months_inflow_ml"])
        words = f"seasons that followed a year like the present one ({inflow_ml:,.0f} ML)"
        if "climate_indices" in settings:
            words += f" and the same {settings['climate_indices']}"
    elif method == "regimes":
        words = (
            "dry and wet states (a dry year is followed by a dry one in "
            f"{float(settings['stays_dry']):.0%}, a wet one by a wet one in "
            f"{float(settings['stays_wet']):.0%}; now dry with a chance of "
            f"{float(settings['opening_dry_chance']):.0%}, {settings['opening_state']})"
        )
    else:
        words = "every observed start in turn"
    if "in_place_of" in settings:
        words += f", in place of {settings['in_place_of']}: {settings['because']}"
    return words
