"""What stands on each page of a brief?

Water; what is planted and held, and the bank; what a lender asks; how far to trust it. Each page
opens with its finding. Plain words come first, method last.
"""

from __future__ import annotations

import math
from typing import Any, Final

from model.brief.charts import cash_chart, water_chart
from model.brief.findings import Findings
from model.brief.layout import (
    Block,
    chart,
    note,
    page,
    percent,
    said,
    table,
    text,
    thousand,
    three,
    two,
    whole,
)
from model.brief.lender_page import lender_page
from model.brief.trust_page import trust_page
from model.chances import in_ten
from model.water_year import is_july, month_name

MOST_STRATEGIES: Final = 6
"""A page holds no more beside all else; the workbook has all."""


def pages_of(findings: Findings) -> list[dict[str, Any]]:
    """Write all pages."""
    return [
        water_page(findings),
        planting_page(findings),
        lender_page(findings),
        trust_page(findings),
    ]


def water_page(found: Findings) -> dict[str, Any]:
    """Write the plan in a paragraph, and the odds of water."""
    seasons = found.odds.seasons
    announced = seasons[0].amounts["announced_to_date_ml_per_share"]
    sure, middle = announced.reached_in(9).value, announced.reached_in(5).value
    headline = f"By June {month_name(seasons[0].last_month).split()[-1]}, "
    if two(sure) == two(0.0):
        headline += f"{two(middle)} ML per share or more is announced in 5 years of 10; no "
        headline += f"further water at all: {in_ten(seasons[0].chance_none.value)}"
    else:
        headline += f"{two(sure)} ML per share or more is announced in 9 years of 10, "
        headline += f"{two(middle)} in 5 of 10"
    blocks = [
        text(plan_in_words(found)),
        chart(
            water_chart(seasons),
            "General-security water, ML per share. Pale: 8 years in 10. Darker: 5 in 10. "
            "Line and number: as likely more as less.",
        ),
        water_table(found),
        nothing_table(found),
        note(
            "Ranges in brackets are 95 % and come from the record: its years were resampled in "
            f"blocks {found.odds.record_error.resamples} times and everything was run again."
        ),
    ]
    return page("1  Water", headline, blocks)


def plan_in_words(found: Findings) -> str:
    """Say the plan in a paragraph."""
    plan, farm = found.odds.plan, found.setting.farm
    opening, strategy = plan.opening, found.setting.strategies[found.at]
    invented = "This valley and its record are INVENTED. " if plan.invented else ""
    sells = (
        f"sells what is left above {whole(strategy.sell_above_aud_per_ml)} AUD per ML"
        if strategy.sell_above_aud_per_ml is not None
        else "sells no water"
    )
    buys = (
        f"buys up to {whole(strategy.buy_up_to_ml)} ML at planting"
        if strategy.buy_up_to_ml
        else "buys none"
    )
    return (
        f"{invented}{farm.name} holds {whole(farm.licence.general_security_shares_ml)} "
        f"general-security shares in {plan.valley.name} and has {whole(farm.developed_ha)} ha laid "
        f"out for irrigation. In {month_name(seasons_first(found))} the dam holds "
        f"{whole(opening.storage_ml)} ML of {whole(plan.valley.capacity_ml)} and the account "
        f"{two(opening.account_ml_per_share)} ML per share. This brief follows the strategy "
        f"“{strategy.name}”: it plans {strategy.planned_water_ml_per_ha:g} ML a hectare, counts on "
        f"{100 * strategy.count_on_frac:.0f} % of the further water that is reached in "
        f"{10 * strategy.expected_chance_frac:g} years of 10, holds "
        f"{two(strategy.hold_back_ml_per_share)} ML per share back at planting, {sells} and {buys}."
    )


def seasons_first(found: Findings) -> int:
    """Give the run's first month."""
    return found.odds.seasons[0].first_month


def water_table(found: Findings) -> Block:
    """Lay the odds of water out."""
    rows = []
    for season in found.odds.seasons:
        amounts = [("announced by June", season.amounts["announced_to_date_ml_per_share"], two)]
        if season.planting is not None:
            usable = season.planting.amounts["usable_ml_per_share"]
            amounts.insert(
                0, (f"usable at planting, {month_name(season.planting.month)}", usable, two)
            )
        amounts.append(("dam at the end of June, ML", season.amounts["storage_end_ml"], whole))
        rows += [
            [season.water_year, what, *(form(amount.reached_in(n).value) for n in (9, 5, 1))]
            for what, amount, form in amounts
        ]
    return table(
        "What is reached in so many years of 10; water in ML per share.",
        ["Season", "Water", "9 of 10", "5 of 10", "1 of 10"],
        rows,
        widths=[1, 3, 1, 1, 1],
        text_columns=(0, 1),
    )


