"""What is asked, what is decided, and what are the odds behind it? The first page decides alone."""

from __future__ import annotations

from typing import Any

from model.brief.charts import water_chart
from model.brief.layout import Block, chart, note, page, table, terms, text
from model.decide.findings import Findings
from model.farm.thin_water import thin_water
from model.plan.cautions import opening_cautions, undated_words
from model.say.farm import plan_in_words
from model.say.in_ground import TITLES, in_ground_cells
from model.say.method import river_in_words
from model.say.outlook import few_sequences_in_words
from model.say.paper import decided_in_words, decision_headline
from model.say.record import much_filled_in_words
from model.say.thin_water import thin_water_in_words
from model.sequences.drying import is_changed

FEWEST_SEQUENCES = 400
"""Below this the draws alone leave a chance of one half open by 5 points either way."""


def decision_page(found: Findings) -> dict[str, Any]:
    """Return the request, the decision, and the odds behind it."""
    blocks: list[Block] = [text(plan_in_words(found)), *cautions_of(found)]
    blocks.append(terms(decided_in_words(found)))
    if found.ground:
        blocks.append(ground_table(found))
    blocks.append(
        chart(
            water_chart(found.odds.seasons),
            "General-security water that may be used, ML a share. Pale: 80 times in 100. Darker: "
            "50 times in 100. Line and number: the middle, as likely more as less.",
        )
    )
    if few := few_sequences_in_words(found.odds, FEWEST_SEQUENCES):
        blocks.append(text(few))
    return page("1  The decision", decision_headline(found), blocks)


def cautions_of(found: Findings) -> list[Block]:
    """Return where another river is counted on, and which figures to check again."""
    cautions, undated = opening_cautions(found.odds.plan), undated_words(found.odds.plan)
    drawing = found.odds.plan.sequences
    drier = [text(river_in_words(found.odds.record, drawing))] if is_changed(drawing) else []
    filled = much_filled_in_words(found.odds.record, found.odds.plan.record_fill)
    return [
        *drier,
        *map(text, [*([filled] if filled else []), *cautions, *thin_layouts_of(found)]),
        *([note(undated)] if undated else []),
    ]


def thin_layouts_of(found: Findings) -> list[str]:
    """Return which row layouts are planned on far less water than they ask for."""
    setting = found.setting
    return list(thin_water_in_words(thin_water(setting.rules, setting.strategies)))


def ground_table(found: Findings) -> Block:
    """Return the crops in the ground."""
    return table(
        "Crops in the ground as the run opens. The cost to come leaves out what is spent; a crop "
        "pays from the yield that covers it, by its own price.",
        TITLES,
        [in_ground_cells(one) for one in found.ground],
        widths=[1.6, 0.5, 0.9, 0.9, 1.3, 0.9, 1.0, 1.3],
        text_columns=(0, 2),
    )
