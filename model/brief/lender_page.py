"""What does a credit analyst ask, and what are the answers?

Cover with its formula, values and ratios by season, the stress set, the break-evens, and the driest
seasons on record come again from here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from model.brief.charts import stress_chart
from model.brief.findings import Findings
from model.brief.layout import (
    Block,
    chart,
    note,
    page,
    percent,
    said,
    said_briefly,
    table,
    text,
    thousand,
    two,
    whole,
)
from model.decide.amounts import Amount
from model.decide.break_even import MOST_RATE_UP_FRAC, BreakEven
from model.decide.compare import StrategyOutcome
from model.decide.stated_case import RUN_COVER
from model.decide.stress import StressSet
from model.farm import finance
from model.say.lender import easier_on_bank, short_words
from model.water_year import month_name

COVER_BY_SEASON: Final = (
    "Cover is income less costs, divided by the interest and principal due: at 1.00 it just pays. "
    "By season it is of money as it comes and goes: a crop is paid for mostly in the next season, "
    "so a first season that opens after the last crop was paid carries costs without their income."
)

FORMULAS: Final = {
    "Cover": finance.DEBT_SERVICE_COVER,
    "Cover over the run": RUN_COVER,
    "Term-debt cover": finance.TERM_DEBT_COVER,
    "Interest cover": finance.INTEREST_COVER,
    "Equity": finance.EQUITY,
    "Loan to value": finance.LOAN_TO_VALUE,
}
"""The formula of each ratio, printed beside the numbers."""

OF_COVER: Final = ("Cover", "Cover over the run", "Term-debt cover", "Interest cover")
"""The formulas that are not printed where nothing is due to a lender."""

OF_DEBT: Final = ("Loan to value",)
"""The formula that is not printed where nothing is owed."""

BELOW_0: Final = "Below 0 a cover says only that income did not pay costs."


def lender_page(found: Findings) -> dict[str, Any]:
    """Write what a lender asks for."""
    drawn = stress_chart(found.stress)
    blocks = [values_table(found), text(cover_words(found)), stress_table(found)]
    blocks += map(note, easier_on_bank(found.stress).values())
    if drawn[0]:
        blocks.append(
            chart(
                drawn,
                "Cover over the run in each case. Dashed: 1.00. Darker bars lie below it.",
            )
        )
    if found.stress.has_cover:
        blocks.append(text(break_even_words(found.stress)))
    if found.worst is not None:
        blocks.append(worst_table(found))
    blocks.append(note(formulas_words(found)))
    return page("3  For the lender", headline_of(found), blocks)


def headline_of(found: Findings) -> str:
    """Give the finding."""
    cover = found.stress.middle.run_cover
    if math.isnan(cover):
        if has_no_debt(found.compared.outcomes[found.at]):
            return "There is no debt to serve: cover is not asked for"
        return "In the middle case nothing is due in these seasons: its cover is not asked for"
    return f"{_middle_words(cover)}; {short_words(found.stress)}"


def _middle_words(cover: float) -> str:
    """Say the middle case's cover."""
    if cover < 0.0:
        return f"In the middle case income does not pay costs: cover is {two(cover)}"
    only = "" if cover >= 1.0 else "only "
    return f"In the middle case income covers interest and principal {only}{two(cover)} times"


def values_table(found: Findings) -> Block:
    """Lay out values and ratios by season; without debt, none of cover."""
    if nothing_due(found.compared.outcomes[found.at]):
        return _values_without_cover(found)
    rows = []
    for season in found.compared.outcomes[found.at].seasons:
        amounts = season.amounts
        below = season.chances["cover_below_1"]
        has_cover = amounts["cover"] is not None
        rows.append(
            [
                season.water_year,
                _two_ends(amounts["cover"], two),
                said_briefly(below) if has_cover else "no debt",
                _two_ends(amounts["term_debt_cover"], two),
                _middle(amounts["interest_cover"], two),
                *_debt_and_worth(amounts),
                thousand(amounts["arrears_aud"].mean.value) if amounts["arrears_aud"] else "–",
            ]
        )
    return table(
        "By season, the middle; of covers also, in brackets, what is reached in 9 years of 10. "
        "Arrears are the mean. Thousand AUD.",
        [
            "Season",
            "Cover",
            "Below 1.00",
            "Term-debt cover",
            "Interest cover",
            "Debt",
            "Receivable",
            "Equity",
            "Loan to value",
            "Arrears",
        ],
        rows,
        widths=[0.8, 1.25, 2.9, 1.35, 0.75, 0.7, 1.05, 0.65, 0.65, 0.75],
    )


