"""What the page of trust says: the method, the assumptions, and what the evidence found."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

import pandas as pd

from dashboard import wording
from dashboard.wording import in_ten, percent
from model.chances import Estimate
from model.decide.compare_files import WATER_ONLY
from model.diagnosis import Diagnosis
from model.evidence.calibration import Coverage
from model.evidence.judge import PIT_BINS, AmountJudged, MethodJudged, SeasonJudged
from model.evidence.reliability import HELD_OF_100, Scored
from model.evidence.today import DRAWS, OddsToday
from model.evidence.verdict import UNLIKELY
from model.outlook import Outlook
from model.plan import Plan
from model.water_year import month_name, parse_month

AMOUNTS: Final = {"announced": ("Water announced", "ML/share"), "storage": ("The dam", "ML")}

METHODS: Final = {
    "historical": "Each observed start is taken in turn, with the seasons that did follow it.",
    "blocks": "Whole runs of observed years are drawn and joined, so that dry years stay together.",
    "neighbours": "Seasons are drawn that followed a year like the present one.",
    "regimes": "Dry and wet spells are drawn first, then observed years of the same kind.",
}

CAUTIONS: Final = (
    "What is reached in 9 years of 10 is missed in 1, and dry years come together: settle "
    "beforehand what you would do then.",
    "Where climate, river or use upstream have changed, past inflow does not bound the future: "
    "try less flow on the page Water ahead.",
)

SKILL_NOTE: Final = (
    "The error is the mean CRPS: how far the odds lay from what came, 0 where they were sure and "
    "right. The long-run record gives every year the same odds, whatever the dam holds. In "
    "brackets the 95 % range that so few years leave; where it reaches below 0 the odds may be no "
    "better."
)


def bullets(lines: Sequence[str]) -> str:
    """Write lines as a list."""
    return "\n".join(f"- {line}" for line in lines)


def method_words(odds: Outlook) -> str:
    """Say in plain words how what may come was drawn."""
    return f"{METHODS[str(odds.method['method'])]} {wording.drawn_from(odds)}"


def assumptions(plan: Plan) -> list[str]:
    """List what the odds rest on, and what the scheme leaves out."""
    return [
        "The valley is a simplified scheme: one dam, month by month, and two classes of licence, "
        "each one holder on average. Left out are trade between holders, what others plant, the "
        "time water takes along the river, and whatever is decided outside the rules.",
        f"What an assessment counts on is never drawn and never scaled: {_counted_on(plan)}.",
        "The observed years stand for those to come, each with its months as they followed one "
        "another" + (", flow as observed." if plan.sequences.flow_factor == 1.0 else "."),
        *([WATER_ONLY] if plan.farm is not None else []),
    ]


def _counted_on(plan: Plan) -> str:
    """Say where the assured inflow comes from, and whether that is hindsight."""
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
        f"**The record's own error.** Its years are drawn again in blocks of {how.block_years:.1f} "
        f"years on average, {how.resamples} times, and the odds worked out on each: 95 in 100 of "
        "the answers lie in that range.",
        "Such ranges are somewhat too narrow where dry years bunch: tried on 100 years that "
        "remember the one before by 0.6, ranges from blocks meant to hold the truth in 95 of 100 "
        f"cases held it in {HELD_OF_100['blocks']}; from single years, in "
        f"{HELD_OF_100['single years']}.",
    ]


def headline_frame(chances: Mapping[str, Estimate]) -> pd.DataFrame:
    """Lay out the headline chances with both errors."""
    return pd.DataFrame(
        {
            "Chance of": name,
            "Said": f"{in_ten(estimate.value)} ({percent(estimate.value)})",
            "The record leaves": wording.record_range(estimate),
            "The draws leave": wording.draws_range(estimate),
        }
        for name, estimate in chances.items()
    )


def recommendation(found: Diagnosis, method: str) -> str:
    """Say which method fits the record, beside the one in use."""
    said = f"Method {found.recommended} fits this record"
    if found.recommended == method:
        return f"{said}, and it is the one in use."
    return (
        f"{said}; in use is {method}. Whether its odds then hold, only the trial below says: "
        "another method is chosen on the page Water ahead."
    )


def diagnosis_frame(found: Diagnosis) -> pd.DataFrame:
    """Lay out what the record remembers."""
    rows = [
        ("Years looked at, from the opening month", f"{found.years:,}"),
        ("Likeness of neighbouring years (correlation)", f"{found.lag_1:.2f}"),
        ("Independent years stay within", f"{found.lag_1_band:.2f}"),
        ("Hurst's K (above about 0.6: dry years bunch)", _number(found.hurst_k)),
        ("Block length asked for", f"{found.block_years.stationary:.1f} years"),
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
                f"{bic_one:.1f}, {bic_two:.1f}",
            ),
            ("Dry years found, if two states", f"{states.dry_years} of {states.fit.count}"),
            ("Chance that the last year was dry", percent(states.dry_chance_now)),
        ]
    if found.drift is not None:
        rows.append(("The usual flow wanders", "yes" if found.drift.wanders else "no"))
        rows.append(("Usual flow now", f"{found.drift.next_level:,.0f} ML a year"))
    return pd.DataFrame(rows, columns=["What", "Value"])


def _number(value: float) -> str:
    return f"{value:.2f}" if math.isfinite(value) else "not to be told"


def chances_of_none(told: Sequence[OddsToday]) -> dict[str, tuple[float, ...]]:
    """Gather the chances of none, by season, of the methods that can be used."""
    return {each.method: each.chance_none for each in told if each.chance_none}


def refused(told: Sequence[OddsToday]) -> dict[str, str]:
    """Gather why the other methods cannot be used."""
    return {each.method: each.how for each in told if not each.chance_none}


def methods_finding(told: Sequence[OddsToday], years: Sequence[str]) -> str:
    """Say between which methods the first chance lies."""
    chances = {name: by_season[0] for name, by_season in chances_of_none(told).items()}
    least, most = min(chances, key=chances.__getitem__), max(chances, key=chances.__getitem__)
    return (
        f"Nothing more announced in {years[0]}: from {percent(chances[least])} by {least} to "
        f"{percent(chances[most])} by {most}"
    )


def methods_frame(told: Sequence[OddsToday], years: Sequence[str]) -> pd.DataFrame:
    """Lay out each method's chances of none."""
    return pd.DataFrame(
        {
            "Method": each.method,
            **{
                f"Nothing announced in {year}": f"{in_ten(chance)} ({percent(chance)})"
                for year, chance in zip(years, each.chance_none, strict=True)
            },
            "How it draws": each.how,
        }
        for each in told
        if each.chance_none
    )


