"""What water is there, by the season, and what is the plan about?"""

from __future__ import annotations

from typing import Any, Final

from model.brief.charts import water_chart
from model.brief.layout import Block, chart, note, page, table, text
from model.decide.findings import Findings
from model.farm.thin_water import thin_water
from model.plan.cautions import opening_cautions, undated_words
from model.say.farm import plan_in_words
from model.say.method import river_in_words, short_in_words
from model.say.numbers import chance, number, two_figures, with_range
from model.say.outlook import (
    REACHED_TITLES,
    few_sequences_in_words,
    nothing_announced,
    nothing_in_a_row,
    water_headline,
)
from model.say.thin_water import thin_water_in_words
from model.sequences.drying import is_changed
from model.water_year import month_name

FEWEST_SEQUENCES: Final = 400
"""Below this the draws alone leave a chance of one half open by 5 points either way."""


def water_page(found: Findings, in_short: Block) -> dict[str, Any]:
    """Return the plan in a paragraph, the other pages' findings, and the odds of water."""
    seasons = found.odds.seasons
    blocks = [
        text(plan_in_words(found)),
        *cautions_of(found),
        in_short,
        chart(
            water_chart(seasons),
            "General-security water, ML a share. Pale: 80 times in 100. Darker: 50 times in 100. "
            "Line and number: the middle, as likely more as less.",
        ),
        water_table(found),
        nothing_table(found),
        note(
            "Ranges in brackets are 95 %: what the record supports. Its years were drawn again in "
            f"runs, {found.odds.record_error.resamples} times, and everything was run again; where "
            "that leaves nothing open, the range is that of the number of sequences. A share is a "
            "licence for 1 ML in a year of full allocation."
        ),
        *map(text, short_in_words(found.odds.record_error.widening)),
    ]
    if few := few_sequences_in_words(found.odds, FEWEST_SEQUENCES):
        blocks.append(text(few))
    shares_ml = found.setting.farm.licence.general_security_shares_ml
    return page("1  Water", water_headline(seasons[0], shares_ml), blocks)


def cautions_of(found: Findings) -> list[Block]:
    """Return where another river is counted on, and which figures to check again."""
    cautions, undated = opening_cautions(found.odds.plan), undated_words(found.odds.plan)
    drawing = found.odds.plan.sequences
    drier = [text(river_in_words(found.odds.record, drawing))] if is_changed(drawing) else []
    return [
        *drier,
        *map(text, [*cautions, *thin_layouts_of(found)]),
        *([note(undated)] if undated else []),
    ]


def thin_layouts_of(found: Findings) -> list[str]:
    """Return which row layouts are planned on far less water than they ask for."""
    setting = found.setting
    return list(thin_water_in_words(thin_water(setting.rules, setting.strategies)))


def water_table(found: Findings) -> Block:
    """Return the odds of water as a table."""
    rows = []
    for season in found.odds.seasons:
        amounts = [("announced by June", season.amounts["announced_to_date_ml_per_share"], _two)]
        if season.planting is not None:
            usable = season.planting.amounts["usable_ml_per_share"]
            when = f"usable at planting, {_short(season.planting.month)}"
            amounts.insert(0, (when, usable, _two))
        dam = season.amounts["storage_end_ml"]
        amounts.append(("dam at the end of June, ML", dam, two_figures))
        rows += [
            [
                season.water_year,
                what,
                *(with_range(amount.reached_in(years), form) for years in REACHED_TITLES),
            ]
            for what, amount, form in amounts
        ]
    return table(
        "Water reached or passed so many times in 100, ML a share; in brackets the range that the "
        "record supports.",
        ["Season", "Water", *REACHED_TITLES.values()],
        rows,
        widths=[0.8, 2.1, 2, 2.1, 2.2],
        text_columns=(0, 1),
    )


def _two(value: float) -> str:
    return number(value, 2)


def _short(month: int) -> str:
    """Return a month and its year in few letters."""
    name, year = month_name(month).split()
    return f"{name[:3]} {year}"


def nothing_table(found: Findings) -> Block:
    """Return the chances of nothing as a table."""
    seasons = found.odds.seasons
    rows = [[nothing_announced(season), chance(season.chance_none)] for season in seasons]
    rows += [
        [nothing_in_a_row(many), chance(season.chance_none_so_far)]
        for many, season in enumerate(seasons[1:], start=2)
    ]
    return table(
        "The chance of nothing.",
        ["What", "Chance"],
        rows,
        widths=[1.2, 2],
        text_columns=(0, 1),
    )