def _values_without_cover(found: Findings) -> Block:
    """Lay out what there is by season where nothing is due to a lender; debts where there are."""
    outcome = found.compared.outcomes[found.at]
    header = ["Season", "Debt", "Receivable", "Equity", "Loan to value"]
    kept = [0, 2, 3] if has_no_debt(outcome) else range(len(header))
    rows = [[season.water_year, *_debt_and_worth(season.amounts)] for season in outcome.seasons]
    return table(
        "By season, the middle. Thousand AUD.",
        [header[at] for at in kept],
        [[row[at] for at in kept] for row in rows],
    )


def _debt_and_worth(amounts: Mapping[str, Amount | None]) -> list[str]:
    """Print debt, what is still to come, equity and loan to value."""
    return [
        _middle(amounts["debt_aud"], thousand),
        _middle(amounts["receivable_aud"], thousand),
        _middle(amounts["equity_frac"], percent),
        _middle(amounts["loan_to_value_frac"], percent),
    ]


def _middle(amount: Amount | None, form: Any) -> str:
    return "–" if amount is None else form(amount.spread.quantiles[0.5].value)


def _two_ends(amount: Amount | None, form: Any) -> str:
    if amount is None:
        return "–"
    return f"{form(amount.spread.reached_in(5).value)} ({form(amount.spread.reached_in(9).value)})"


def cover_words(found: Findings) -> str:
    """Say cover and how long no allocation is survived."""
    outcome = found.compared.outcomes[found.at]
    if nothing_due(outcome):
        return survives_words(outcome)
    return (
        f"{COVER_BY_SEASON} Cover below 1.00 in some season: "
        f"{said(outcome.chances['cover_below_1'])}. {survives_words(outcome)}"
    )


def nothing_due(outcome: StrategyOutcome) -> bool:
    """Tell whether nothing is due to a lender in any season of any sequence."""
    return all(season.amounts["cover"] is None for season in outcome.seasons)


def has_no_debt(outcome: StrategyOutcome) -> bool:
    """Tell whether nothing is due, and nothing owed when a season ends, in any sequence."""
    owed = [season.amounts["debt_aud"] for season in outcome.seasons]
    return nothing_due(outcome) and all(each is None or each.mean.value == 0.0 for each in owed)


def survives_words(outcome: StrategyOutcome) -> str:
    """Say how many seasons running of no allocation the farm survives."""
    survived = outcome.dry_seasons_survived
    if survived == 0:
        return (
            "From today a single season of no allocation is enough for a payment to be missed or "
            "the overdraft to pass its limit."
        )
    number = "1 season" if survived == 1 else f"{survived} seasons running"
    more = " or more" if survived == outcome.dry_seasons_tried else ""
    return (
        f"From today the farm gets through {number}{more} of no allocation: to the end of "
        f"{'it' if survived == 1 else 'them'} no payment is missed and the overdraft stays within "
        "its limit. Only those seasons are counted here; a stress case counts the whole run, with "
        "what follows them."
    )


def stress_table(found: Findings) -> Block:
    """Lay out the stress set."""
    limit_aud = found.setting.rules.cash.overdraft_limit_aud
    has_cover, rows = found.stress.has_cover, []
    for case in found.stress.cases:
        result = case.result
        past = " past limit" if result.lowest_cash_aud < -limit_aud else ""
        rows.append(
            [
                f"{case.name}: {case.meaning}",
                " / ".join(whole(ha) for ha in _known(result.by_season("area_planted_ha"))),
                *([two(result.run_cover)] if has_cover else []),
                f"{thousand(result.lowest_cash_aud)}{past}",
                month_name(result.lowest_cash_month),
                thousand(result.closing_cash_aud),
                f"{result.payments_missed}",
            ]
        )
    return table(
        "Stress set, each case a change of the middle case. Bank in thousand AUD.",
        [
            "Case",
            "Planted by season, ha",
            *(["Cover over the run"] if has_cover else []),
            "Lowest bank",
            "Lowest in",
            "Bank at the end",
            "Payments missed",
        ],
        rows,
        widths=[4.5, 1.4, *([0.9] if has_cover else []), 1.6, 1.1, 0.9, 1.1],
    )


