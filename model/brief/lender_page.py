"""What does a credit analyst ask, and what are the answers?

Cover over the run after drawings and tax, with its parts; values and ratios by season; the stress
set, the break-evens, and the driest seasons on record come again from here.
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
from model.say.comparison import survives_in_words
from model.say.dry_years import stretch_title
from model.say.lender import (
    BREAK_EVEN_TITLES,
    DEBT_PARTS,
    break_even_cells,
    break_even_title,
    bridge_in_words,
    case_in_words,
    cover_headline,
    cover_in_short,
    cover_in_words,
    easier_on_bank,
    formulas_in_words,
    short_words,
    stress_title,
)
from model.say.measures import MEASURES, shown, title_of
from model.say.numbers import (
    NO_NUMBER,
    chance_cell,
    number,
    of_100,
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
    "cover": 1.5,
    "cover_below_1": 1.6,
    "term_debt_cover": 1.5,
    "receivable_aud": 0.9,
    "debt_aud": 0.7,
}
"""Widths of columns; all others have the usual one."""

BOTH_ENDS: Final = ("cover", "term_debt_cover")
"""Of these what is reached 90 times in 100 stands beside the middle."""


def lender_page(found: Findings) -> dict[str, Any]:
    """Return what a lender asks for."""
    outcome, stress = found.outcome, found.stress
    drawn = stress_chart(stress)
    blocks: list[Block] = []
    if outcome.covers["run_term_debt_cover"] is not None:
        blocks += [text(cover_in_short(outcome)), parts_table(found)]
    blocks.append(values_table(found))
    if why := cover_in_words(outcome):
        blocks.append(text(why))
    blocks += [text(survives_in_words(outcome)), stress_table(found)]
    bridge = bridge_in_words(outcome, stress, found.odds.count)
    blocks += map(note, [*([bridge] if bridge else []), *easier_on_bank(stress).values()])
    if drawn[0]:
        blocks.append(chart(drawn, f"Debt cover over the run in each case: {short_words(stress)}."))
    blocks.append(break_evens_block(found))
    if found.worst is not None:
        blocks.append(worst_table(found))
    blocks.append(note(formulas_in_words(outcome, stress)))
    return page("4  Debt cover, and what may turn", cover_headline(outcome), blocks)


def parts_table(found: Findings) -> Block:
    """Return what the run pays its debts with, part by part, on average."""
    debts = found.debts
    rows = [
        [title, thousands(float(getattr(debts, name).mean()))] for name, title in DEBT_PARTS.items()
    ]
    covers = found.outcome.covers
    rows += [
        [MEASURES[name].title, number(amount.mean.value, 2)]
        for name, amount in covers.items()
        if amount is not None
    ]
    return table(
        f"What the whole run pays its loans with, on average, {thousands_heading()}; covers in "
        "times.",
        ["Part", "Run"],
        rows,
        widths=[4, 1],
    )


def break_evens_block(found: Findings) -> Block:
    """Return the break-evens; a sentence where there is none."""
    title = break_even_title(found.stress)
    rows = [list(break_even_cells(one).values()) for one in found.stress.break_evens]
    if all(one.at is None for one in found.stress.break_evens):
        return text(title)
    return table(title, BREAK_EVEN_TITLES, rows, widths=[3, 1, 2.4, 1.2, 1.2])


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
        return chance_cell(season.chances[name]) if has_cover else NO_NUMBER
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
        covers = [number(result.run_cover, 2), of_100(result.cover_below_1_frac)]
        rows.append(
            [
                case_in_words(case),
                " / ".join(map(number, _known(result.by_season("area_planted_ha")))),
                *(covers if has_cover else []),
                thousands(result.lowest_cash_aud),
                thousands(result.lowest_cash_9_of_10_aud),
                month_name(result.lowest_cash_month),
                of_100(result.past_limit_frac),
                of_100(result.payment_missed_frac),
                thousands(result.closing_cash_aud),
            ]
        )
    return table(
        stress_title(found.stress),
        [
            "Case",
            "Planted by season, ha",
            *(["Cover over the run", "below 1.00"] if has_cover else []),
            f"{title_of('lowest_cash_aud')}, 50",
            "90",
            "Lowest in",
            "Past limit",
            "Payment missed",
            "Bank at the end",
        ],
        rows,
        widths=[3.0, 1.6, *([0.8, 0.7] if has_cover else []), 0.9, 0.9, 1.2, 0.7, 0.9, 0.9],
    )


def _known(values: list[float]) -> list[float]:
    return [value for value in values if not math.isnan(value)]


def worst_table(found: Findings) -> Block:
    """Return the driest seasons on record, come again from here."""
    worst, results = found.worst, found.worst_results
    assert worst is not None
    assert results is not None
    due = not np.isnan(results["term_debt_cover"][found.at, 0]).all()

    def cells(season: int) -> list[str]:
        names = ("area_planted_ha", "water_carried_ml", "closing_cash_aud", "peak_overdraft_aud")
        wanted = (*names, *(["term_debt_cover"] if due else []))
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
            *(["Cover after drawings and tax"] if due else []),
        ],
        rows,
        text_columns=(0, 1),
    )