def nothing_table(found: Findings) -> Block:
    """Lay the chances of nothing out."""
    rows = []
    for season in found.odds.seasons:
        more = "" if is_july(season.first_month) else "more "
        rows.append([f"Nothing {more}announced in {season.water_year}", said(season.chance_none)])
    rows += [
        [f"Nothing in {number} seasons running, from now", said(season.chance_none_so_far)]
        for number, season in enumerate(found.odds.seasons[1:], start=2)
    ]
    return table(
        "The chance of nothing.",
        ["What", "Chance"],
        rows,
        widths=[1.2, 2],
        text_columns=(0, 1),
    )


def planting_page(found: Findings) -> dict[str, Any]:
    """Write what is planted and held, and the bank by month."""
    outcome = found.compared.outcomes[found.at]
    past = outcome.chances["past_overdraft_limit"]
    limit_aud = found.setting.rules.cash.overdraft_limit_aud
    missed = outcome.chances["payment_missed"]
    headline = (
        f"{planted_words(found)}; the overdraft passes its limit of {thousand(limit_aud)} thousand "
        f"AUD {_how_often(past.value)}"
    )
    blocks = [
        outcomes_table(found),
        chart(
            cash_chart(found.cash, limit_aud),
            "Bank balance at each month's end, thousand AUD. Pale: 9 in 10 of "
            f"{found.cash.sequences:,} sequences. Darker: 5 in 10. Line: the middle.",
        ),
        cash_table(found),
        text(
            f"Overdraft past its limit some time in the run: {said(past)}. "
            f"A loan payment missed: {said(missed)}. "
            f"Nothing planted in some season: {said(outcome.chances['no_planting'])}."
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
            if float(planted.spread.reached_in(1).value) == 0.0:
                return f"No cotton is planted in {season.water_year} in 9 years of 10"
            if low == middle:
                return f"{season.water_year}: {low} ha of cotton or more in 9 years of 10"
            return (
                f"{season.water_year}: {low} ha of cotton or more in 9 years of 10, "
                f"{middle} in 5 of 10"
            )
    return "No season of the run is planted"


def _how_often(chance: float) -> str:
    """Say a chance at the end of a sentence."""
    words = in_ten(chance)
    return words if words.startswith(("never", "always")) else f"with a chance of {words}"


def outcomes_table(found: Findings) -> Block:
    """Lay out what is planted and held by the water there is at planting."""
    rows = [
        [
            outcome.water_year,
            f"{outcome.from_ml_per_share:.2f} to {outcome.below_ml_per_share:.2f}"
            if math.isfinite(outcome.below_ml_per_share)
            else f"{outcome.from_ml_per_share:.2f} or more",
            percent(outcome.chance_frac),
            *(
                _range(values, form)
                for values, form in (
                    (outcome.planted_ha, whole),
                    (outcome.carried_ml, whole),
                    (outcome.closing_cash_aud, thousand),
                )
            ),
        ]
        for outcome in found.outcomes
    ]
    return table(
        "What we would plant and hold, by usable water at planting: the middle, and in brackets "
        "8 in 10 of such seasons.",
        [
            "Season",
            "Own water at planting, ML per share",
            "Chance",
            "Planted, ha",
            "Held at the end of June, ML",
            "Bank at the end of June, thousand AUD",
        ],
        rows,
        widths=[0.9, 1.6, 0.9, 1.5, 1.9, 2.1],
        text_columns=(0, 1),
    )


def _range(values: tuple[float, float, float], form: Any) -> str:
    low, middle, high = values
    return f"{form(middle)} ({form(low)} to {form(high)})"


def cash_table(found: Findings) -> Block:
    """Lay out bank and overdraft by season."""
    rows = []
    for season in found.compared.outcomes[found.at].seasons:
        months = season.lowest_cash_months
        usual = max(months, key=lambda month: (months[month], -month))
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
                f"{month_name(usual)} ({percent(months[usual])})",
            ]
        )
    return table(
        "Bank at the end of June reached in 9, 5 and 1 years of 10; overdraft at its deepest, in "
        "the middle and passed in 1 year of 10. Thousand AUD.",
        ["Season", "9 of 10", "5 of 10", "1 of 10", "Deepest", "1 in 10", "Most often lowest in"],
        rows,
        widths=[1, 1, 1, 1, 1, 1, 2],
        text_columns=(0, 6),
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
                percent(outcome.chances["payment_missed"].value),
                percent(outcome.chances["past_overdraft_limit"].value),
                f"{outcome.dry_seasons_survived}"
                + (" or more" if outcome.dry_seasons_survived == outcome.dry_seasons_tried else ""),
            ]
        )
    return table(
        f"The strategies on the same sequences{_left_out(len(others))}. Standing at the end: bank "
        "less arrears, with water, land ready and crop unpaid, thousand AUD.",
        [
            "Strategy",
            "Mean",
            "Worst tenth",
            "Payment missed",
            "Past the limit",
            "Zero seasons survived",
        ],
        rows,
        widths=[2.2, 1, 1, 1.2, 1.2, 1.3],
    )