def beside_the_record(odds: Outlook) -> str:
    """Set the spread of the methods beside the range of the record."""
    first = odds.seasons[0]
    return (
        f"{DRAWS:,} runs a method; historical has one a year observed. Beside it, with the method "
        f"in use the record alone leaves {wording.record_range(first.chance_none)} of the chance "
        f"for {first.water_year}."
    )


def coverage_finding(of_seasons: Sequence[AmountJudged]) -> str:
    """Say how often the 8-in-10 band held, and whether that is as promised."""
    bands = [next(band for band in each.bands if band.level == 0.8) for each in of_seasons]
    shares = ", ".join(percent(band.share) for band in bands)
    said = f"The 80 % band held in {shares} of years, season by season"
    out = [number for number, band in enumerate(bands, start=1) if not band.as_promised]
    if not out:
        return f"{said}: luck explains the rest"
    return f"{said}: more than luck explains in season {' and '.join(map(str, out))}"


def coverage_frame(of_seasons: Sequence[AmountJudged]) -> pd.DataFrame:
    """Lay out how often each band held, with the share's range and the range of right odds."""
    return pd.DataFrame(
        {
            "Season": number,
            "Band": percent(band.level),
            "Years": band.cases,
            "Held": percent(band.share),
            "95 % range of that": _span(band.share_low, band.share_high),
            "Right odds would hold": _span(band.accepted_low, band.accepted_high),
            "As promised": "yes" if band.as_promised else "no",
            "Independent years they are worth": round(band.effective_cases),
        }
        for number, band in _bands(of_seasons)
    )


def _bands(of_seasons: Sequence[AmountJudged]) -> list[tuple[int, Coverage]]:
    return [
        (number, band) for number, each in enumerate(of_seasons, start=1) for band in each.bands
    ]


def _span(low: float, high: float) -> str:
    return f"{percent(low)} to {percent(high)}"


def evenness_finding(of_seasons: Sequence[AmountJudged]) -> str:
    """Say in which seasons what came fell evenly over the odds."""
    uneven = [
        str(number)
        for number, each in enumerate(of_seasons, start=1)
        if each.uniformity.p_value < UNLIKELY
    ]
    if not uneven:
        return "What came fell evenly enough over the odds in every season"
    return f"What came fell unevenly over the odds in season {' and '.join(uneven)}"


def evenness_words(of_seasons: Sequence[AmountJudged]) -> list[str]:
    """Put each season's test of evenness in words."""
    return [
        f"Season {number}: {_verdict(each.uniformity.p_value)}. Right odds would look as uneven, "
        f"or more so, in {percent(each.uniformity.p_value)} of such records."
        for number, each in enumerate(of_seasons, start=1)
    ]


def _verdict(p_value: float) -> str:
    return "uneven beyond luck" if p_value < UNLIKELY else "as even as luck lets right odds be"


def evenness_frame(of_seasons: Sequence[AmountJudged]) -> pd.DataFrame:
    """Lay out the years in which what came fell in each tenth of the odds."""
    seasons = {
        f"Season {number}, years": each.pit_counts
        for number, each in enumerate(of_seasons, start=1)
    }
    return pd.DataFrame({"Tenth of the odds, the driest first": range(1, PIT_BINS + 1), **seasons})


def skill_frame(judged: MethodJudged, amount: str) -> pd.DataFrame:
    """Lay out the errors, season by season, beside the long-run record's."""
    name, unit = AMOUNTS[amount]
    return pd.DataFrame(
        {
            f"{name}": f"Season {number}",
            "Years": f"{season.cases}",
            f"Error of the odds, {unit}": wording.tidy(season.amounts[amount].crps.value),
            f"Of the long-run record, {unit}": wording.tidy(season.amounts[amount].long_run_crps),
            "Error taken away": _taken(season.amounts[amount].skill),
        }
        for number, season in enumerate(judged.seasons, start=1)
    )


def _taken(skill: Scored) -> str:
    if not math.isfinite(skill.value):
        return "none to take"
    value, low, high = (f"{100.0 * part:.0f} %" for part in (skill.value, skill.low, skill.high))
    return f"{value} ({low} to {high})"


def reliability_finding(season: SeasonJudged, number: int) -> str:
    """Say how often nothing was announced, and how often it was to be expected."""
    rows = season.events["none"].table
    expected = sum(row.mean_chance * row.cases for row in rows)
    return (
        f"Season {number}: nothing announced in {season.events['none'].happened} of "
        f"{season.cases} years, against {expected:.0f} expected"
    )
