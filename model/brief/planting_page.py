"""What is planted and held by the water there is, and what does the bank do, month by month?"""

from __future__ import annotations

import math
from typing import Any, Final

from model.brief.charts import cash_chart
from model.brief.findings import Findings
from model.brief.layout import (
    Block,
    about,
    chart,
    money,
    of_runs,
    page,
    said,
    said_briefly,
    table,
    text,
    thousand,
    three,
    whole,
)
from model.say.bank import of_payments, past_limit_in_words
from model.water_year import month_name

MOST_STRATEGIES: Final = 6
"""A page holds no more beside all else; the workbook has all."""


def planting_page(found: Findings) -> dict[str, Any]:
    """Write what is planted and held, and the bank by month."""
    outcome = found.compared.outcomes[found.at]
    past = outcome.chances["past_overdraft_limit"]
    limit_aud = found.setting.rules.cash.overdraft_limit_aud
    missed = outcome.chances["payment_missed"]
    headline = f"{planted_words(found)}; {past_words(found)}"
    blocks = [
        outcomes_table(found)
        if found.outcomes
        else text(
            "No season is planted in this run: what stands in the ground was planted before."
        ),
        chart(
            cash_chart(found.cash, limit_aud),
            "Bank balance at each month's end, thousand AUD. Pale: 8 in 10 of "
            f"{found.cash.sequences:,} sequences. Darker: 5 in 10. Line: the middle.",
        ),
        cash_table(found),
        text(
            f"Overdraft past its limit some time in the run: {said(past)}. "
            f"A loan payment missed ({of_payments(outcome.payments_due)}): {said(missed)}. "
            f"Nothing planted in some season: {said(outcome.chances['no_planting'])}. "
            f"{past_limit_in_words(outcome)}"
        ),
    ]
    if len(found.compared.outcomes) > 1:
        blocks.append(strategies_table(found))
    return page("2  Planting, holding and the bank", headline, blocks)


def planted_words(found: Findings) -> str:
    """Say what is planted, in the first season that is planted in the run."""
    for season in found.compared.outcomes[found.at].seasons:
        planted = season.amounts["area_planted_ha"]
        if planted is not None:
            low, middle, _ = three(planted)
            if planted.mean.value == 0.0:
                return f"No cotton is planted in {season.water_year} in any run"
            if float(planted.spread.reached_in(1).value) == 0.0:
                return f"No cotton is planted in {season.water_year} in 9 years of 10"
            if low == middle:
                return f"{season.water_year}: {low} ha of cotton or more in 9 years of 10"
            return (
                f"{season.water_year}: {low} ha of cotton or more in 9 years of 10, "
                f"{middle} in 5 of 10"
            )
    return "No season of the run is planted"


def past_words(found: Findings) -> str:
    """Say how often the overdraft passes its limit, inside a sentence."""
    past = found.compared.outcomes[found.at].chances["past_overdraft_limit"]
    limit_aud = found.setting.rules.cash.overdraft_limit_aud
    if limit_aud == 0.0:
        return f"the bank falls below zero in {of_runs(past.value)}"
    if past.value == 0.0:
        return f"the overdraft stays within its limit of {money(limit_aud)} in every run"
    return f"the overdraft passes its limit of {money(limit_aud)} in {of_runs(past.value)}"


def bank_words(found: Findings) -> str:
    """Say how deep the overdraft is in the middle, and how often it passes its limit."""
    deepest = [
        (season.amounts["peak_overdraft_aud"], season.water_year)
        for season in found.compared.outcomes[found.at].seasons
    ]
    overdrafts = [
        (amount.spread.reached_in(5).value, year) for amount, year in deepest if amount is not None
    ]
    most_aud, year = max(overdrafts, default=(0.0, ""))
    if thousand(most_aud) == thousand(0.0):
        return f"Half of the runs are never overdrawn; {past_words(found)}."
    return (
        f"In half of the runs the overdraft reaches {money(most_aud)} or more in {year}; "
        f"{past_words(found)}."
    )


