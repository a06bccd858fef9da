"""How is a comparison of strategies told to a person, in a few lines of text?"""

from __future__ import annotations

from model.decide.amounts import Amount
from model.decide.compare import Comparison, SeasonOutcome, StrategyOutcome
from model.say.bank import area_set_in_words, bills_past_limit_in_words, of_payments
from model.say.cautions import what_varies
from model.say.measures import EVENTS, MEASURES, Measure
from model.say.method import drying_in_words, method_in_words, ranges_in_words
from model.say.numbers import chance, count, money
from model.say.outlook import REACHED, nothing_in_a_row
from model.say.price import price_lines
from model.say.steps import steps_lines
from model.sequences.drying import drying_of
from model.water_year import month_name

TOLD = ("no_planting", "ran_short", "payment_missed", "cover_below_1", "past_overdraft_limit")
"""The chances that are told of the whole run."""

FORMULAS = ("cover", "interest_cover")
"""The measures whose formulas stand below."""

WORST_TENTH = "average of the worst 10 in 100"


def comparison_in_words(found: Comparison) -> str:
    """Return a comparison as text for a terminal."""
    valley = found.setting.valley
    drier = drying_in_words(drying_of(valley.record, valley.plan.sequences))
    lines = [
        f"{valley.plan.title}: {found.setting.farm.name}",
        f"{count(found.count, 'sequence')} from {month_name(valley.calendar.opening_month)}, "
        f"{count(valley.calendar.seasons, 'season')}, the same for every strategy: "
        f"{method_in_words(valley.method.settings())}{f', {drier}' if drier else ''}.",
        "",
    ]
    for outcome in found.outcomes:
        lines += [*_strategy_lines(outcome), ""]
    lines += [
        *(
            f"{nothing_in_a_row(seasons)}: {chance(estimate)}"
            for seasons, estimate in enumerate(found.nothing_running[1:], start=2)
        ),
        *(f"{MEASURES[name].title}: {MEASURES[name].formula}." for name in FORMULAS),
        *price_lines(found.setting.prices_met()),
        what_varies(found.setting.farm),
        ranges_in_words(found.record_error),
    ]
    return "\n".join(lines)


def _strategy_lines(outcome: StrategyOutcome) -> list[str]:
    """Arrange one strategy: its seasons, its end, what may go wrong, what it survives."""
    standing = outcome.whole_run["standing_aud"]
    return [
        outcome.strategy.name,
        *(f"  {season.water_year}: {_season_in_words(season)}" for season in outcome.seasons),
        f"  At the end, {MEASURES['standing_aud'].title[0].lower()}"
        f"{MEASURES['standing_aud'].title[1:]}: {money(standing.mean.value)} on average, "
        f"{money(standing.worst_tenth.value)} as {WORST_TENTH}",
        *(
            f"  {_event_title(name, outcome)}, some time in the run: "
            f"{chance(outcome.chances[name])}"
            for name in TOLD
        ),
        f"  {bills_past_limit_in_words(outcome)}",
        *(f"  {said}" for said in area_set_in_words(outcome)),
        f"  Seasons in a row without allocation that it survives from today: {survived(outcome)}",
        *(f"  {said}" for said in _steps_lines(outcome)),
    ]


def _steps_lines(outcome: StrategyOutcome) -> list[str]:
    """Return what drought steps brought; nothing where a strategy has none."""
    found = outcome.drought_steps()
    years = tuple(season.water_year for season in outcome.seasons)
    return [] if found is None else steps_lines(found, years)


def _event_title(name: str, outcome: StrategyOutcome) -> str:
    """Return what may go wrong; with a payment missed, of how many."""
    title = EVENTS[name].title
    return f"{title} ({of_payments(outcome.payments_due)})" if name == "payment_missed" else title


def _season_in_words(season: SeasonOutcome) -> str:
    """Return one season of one strategy."""
    amounts = season.amounts
    parts = [
        f"{MEASURES[name].title.lower()} {_reached(MEASURES[name], amounts[name])}"
        for name in ("area_planted_ha", "margin_aud")
    ]
    per_ml, per_ha = amounts["margin_aud_per_ml"], amounts["margin_aud_per_ha"]
    if per_ml is not None and per_ha is not None:
        parts.append(
            f"on average {MEASURES['margin_aud_per_ml'].said(per_ml.mean.value)} used and "
            f"{MEASURES['margin_aud_per_ha'].said(per_ha.mean.value)} planted"
        )
    by_crop = [
        f"{crop.crop}, {crop.layout} {MEASURES['margin_aud_per_ml'].said(amount.mean.value)}"
        for crop in season.crops
        if (amount := crop.amounts["margin_aud_per_ml"]) is not None
    ]
    if len(by_crop) > 1:
        parts.append(f"of that, where harvested: {', '.join(by_crop)}")
    if (spent := amounts.get("district_aud_per_ml")) is not None:
        title = MEASURES["district_aud_per_ml"].title.lower()
        parts.append(f"{title} {MEASURES['district_aud_per_ml'].said(spent.mean.value)}")
    return "; ".join(parts)


def _reached(measure: Measure, amount: Amount | None) -> str:
    """Return what is reached 90, 50 and 10 times in 100."""
    if amount is None:
        return "(before today)"
    values = [measure.said(amount.spread.reached_in(years).value) for years in REACHED]
    return f"{' / '.join(values)} (90, 50, 10 times in 100)"


def survived(outcome: StrategyOutcome) -> str:
    """Return how many seasons in a row without allocation are survived, in a few letters."""
    more = " or more" if outcome.dry_seasons_survived == outcome.dry_seasons_tried else ""
    return f"{outcome.dry_seasons_survived}{more}"


def survives_in_words(outcome: StrategyOutcome) -> str:
    """Return how many seasons in a row of no allocation the farm survives."""
    if outcome.dry_seasons_survived == 0:
        return (
            "From today a single season of no allocation is enough for a payment to be missed or "
            "the overdraft to pass its limit."
        )
    one = outcome.dry_seasons_survived == 1
    more = " or more" if outcome.dry_seasons_survived == outcome.dry_seasons_tried else ""
    seasons = "1 season" if one else f"{outcome.dry_seasons_survived} seasons in a row"
    return (
        f"From today the farm gets through {seasons}{more} of no allocation: to the end of "
        f"{'it' if one else 'them'} no payment is missed and the overdraft stays within its "
        "limit. Only those seasons are counted here; a stress case counts the whole run, with "
        "what follows them."
    )
