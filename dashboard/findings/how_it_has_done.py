"""What the page of trust says of the method, the assumptions, the record and today."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import pandas as pd

from model.evidence.diagnosis import Diagnosis
from model.evidence.today import DRAWS, OddsToday
from model.outlook.chances import Estimate
from model.outlook.outlook import Outlook
from model.plan.plan import Plan
from model.say.cautions import what_varies
from model.say.cells import chance_cells, record_range
from model.say.method import blocks_in_words, drawn_from, method_in_words, short_in_words
from model.say.numbers import count, ml, number, percent, times_in_100
from model.water_year import month_name, parse_month

METHODS: Final = {
    "historical": "Each observed start is taken in turn, with the seasons that did follow it.",
    "blocks": "Whole runs of observed years are drawn and joined, so that dry years stay together.",
    "present": "Runs of observed years, their level moved to where the river stands today.",
    "neighbours": "Seasons are drawn that followed a year like the present one.",
    "regimes": "Dry and wet spells are drawn first, then observed years of the same kind.",
}
CAUTIONS: Final = (
    "What is reached 90 times in 100 is missed 10 times, and dry years come together: settle "
    "beforehand what you would do then.",
    "Where climate, river or use upstream have changed, past inflow does not bound the future: "
    "try less flow on This season, under Water ahead.",
)


def bullets(lines: Sequence[str]) -> str:
    """Write lines as a list."""
    return "\n".join(f"- {line}" for line in lines)


def method_words(odds: Outlook) -> str:
    """Describe in plain words how what may come was drawn."""
    kind = blocks_in_words(odds.method)
    return f"{METHODS[str(odds.method['method'])]} {drawn_from(odds)}{kind}"


def assumptions(plan: Plan) -> list[str]:
    """List what the odds rest on, and what the scheme leaves out."""
    return [
        "The valley is a simplified scheme: one dam, month by month, and two classes of licence, "
        "each one holder on average. Left out are trade between holders, what others plant, the "
        "time water takes along the river, and whatever is decided outside the rules.",
        f"What an assessment counts on is never drawn and never scaled: {_counted_on(plan)}.",
        "The observed years stand for those to come, each with its months as they followed one "
        "another" + (", flow as observed." if plan.sequences.flow_factor == 1.0 else "."),
        *([what_varies(plan.farm)] if plan.farm is not None else []),
    ]


def _counted_on(plan: Plan) -> str:
    """Describe where the assured inflow comes from, and whether that is hindsight."""
    assessment = plan.valley.assessment
    if assessment.assured_inflow == "fixed":
        return "it is the flow that the plan states"
    if assessment.assured_before is not None:
        month = month_name(parse_month(assessment.assured_before))
        return f"it comes from the record before {month}, later years unseen"
    return (
        "it comes from the whole record, which is hindsight where observed years are replayed (the "
        "trial at the end of this page has none: it cuts the record at each year)"
    )


def error_words(odds: Outlook) -> list[str]:
    """Explain the record's own error in two lines, and what it misses."""
    how = odds.record_error
    return [
        "**The record's own error.** Its years are drawn again in runs of "
        f"{number(how.block_years, 1)} years on average, {how.resamples} times, and the odds "
        "worked out on each: 95 in 100 of the answers lie in that range.",
        f"Each range is then {number(how.widening.factor, 2)} times as wide, for the memory that "
        "such runs forget.",
        *short_in_words(how.widening),
    ]


def headline_frame(chances: Mapping[str, Estimate]) -> pd.DataFrame:
    """Arrange the headline chances with both errors."""
    return pd.DataFrame(
        {
            "Chance of": name,
            **chance_cells(estimate),
        }
        for name, estimate in chances.items()
    )


def diagnosis_frame(found: Diagnosis) -> pd.DataFrame:
    """Arrange what the record remembers."""
    rows = [
        ("Years looked at, from the opening month", number(found.years)),
        ("Likeness of neighbouring years (correlation)", number(found.lag_1, 2)),
        ("Independent years stay within", number(found.lag_1_band, 2)),
        ("Hurst's K (above about 0.6: dry years bunch)", number(found.hurst_k, 2)),
        ("Block length asked for", f"{number(found.block_years.stationary, 1)} years"),
        ("Largest shift of the mean, after", found.shift.after),
        ("Shuffled years show as large a shift in", percent(found.shift.chance)),
        ("That shift explains the likeness", "yes" if found.shift.explains_persistence else "no"),
    ]
    states = found.states
    if states is not None:
        bic_one, bic_two = states.fit.bic
        rows += [
            (
                "Bayes' criterion of one state, of two (the lower fits)",
                f"{number(bic_one, 1)}, {number(bic_two, 1)}",
            ),
            ("Dry years found, if two states", f"{states.dry_years} of {states.fit.count}"),
            ("Chance that the last year was dry", percent(states.dry_chance_now)),
        ]
    if found.drift is not None:
        rows.append(("The usual flow wanders", "yes" if found.drift.wanders else "no"))
        rows.append(("Usual flow now", f"{ml(found.drift.next_level)} a year"))
    return pd.DataFrame(rows, columns=["What", "Value"])


def chances_of_none(told: Sequence[OddsToday]) -> dict[str, tuple[float, ...]]:
    """Gather the chances of none, by season, of the methods that can be used."""
    return {each.method: each.chance_none for each in told if each.chance_none}


def methods_finding(told: Sequence[OddsToday], years: Sequence[str]) -> str:
    """Describe between which methods the first chance lies."""
    chances = {name: by_season[0] for name, by_season in chances_of_none(told).items()}
    least, most = min(chances, key=chances.__getitem__), max(chances, key=chances.__getitem__)
    return (
        f"Nothing more announced in {years[0]}: from {times_in_100(chances[least])} by {least} to "
        f"{times_in_100(chances[most])} by {most}"
    )


def methods_frame(told: Sequence[OddsToday], years: Sequence[str]) -> pd.DataFrame:
    """Arrange each method's chances of none."""
    return pd.DataFrame(
        {
            "Method": each.method,
            **{
                f"Nothing announced in {year}": times_in_100(chance)
                for year, chance in zip(years, each.chance_none, strict=True)
            },
            "How it draws": method_in_words(each.settings),
        }
        for each in told
        if each.chance_none
    )


def beside_the_record(odds: Outlook) -> str:
    """Set the spread of the methods beside the range of the record."""
    first = odds.seasons[0]
    return (
        f"{count(DRAWS, 'sequence')} a method; historical has one a year observed. Beside it, with "
        f"the method in use the record supports {record_range(first.chance_none)} times in 100 for "
        f"{first.water_year}."
    )