def _known(values: list[float]) -> list[float]:
    return [value for value in values if not math.isnan(value)]


def break_even_words(stress: StressSet) -> str:
    """Say how far each may turn before cover over the run is 1.00."""
    if all(one.found == "no_debt" for one in stress.break_evens):
        return "In the middle case nothing is due, and so there is no level at which cover is 1.00."
    if all(one.found == "never_reaches_1" for one in stress.break_evens):
        return (
            "Cover over the run is below 1.00 now, and no change of price, yield, water or rates "
            "alone brings it there."
        )
    parts = [break_even_in_words(one) for one in stress.break_evens]
    lead = "Before" if stress.middle.run_cover >= 1.0 else "For"
    verb = "is" if lead == "Before" else "to be"
    return (
        f"{lead} cover over the run {verb} 1.00 (each solved alone, and run again there): "
        f"{'; '.join(parts)}."
    )


def break_even_in_words(one: BreakEven) -> str:
    """Say one break-even."""
    name = one.name.lower()
    if one.found == "no_debt":
        return f"{name}, no debt to cover"
    if one.found == "never_falls_to_1":
        if one.unit == "points":
            return f"{name} may rise by {100 * MOST_RATE_UP_FRAC:.0f} percentage points and more"
        return f"{name} may fall to next to nothing"
    if one.found == "never_reaches_1" or one.at is None or one.change_frac is None:
        return f"no change of {name} alone is enough"
    step = " (there cover passes 1.00 in a step)" if one.found == "in_a_step" else ""
    if one.unit == "points":
        return f"{name} may rise by {one.at:.1f} percentage points{step}"
    verb = "may fall" if one.change_frac <= 0.0 else "must rise"
    digits = 0 if one.unit.startswith("AUD") else 2
    return (
        f"{name} {verb} {abs(100 * one.change_frac):.0f} %, from {one.now:,.{digits}f} to "
        f"{one.at:,.{digits}f} {one.unit}{step}"
    )


def worst_table(found: Findings) -> Block:
    """Lay out the driest seasons on record, come again from here."""
    worst, results = found.worst, found.worst_results
    assert worst is not None
    assert results is not None
    due = not np.isnan(results["cover"][found.at, 0]).all()
    rows = [
        [
            again.water_year,
            again.observed_in,
            two(again.announced_to_date_ml_per_share),
            whole(results["area_planted_ha"][found.at, 0, season]),
            whole(results["water_carried_ml"][found.at, 0, season]),
            thousand(results["closing_cash_aud"][found.at, 0, season]),
            thousand(results["peak_overdraft_aud"][found.at, 0, season]),
            *([two(results["cover"][found.at, 0, season])] if due else []),
        ]
        for season, again in enumerate(worst.seasons)
    ]
    drying = f", {worst.drying}" if worst.drying else ""
    return table(
        f"The driest {len(worst.seasons)} seasons on record ({worst.years}, inflow "
        f"{percent(worst.inflow_share)} of the usual{drying}) come again from here. Thousand AUD.",
        [
            "Season",
            "as observed in",
            "Announced, ML per share",
            "Planted, ha",
            "Held, ML",
            "Bank at the end",
            "Deepest overdraft",
            *(["Cover"] if due else []),
        ],
        rows,
        text_columns=(0, 1),
    )


def formulas_words(found: Findings) -> str:
    """Print the formula of each ratio that is on the page."""
    outcome = found.compared.outcomes[found.at]
    without = nothing_due(outcome) and not found.stress.has_cover
    left_away = {*(OF_COVER if without else ()), *(OF_DEBT if has_no_debt(outcome) else ())}
    printed = " ".join(
        f"{name} = {formula}." for name, formula in FORMULAS.items() if name not in left_away
    )
    return printed if without else f"{printed} {BELOW_0}"
