"""What secures the debt, and are covenants kept?"""

from __future__ import annotations

from typing import Any

from model.brief.layout import Block, note, page, table, text
from model.decide.findings import Findings
from model.say.credit import (
    OWN_VALUES,
    SECURITY_TITLES,
    covenant_in_words,
    loan_to_value_in_words,
    security_headline,
    security_rows,
    security_title,
)
from model.say.numbers import chance_cell


def security_page(found: Findings) -> dict[str, Any]:
    """Return securities, loan to value at the deepest debt, and covenants."""
    secured = found.credit.secured
    blocks: list[Block] = [
        table(
            security_title(secured),
            SECURITY_TITLES,
            security_rows(secured),
            widths=[3, 0.9, 0.9, 1.8, 1.4],
            text_columns=(0, 3, 4),
        ),
        text(loan_to_value_in_words(secured)),
        note(OWN_VALUES),
    ]
    if found.credit.covenants:
        blocks.append(covenants_table(found))
    return page("5  Security and covenants", security_headline(found.credit), blocks)


def covenants_table(found: Findings) -> Block:
    """Return how often each covenant is breached, by season and in the run."""
    years = [season.water_year for season in found.outcome.seasons]
    rows = [
        [
            covenant_in_words(one),
            *(map(chance_cell, one.by_season) if one.by_season else [""] * len(years)),
            chance_cell(one.in_run),
        ]
        for one in found.credit.covenants
    ]
    return table(
        "Covenants as typed, and how many times in 100 each is breached, with the range that the "
        "record supports.",
        ["Covenant", *years, "Some time in the run"],
        rows,
        widths=[3.4, *[1.0] * len(years), 1.2],
    )
