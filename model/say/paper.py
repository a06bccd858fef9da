"""What stands on the first page of a paper for a lender, which decides alone?"""

from __future__ import annotations

from model.decide.compare import StrategyOutcome
from model.decide.findings import Findings
from model.outlook.chances import Spread
from model.outlook.outlook import SeasonOutlook
from model.say.bank import bills_past_limit_in_words, of_payments
from model.say.comparison import survives_in_words
from model.say.credit import request_in_words
from model.say.evidence import headline_of, no_better_in_words
from model.say.farm import past_limit_in_words, planted_in_words
from model.say.in_ground import in_ground_in_words
from model.say.lender import cover_in_short
from model.say.numbers import capital, chance, ha, ml, money, number, own_water, times_in_100
from model.say.season_question import NO_TRIGGER, trigger_in_words
from model.water_year import month_name

UNTRIED = "These odds have not been held against the past for this paper"


def decision_headline(found: Findings) -> str:
    """Return the finding of the first page: what is planted, and whether debts are served."""
    missed = found.outcome.chances["payment_missed"]
    due = found.outcome.payments_due
    planted = planted_in_words(found.outcome)
    if due == 0:
        past = past_limit_in_words(found.outcome, found.limit_aud)
        return f"{planted}; {past}"
    often = times_in_100(missed.value, missed.draws)
    return f"{planted}; of {due} loan payments one or more is missed {often}"


def decided_in_words(found: Findings) -> list[tuple[str, str]]:
    """Return what decides, each with its lead: water, land, bank, debt, what would change it."""
    outcome = found.outcome
    said = [
        ("The request.", request_in_words(found.credit.credit, found.setting.farm.name)),
        ("Water that grows a crop.", water_in_words(found)),
        ("We would plant.", land_in_words(outcome)),
        *(("In the ground.", in_ground_in_words(one)) for one in found.ground),
        ("Payments.", payments_in_words(outcome)),
        ("Overdraft.", overdraft_in_words(found)),
        ("Debt.", cover_in_short(outcome)),
        ("No allocation.", survives_in_words(outcome)),
        ("Tried.", trust_in_short(found)),
        ("What would change it.", change_in_words(found)),
    ]
    return [(lead, words) for lead, words in said if words]


def water_in_words(found: Findings) -> str:
    """Return the usable water at planting and at the finish of the first season that has them."""
    shares_ml = found.setting.farm.licence.general_security_shares_ml
    return " ".join(
        f"{capital(said)}."
        for season in found.odds.seasons[:2]
        for said in _season_water(season, shares_ml)
    )


def _season_water(season: SeasonOutlook, shares_ml: float) -> list[str]:
    """Return a season's water at planting and at the finish."""
    found = []
    for point, when in ((season.planting, "at planting"), (season.finish, "to finish with")):
        if point is not None:
            usable = point.amounts["usable_ml_per_share"]
            found.append(f"usable {when}, {month_name(point.month)}: {_reached(usable, shares_ml)}")
    return found


def _reached(spread: Spread, shares_ml: float) -> str:
    low, middle = (spread.reached_in(years).value for years in (9, 5))
    return f"{own_water(low, shares_ml)} or more 90 times in 100, {ml(middle * shares_ml)} 50 times"


def land_in_words(outcome: StrategyOutcome) -> str:
    """Return hectares planted and finished, water used and held, by season: the middle."""
    parts = []
    for season in outcome.seasons:
        names = ("area_planted_ha", "area_finished_ha", "water_used_ml", "water_carried_ml")
        amounts = [season.amounts[name] for name in names]
        planted, finished, used, held = (
            None if each is None else each.spread.reached_in(5).value for each in amounts
        )
        if planted is None or used is None or held is None:
            continue
        all_of_it = "" if finished is None else f", {number(finished)} finished"
        parts.append(
            f"{season.water_year} {ha(planted)}{all_of_it}, {ml(used)} used, {ml(held)} held over"
        )
    return f"50 times in 100 so much or more: {'; '.join(parts)}." if parts else ""


def payments_in_words(outcome: StrategyOutcome) -> str:
    """Return the chance of a missed payment, of how many."""
    due = of_payments(outcome.payments_due)
    if outcome.payments_due == 0:
        return f"{capital(due)}."
    return f"One or more missed, {due}: {chance(outcome.chances['payment_missed'])}."


def overdraft_in_words(found: Findings) -> str:
    """Return the limit, how often it is passed, the worst month, and the limit that would hold."""
    outcome = found.outcome
    past = capital(past_limit_in_words(outcome, found.limit_aud))
    at, worst_aud = worst_month(found)
    return (
        f"{past}. It is deepest in {month_name(at)}: the bank is then above {money(worst_aud)} 90 "
        f"times in 100. A limit of {money(found.limit_needed_aud)} holds all run 90 times in 100. "
        f"{bills_past_limit_in_words(outcome)}"
    )


def worst_month(found: Findings) -> tuple[int, float]:
    """Return the month in which the balance reached 90 times in 100 is lowest, and that balance."""
    reached_aud = found.cash.reached_aud(0.1)
    at = int(reached_aud.argmin())
    return found.cash.first_month + at, float(reached_aud[at])


def trust_in_short(found: Findings) -> str:
    """Return how far to trust it, and what is no better than the long-run record."""
    if found.verdict is None:
        return f"{UNTRIED}."
    return f"{headline_of(found.verdict)}. {no_better_in_words(found.verdict)}"


def change_in_words(found: Findings) -> str:
    """Return what would change the plan by the next decision: the surest of what was found."""
    surest = max(found.triggers, key=lambda each: each.gain / each.gain_error, default=None)
    if surest is None:
        return f"{capital(NO_TRIGGER)}."
    said = trigger_in_words(surest, found.setting.farm.objective, found.setting)
    return f"{capital(said)}."