def outcomes_table(found: Findings) -> Block:
    """Lay out what is planted and held by the water there is at planting."""
    rows = [
        [
            outcome.water_year,
            f"{outcome.from_ml_per_share:.2f} to {outcome.below_ml_per_share:.2f}"
            if math.isfinite(outcome.below_ml_per_share)
            else f"{outcome.from_ml_per_share:.2f} or more",
            said_briefly(outcome.chance),
            *(
                _range(values, form)
                for values, form in (
                    (outcome.planted_ha, whole),
                    (outcome.carried_ml, about),
                    (outcome.closing_cash_aud, thousand),
                )
            ),
        ]
        for outcome in found.outcomes
    ]
    return table(
        "What we would plant and hold, by usable water at planting: the chance of it, with the "
        "range of the record; of the rest the middle, and in brackets 8 in 10 of such seasons.",
        [
            "Season",
            "Own water at planting, ML per share",
            "Chance",
            "Planted, ha",
            "Held at the end of June, ML",
            "Bank at the end of June, thousand AUD",
        ],
        rows,
        widths=[0.8, 1.3, 2.5, 1.4, 1.7, 1.7],
        text_columns=(0, 1),
    )


def _range(values: tuple[float, float, float], form: Any) -> str:
    low, middle, high = values
    return f"{form(middle)} ({form(low)} to {form(high)})"


def cash_table(found: Findings) -> Block:
    """Lay out bank and overdraft by season."""
    rows = []
    seasons = found.compared.outcomes[found.at].seasons
    for season, (usual, how_often) in zip(seasons, found.lowest_months, strict=True):
        overdraft = season.amounts["peak_overdraft_aud"]
        deepest = (
            ["–"] * 2
            if overdraft is None
            else [thousand(overdraft.spread.quantiles[frac].value) for frac in (0.5, 0.9)]
        )
        rows.append(
            [
                season.water_year,
                *three(season.amounts["closing_cash_aud"], thousand),
                *deepest,
                f"{month_name(usual)}, {said_briefly(how_often)}",
            ]
        )
    return table(
        "Bank at the end of June, reached in 9, 5 and 1 years of 10; the overdraft at its deepest, "
        "in the middle and passed in 1 year of 10. Thousand AUD.",
        [
            "Season",
            "Bank, 9 of 10",
            "5 of 10",
            "1 of 10",
            "Overdraft, middle",
            "1 year in 10",
            "Lowest most often in",
        ],
        rows,
        widths=[0.8, 1, 0.7, 0.7, 1, 0.8, 3.6],
    )


def _left_out(others: int) -> str:
    """Say how many strategies a page has no room for."""
    left = others + 1 - MOST_STRATEGIES
    return f" (another {left} in the workbook)" if left > 0 else ""


def strategies_table(found: Findings) -> Block:
    """Set the strategies side by side."""
    rows = []
    ours = found.compared.outcomes[found.at]
    others = [outcome for outcome in found.compared.outcomes if outcome is not ours]
    for outcome in (ours, *others[: MOST_STRATEGIES - 1]):
        standing = outcome.whole_run["standing_aud"]
        rows.append(
            [
                outcome.strategy.name,
                thousand(standing.mean.value),
                thousand(standing.worst_tenth.value),
                said_briefly(outcome.chances["payment_missed"]),
                said_briefly(outcome.chances["past_overdraft_limit"]),
                f"{outcome.dry_seasons_survived}"
                + (" or more" if outcome.dry_seasons_survived == outcome.dry_seasons_tried else ""),
            ]
        )
    return table(
        f"The strategies on the same sequences{_left_out(len(others))}, ours first. Standing at "
        "the end: bank less arrears, with water, land ready and crop unpaid, thousand AUD.",
        [
            "Strategy",
            "Mean",
            "Worst tenth",
            "Payment missed",
            "Past the limit",
            "Zero seasons survived",
        ],
        rows,
        widths=[2, 0.7, 0.7, 2.5, 2.5, 0.9],
    )
