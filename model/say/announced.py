"""How is it told how well the rules give what really was announced, and what would come nearer?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from model.evidence.announced import NOTHING_ML_PER_SHARE, Held, YearHeld
from model.evidence.offer import LEAST_GAIN_ML_PER_SHARE, Offer
from model.plan.plan import Plan
from model.say.numbers import count, ml, ml_per_share, number, plain

HINDSIGHT: Final = (
    "The inflow that assessments count on is taken from the whole record, and the rules are "
    "today's in every year: a replay knows more than those who announced did, and rules, licences "
    "and use may have been others then."
)


def held_in_words(held: Held) -> str:
    """Return how far the replay is from what was announced.

    Examples
    --------
    >>> from model.evidence.announced import YearHeld
    >>> years = (YearHeld("2001-02", 0.5, 0.6),)
    >>> held_in_words(Held(years, 0.1, 0.1, 0, 0, 0, "1986-07", 15, False)).split(",")[0]
    'Compared with what was announced in 1 year (2001-02)'
    """
    years, bias = held.years, held.bias_ml_per_share
    side = "too much" if bias > 0.0 else "too little"
    words = (
        f"Compared with what was announced in {count(len(years), 'year')} ({_span(years)}), the "
        f"rules as stated here, replayed {_begun(held)}, were "
        f"{ml_per_share(held.mean_error_ml_per_share)} off on average ({number(abs(bias), 2)} "
        f"{side} overall)"
    )
    if held.none_announced:
        words += (
            f", and found {held.none_found} of the {count(held.none_announced, 'year')} with "
            "nothing"
        )
    if held.none_false:
        words += (
            f"; in {count(held.none_false, 'year')} they gave nothing where water was announced"
        )
    return f"{words}. This error comes on top of every figure here."


def none_in_words(held: Held) -> str:
    """Return the years with nothing: found, missed, and given by the replay alone."""
    none = {year.water_year for year in held.years if _nothing(year.announced_ml_per_share)}
    none_replayed = {year.water_year for year in held.years if _nothing(year.replayed_ml_per_share)}
    if not none | none_replayed:
        return "Water was announced in every one of these years, and the replay gave some in each."
    parts = (
        ("Nothing was announced, and the replay gave nothing", none & none_replayed),
        ("Nothing was announced, but the replay gave water", none - none_replayed),
        ("Water was announced, but the replay gave nothing", none_replayed - none),
    )
    return " ".join(f"{said}: {_named(water_years)}." for said, water_years in parts)


def beyond_the_rules(plan: Plan, held: Held) -> str:
    """Return in which years more was announced than the rules ever may; empty where in none."""
    accounts = plan.valley.accounts
    caps = (accounts.allocation_cap_ml_per_share, accounts.account_limit_ml_per_share)
    cap = next((limit for limit in caps if limit is not None), None)
    if cap is None:
        return ""
    beyond = [y.water_year for y in held.years if y.announced_ml_per_share > cap]
    if not beyond:
        return ""
    return (
        f"More was announced than these rules may announce in a year ({ml_per_share(cap)}): "
        f"{_named(beyond)}. Figures in percent must be divided by 100; or the rules were others."
    )


def offer_in_words(offer: Offer) -> str:
    """Return what is offered, or that nothing is.

    Examples
    --------
    >>> offer_in_words(Offer({}, 0.10, 0.10, 0.10, tried=61)).split(" of river loss")[0]
    'None of 60 other settings'
    """
    if not offer.worth_offering:
        return (
            f"None of {offer.tried - 1} other settings of river loss, inflow counted on and "
            "others' keeping did clearly better on years that they were not chosen on "
            f"({plain(LEAST_GAIN_ML_PER_SHARE)} ML a share or more): the plan's own are kept."
        )
    said = "; ".join(f"{key} = {_shown(value)}" for key, value in offer.changes.items())
    return f"Offered, not made: {said}. {gain_in_words(offer)}"


def gain_in_words(offer: Offer) -> str:
    """Return how much nearer the offered settings come."""
    unseen, stated = (
        number(error, 3)
        for error in (offer.error_unseen_ml_per_share, offer.error_stated_ml_per_share)
    )
    return (
        f"On years that they were not chosen on, such settings were {unseen} ML a share off, the "
        f"plan's own {stated}."
    )


def _nothing(amount_ml_per_share: float) -> bool:
    return amount_ml_per_share < NOTHING_ML_PER_SHARE


def _named(water_years: Iterable[str]) -> str:
    return ", ".join(sorted(water_years)) or "in no year"


def _span(years: Sequence[YearHeld]) -> str:
    first, last = years[0].water_year, years[-1].water_year
    return first if first == last else f"{first} to {last}"


def _begun(held: Held) -> str:
    """Return from where the replay was run."""
    if held.state_known:
        return f"from a known state on 1 July {held.replayed_from[:4]}"
    return f"after {count(held.run_in_years, 'year')} of running in from where the plan opens"


def _shown(value: object) -> str:
    """Return a value as a plan has it; a list by its sum over the year."""
    if isinstance(value, tuple):
        return f"{ml(sum(value))} a year"
    return "left out" if value is None else str(value)
