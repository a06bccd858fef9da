"""What does a strategy do, what is planted under it, and how does the bank stand?"""

from __future__ import annotations

from typing import Final

from model.decide.compare import StrategyOutcome
from model.decide.findings import Findings
from model.plan.strategy import Strategy
from model.say.cautions import invented_in_words
from model.say.numbers import (
    count,
    ha,
    ml,
    ml_per_share,
    money,
    money_for_each,
    number,
    plain,
    rate,
    times_in_100,
)
from model.water_year import month_name

NO_PLANTING: Final = "No season of the run is planted"


def planted_in_words(outcome: StrategyOutcome) -> str:
    """Return what is planted, in the first season that is planted in the run."""
    for season in outcome.seasons:
        planted = season.amounts["area_planted_ha"]
        if planted is None:
            continue
        low, middle, high = (planted.spread.reached_in(years).value for years in (9, 5, 1))
        if planted.mean.value == 0.0:
            return f"No cotton is planted in {season.water_year}, whatever comes"
        if high == 0.0:
            return f"No cotton is planted in {season.water_year} 90 times in 100"
        said = f"{season.water_year}: {ha(low)} of cotton or more 90 times in 100"
        return said if ha(low) == ha(middle) else f"{said}, {number(middle)} 50 times"
    return NO_PLANTING


def past_limit_in_words(outcome: StrategyOutcome, limit_aud: float) -> str:
    """Return how often the overdraft passes its limit, inside a sentence."""
    past = outcome.chances["past_overdraft_limit"]
    often = times_in_100(past.value, past.draws)
    if limit_aud == 0.0:
        return f"the bank falls below zero {often}"
    return f"the overdraft passes its limit of {money(limit_aud)} {often}"


def bank_in_words(outcome: StrategyOutcome, limit_aud: float) -> str:
    """Return how deep the overdraft is in the middle, and how often it passes its limit."""
    deepest = [
        (season.amounts["peak_overdraft_aud"], season.water_year) for season in outcome.seasons
    ]
    overdrafts = [
        (amount.spread.reached_in(5).value, year) for amount, year in deepest if amount is not None
    ]
    most_aud, year = max(overdrafts, default=(0.0, ""))
    past = past_limit_in_words(outcome, limit_aud)
    if number(most_aud / 1e3) == number(0.0):
        return f"50 times in 100 the bank is never overdrawn; {past}."
    return f"The overdraft reaches {money(most_aud)} or more in {year} 50 times in 100; {past}."


def strategy_in_words(strategy: Strategy, planned_ml_per_ha: float) -> str:
    """Return what a strategy does.

    Parameters
    ----------
    strategy
        The strategy.
    planned_ml_per_ha
        The water that it plans for a hectare of the main crop.
    """
    sells = (
        f"sells what is left above {money_for_each(strategy.sell_above_aud_per_ml, 'ML')}"
        if strategy.sell_above_aud_per_ml is not None
        else "sells no water"
    )
    buys = (
        f"buys up to {ml(strategy.buy_up_to_ml)} at planting"
        if strategy.buy_up_to_ml
        else "buys none"
    )
    return (
        f"it plans {plain(planned_ml_per_ha)} ML a hectare, counts on "
        f"{rate(strategy.count_on_frac)} of the further water that is reached "
        f"{plain(round(100 * strategy.expected_chance_frac, 6))} times in 100, holds "
        f"{held_in_words(strategy)} at planting, {sells} and {buys}"
    )


def held_in_words(strategy: Strategy) -> str:
    """Return what a strategy holds back, and from how much on."""
    if strategy.hold_back_ml_per_share == 0.0:
        return "nothing back"
    back = f"{ml_per_share(strategy.hold_back_ml_per_share)} back"
    above = strategy.hold_above_ml_per_share
    return f"{back} where more than {number(above, 2)} is in sight" if above else back


def plan_in_words(found: Findings) -> str:
    """Return where valley and farm stand and which strategy is followed, in a paragraph."""
    plan, farm, cash = found.odds.plan, found.setting.farm, found.setting.farm.money
    opening, strategy = plan.opening, found.setting.strategies[found.at]
    invented = f"{words} " if (words := invented_in_words(plan)) else ""
    loans = money(sum(loan.balance_aud for loan in cash.loans))
    return (
        f"{invented}{farm.name} holds {number(farm.licence.general_security_shares_ml)} "
        f"general-security shares in {plan.valley.name} and has {ha(farm.developed_ha)} laid "
        f"out for irrigation. In {month_name(found.odds.seasons[0].first_month)} the dam holds "
        f"{ml(opening.storage_ml)} of {number(plan.valley.capacity_ml)}, the account "
        f"{ml_per_share(opening.account_ml_per_share)} and the bank {money(cash.bank_aud)}; loans "
        f"stand at {loans}, and the overdraft limit is {money(cash.overdraft_limit_aud)}. This "
        f"brief follows the strategy “{strategy.name}”: "
        f"{strategy_in_words(strategy, found.planned_ml_per_ha)}."
    )


def more_strategies_in_words(left_out: int) -> str:
    """Return how many strategies a page has no room for; empty where it holds all."""
    return (
        f" (another {count(left_out, 'strategy', 'strategies')} in the workbook)"
        if (left_out > 0)
        else ""
    )
