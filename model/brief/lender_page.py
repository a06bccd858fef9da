"""What does a credit analyst ask, and what are the answers?

Cover with its formula, values and ratios by season, the stress set, the break-evens, and the driest
seasons on record come again from here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np

from model.brief.charts import stress_chart
from model.brief.layout import Block, chart, note, page, table, text
from model.decide.amounts import Amount
from model.decide.compare import SeasonOutcome
from model.decide.findings import Findings
from model.say.dry_years import stretch_title
from model.say.lender import (
    break_evens_in_words,
    case_in_words,
    cover_headline,
    cover_in_words,
    easier_on_bank,
    formulas_in_words,
)
from model.say.measures import MEASURES, shown, title_of
from model.say.numbers import (
    NO_NUMBER,
    chance_cell,
    number,
    thousands,
    thousands_heading,
)
from model.water_year import month_name

BY_SEASON: Final = (
    "cover",
    "cover_below_1",
    "term_debt_cover",
    "interest_cover",
    "debt_aud",
    "receivable_aud",
    "equity_frac",
    "loan_to_value_frac",
    "arrears_aud",
)
"""The measures of a season on this page; those of debt are left out where there is none."""

WIDTHS: Final = {
    "cover": 1.25,
    "cover_below_1": 1.7,
    "term_debt_cover": 1.45,
    "receivable_aud": 1.1,
    "interest_cover": 0.85,
}
"""Widths of columns; all others have the usual one."""

BOTH_ENDS: Final = ("cover", "term_debt_cover")
"""Of these what is reached 90 times in 100 stands beside the middle."""


def lender_page(found: Findings) -> dict[str, Any]:
    """Return what a lender asks for."""
    drawn = stress_chart(found.stress)
    blocks = [values_table(found), text(cover_in_words(found.outcome)), stress_table(found)]
    blocks += map(note, easier_on_bank(found.stress).values())
    if drawn[0]:
        blocks.append(
            chart(
                drawn,
                "Cover over the run in each case. Dashed: 1.00. Darker bars lie below it.",
            )
        )
    if found.stress.has_cover:
        blocks.append(text(break_evens_in_words(found.stress)))
    if found.worst is not None:
        blocks.append(worst_table(found))
    blocks.append(note(formulas_in_words(found.outcome, found.stress)))
    return page("3  For the lender", cover_headline(found.outcome, found.stress), blocks)


def values_table(found: Findings) -> Block:
    """Return values and ratios by season; without debt, none of cover."""
    outcome = found.outcome
    measures = shown(BY_SEASON, due=not outcome.nothing_due, owed=not outcome.has_no_debt)
    names = [measure.name for measure in measures]
    rows = [
        [season.water_year, *(_season_cell(season, name) for name in names)]
        for season in outcome.seasons
    ]
    of_cover = (
        "; of covers also, in brackets, what is reached 90 times in 100" if "cover" in names else ""
    )
    arrears = " Arrears are the mean." if "arrears_aud" in names else ""
    return table(
        f"By season, the middle{of_cover}.{arrears} {thousands_heading()}.",
        ["Season", *(_heading(name) for name in names)],
        rows,
        widths=[0.8, *(WIDTHS.get(name, 0.75) for name in names)],
    )


def _heading(name: str) -> str:
    """Return the heading of a measure's column."""
    if name == "cover_below_1":
        return "Below 1.00, times in 100"
    return MEASURES[name].title


def _season_cell(season: SeasonOutcome, name: str) -> str:
    """Return a measure of a season; covers with what is reached 90 times in 100."""
    if name == "cover_below_1":
        has_cover = season.amounts["cover"] is not None
        return chance_cell(season.chances[name]) if has_cover else "no debt"
    amount, form = season.amounts[name], MEASURES[name].cell
    if amount is None:
        return NO_NUMBER
    if name in BOTH_ENDS:
        return _both_ends(amount, form)
    usual = amount.mean if MEASURES[name].rare else amount.spread.quantiles[0.5]
    return form(usual.value)


def _both_ends(amount: Amount, form: Callable[[float], str]) -> str:
    return f"{form(amount.spread.reached_in(5).value)} ({form(amount.spread.reached_in(9).value)})"


def stress_table(found: Findings) -> Block:
    """Return the stress set."""
    has_cover, rows = found.stress.has_cover, []
    for case in found.stress.cases:
        result = case.result
        past = " past limit" if result.lowest_cash_aud < -found.limit_aud else ""
        rows.append(
            [
                case_in_words(case),
                " / ".join(map(number, _known(result.by_season("area_planted_ha")))),
                *([number(result.run_cover, 2)] if has_cover else []),
                f"{thousands(result.lowest_cash_aud)}{past}",
                month_name(result.lowest_cash_month),
                thousands(result.closing_cash_aud),
                f"{result.payments_missed}",
            ]
        )
    return table(
        f"Stress set, each case a change of the middle case. Bank in {thousands_heading()}.",
        [
            "Case",
            "Planted by season, ha",
            *(["Cover over the run"] if has_cover else []),
            title_of("lowest_cash_aud"),
            "Lowest in",
            "Bank at the end",
            title_of("payments_missed"),
        ],
        rows,
        widths=[4.5, 1.4, *([0.9] if has_cover else []), 1.6, 1.1, 0.9, 1.1],
    )


def _known(values: list[float]) -> list[float]:
    return [value for value in values if not math.isnan(value)]


def worst_table(found: Findings) -> Block:
    """Return the driest seasons on record, come again from here."""
    worst, results = found.worst, found.worst_results
    assert worst is not None
    assert results is not None
    due = not np.isnan(results["cover"][found.at, 0]).all()

    def cells(season: int) -> list[str]:
        names = ("area_planted_ha", "water_carried_ml", "closing_cash_aud", "peak_overdraft_aud")
        wanted = (*names, *(["cover"] if due else []))
        return [MEASURES[name].cell(results[name][found.at, 0, season]) for name in wanted]

    rows = [
        [
            again.water_year,
            again.observed_in,
            number(again.announced_to_date_ml_per_share, 2),
            *cells(season),
        ]
        for season, again in enumerate(worst.seasons)
    ]
    return table(
        f"{stretch_title(worst)} come again from here. {thousands_heading()}.",
        [
            "Season",
            "as observed in",
            "Announced, ML a share",
            "Planted, ha",
            "Held, ML",
            "Bank at the end",
            title_of("peak_overdraft_aud"),
            *(["Cover"] if due else []),
        ],
        rows,
        text_columns=(0, 1),
    )
