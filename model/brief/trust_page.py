"""How far may a reader trust the brief, what does it rest on, and how is it made again?"""

from __future__ import annotations

from importlib.metadata import version
from typing import Any, Final

from model.brief.layout import Block, bullets, heading, note, page, table, text
from model.brief.plan_hash import plan_sha256
from model.decide.findings import Findings
from model.say.announced import HINDSIGHT, held_in_words, none_in_words
from model.say.cautions import FARM_CAUTION, what_varies
from model.say.evidence import (
    behind_in_words,
    first_in_words,
    headline_of,
)
from model.say.method import drying_in_words, method_in_words
from model.say.numbers import count, money, number, rate
from model.say.paper import UNTRIED
from model.say.price import price_lines
from model.say.record import filled_in_words
from model.sequences.drying import drying_of

UNITS: Final = {"bale": "bales", "t": "t"}
"""What several units of a crop are called."""


def trust_page(found: Findings) -> dict[str, Any]:
    """Return trust, assumptions, cautions and what the figures were made from."""
    behind: list[Block] = []
    if found.verdict is not None:
        headline = headline_of(found.verdict)
        trust: list[Block] = [bullets(first_in_words(found.verdict))]
        behind = [heading("The trial in full"), *map(note, behind_in_words(found.verdict))]
    else:
        headline = UNTRIED
        trust = [
            text(
                "Whether such odds would have been right before can be tried on the observed "
                "years, when the papers are made or with the command “seasons evidence”, and the "
                "verdict printed here. Until then the ranges "
                "in brackets say only what a finite record leaves open, given that the valley's "
                "rules are as stated and the river behaves as it did."
            )
        ]
    blocks = [
        heading("How far to trust the odds"),
        *trust,
        *announced_blocks(found),
        heading("Assumptions and their sources"),
        bullets(assumptions(found)),
        heading("The farm's own figures"),
        figures_table(found),
        heading("Cautions"),
        text(FARM_CAUTION),
        *behind,
        heading("To make these figures again"),
        note(made_from(found)),
    ]
    return page("6  How far to trust it", headline, blocks)


def announced_blocks(found: Findings) -> list[Block]:
    """Return how far the rules were from what was announced; nothing where nobody knows it."""
    if found.held is None:
        return []
    return [
        heading("The rules against what was announced"),
        text(f"{held_in_words(found.held)} {none_in_words(found.held)} {HINDSIGHT}"),
    ]


def assumptions(found: Findings) -> list[str]:
    """Return what the brief rests on."""
    odds, plan = found.odds, found.odds.plan
    drying = drying_in_words(drying_of(odds.record, plan.sequences))
    return [
        f"Inflow: {odds.record.name}, observed {odds.record.span[0]} to {odds.record.span[1]}, "
        f"{count(odds.record.months, 'month')}; {filled_in_words(odds.record, plan.record_fill)}.",
        f"What may come: {count(odds.count, 'sequence')}, {method_in_words(odds.method)}"
        + (f", {drying}" if drying else ", flow as observed")
        + ".",
        "The valley's rules, where things stand, yields, prices, costs, debts and values: the "
        "plan, as its owner stated them. One average holder stands for all general security.",
        what_varies(found.setting.farm),
        *price_lines(found.setting.prices_met()),
        "Each stress case is the plan changed as named and played through "
        f"{count(found.stress.sequences, 'sequence')}; every season at what is reached 90 times in "
        "100 is harsher than one run of seasons in ten.",
        "Quantiles: Hyndman and Fan 1996, type 7. Covers: Farm Financial Standards Council; "
        "Langemeier 2018 (farmdoc daily 8:175). The choice of stress cases: common practice, no "
        "source.",
    ]


def figures_table(found: Findings) -> Block:
    """Return the figures that matter most."""
    farm = found.setting.farm
    crop, owed = farm.main_crop, farm.money
    loans = ", ".join(
        f"{money(loan.balance_aud)} at {rate(loan.rate_frac_per_year)}, "
        f"{count(loan.term_years, 'year')}"
        for loan in owed.loans
    )
    mean = crop.ten_year_mean_price_aud_per_unit
    rows = [
        [
            f"Full yield of {crop.name}, by row layout",
            "; ".join(
                f"{one.name} {number(one.full_yield_units_per_ha, 2)}" for one in crop.layouts
            )
            + f" {UNITS[crop.unit]} a ha",
        ],
        [
            "Its price; ten-year mean; what comes with it",
            f"{money(crop.price_aud_per_unit)}; "
            f"{'not stated' if mean is None else money(mean)}; "
            f"{money(crop.by_product_aud_per_unit)} a {crop.unit}",
        ],
        [
            "Overheads; drawings; off-farm income; tax",
            f"{money(owed.overheads_aud_per_year)}; {money(owed.drawings_aud_per_year)}; "
            f"{money(owed.off_farm_income_aud_per_year)}; "
            f"{money(owed.tax_aud_per_year)} a year",
        ],
        ["Loans", loans or "none"],
        [
            "Bank; overdraft limit; its rate",
            f"{money(owed.bank_aud)}; {money(owed.overdraft_limit_aud)}; "
            f"{rate(owed.overdraft_rate_frac_per_year)}",
        ],
    ]
    return table(
        "As the plan states them.", ["Figure", "Value"], rows, widths=[1, 1.5], text_columns=(0, 1)
    )


def made_from(found: Findings) -> str:
    """Return what the figures were made from."""
    odds = found.odds
    return (
        f"Plan as played, SHA-256 {plan_sha256(odds.plan)} (of “plan” in the brief's JSON file). "
        f"Record, SHA-256 {odds.record.sha256}. Method {odds.method['method']}, seed "
        f"{odds.plan.sequences.seed}, {count(odds.count, 'sequence')}. Seasons in Hand, version "
        f"{version('seasons-in-hand')}. The same plan, record, seed and version give the same "
        "figures; each of them is in the brief's JSON file and in its workbook."
    )
