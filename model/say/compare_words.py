"""How is a comparison said to a person, in a few lines of text?"""

from __future__ import annotations

from typing import Final

from model.decide.amounts import Amount
from model.decide.compare import Comparison, StrategyOutcome
from model.decide.output import WATER_ONLY
from model.farm import finance
from model.outlook.chances import Estimate, in_ten
from model.say.bank_words import of_payments, past_limit_in_words
from model.say.price_words import price_lines
from model.sequences.drying import drying_in_words
from model.sequences.words import method_in_words
from model.water_year import month_name

CHANCE_WORDS: Final = {
    "no_planting": "nothing planted",
    "ran_short": "crop cut back or short of water",
    "payment_missed": "a loan payment missed",
    "cover_below_1": "debt-service cover below 1.0",
    "past_overdraft_limit": "overdraft past its limit",
}


COVER_FORMULAS: Final = {
    "Debt-service cover": finance.DEBT_SERVICE_COVER,
    "Interest cover": finance.INTEREST_COVER,
}


def comparison_in_words(found: Comparison) -> str:
    """Write a comparison as text for a terminal."""
    valley = found.setting.valley
    drier = drying_in_words(valley.record, valley.plan.sequences)
    lines = [
        f"{valley.plan.title}: {found.setting.farm.name}",
        f"{found.count:,} sequences from {month_name(valley.calendar.opening_month)}, "
        f"{valley.calendar.seasons} seasons, the same for every strategy: "
        f"{method_in_words(valley.method.settings())}{f', {drier}' if drier else ''}.",
        "",
    ]
    for outcome in found.outcomes:
        lines += [*_strategy_lines(outcome), ""]
    lines += [
        *(
            f"Nothing announced {number} seasons running: {_said(estimate)}"
            for number, estimate in enumerate(found.nothing_running[1:], start=2)
        ),
        *(f"{name}: {formula}." for name, formula in COVER_FORMULAS.items()),
        *price_lines(found.setting.prices_met()),
        WATER_ONLY,
        "Ranges are 95 %, from resampling the record's years in blocks "
        f"({found.record_error.resamples} times).",
    ]
    return "\n".join(lines)


def _strategy_lines(outcome: StrategyOutcome) -> list[str]:
    """Say one strategy."""
    lines = [outcome.strategy.name]
    for season in outcome.seasons:
        planted, margin = season.amounts["area_planted_ha"], season.amounts["margin_aud"]
        per_ml, per_ha = (
            season.amounts["margin_aud_per_ml"],
            season.amounts["margin_aud_per_ha"],
        )
        parts = [f"  {season.water_year}: planted {_spread(planted, 'ha')}"]
        parts.append(f"margin {_spread(margin, 'AUD')}")
        if per_ml is not None and per_ha is not None:
            parts.append(
                f"{per_ml.mean.value:,.0f} AUD per ML and {per_ha.mean.value:,.0f} per ha planted"
            )
        lines.append("; ".join(parts))
    standing = outcome.whole_run["standing_aud"]
    lines.append(
        f"  at the end, cash less arrears with water, land ready and crop unpaid: "
        f"{standing.mean.value:,.0f} AUD on average, {standing.worst_tenth.value:,.0f} in the "
        "worst tenth"
    )
    lines += [
        f"  {words}, some time in the run: {_said(outcome.chances[name])}"
        for name, words in chance_words(outcome).items()
    ]
    lines.append(f"  {past_limit_in_words(outcome)}")
    lines.append(
        f"  seasons running with no allocation it survives from today: "
        f"{outcome.dry_seasons_survived}"
        + (" or more" if outcome.dry_seasons_survived == outcome.dry_seasons_tried else "")
    )
    return lines


def chance_words(outcome: StrategyOutcome) -> dict[str, str]:
    """Return what may go wrong, in words, with the payments that one of them is about."""
    missed = CHANCE_WORDS["payment_missed"]
    due = of_payments(outcome.payments_due)
    return {**CHANCE_WORDS, "payment_missed": f"{missed} ({due})"}


def _spread(amount: Amount | None, unit: str) -> str:
    """Say what is reached in 9, 5 and 1 years of 10."""
    if amount is None:
        return "(before today)"
    values = [amount.spread.quantiles[frac].value for frac in (0.1, 0.5, 0.9)]
    return f"{values[0]:,.0f} / {values[1]:,.0f} / {values[2]:,.0f} {unit} (9, 5, 1 years of 10)"


def _said(estimate: Estimate) -> str:
    """Say a chance with its range."""
    low, high = estimate.headline
    return f"{in_ten(estimate.value)} ({estimate.value:.1%}; {low:.1%} to {high:.1%})"
