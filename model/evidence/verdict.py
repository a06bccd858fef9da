"""What does the evidence say, in words that a lender can read?

Sentences made from the numbers of `judge`, none of them fixed: how often the 8-in-10 band held,
what had been said before the driest years, where the odds are no better than the long-run record,
and how the methods compare.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from model.evidence.calibration import Coverage
from model.evidence.counted import counted
from model.evidence.judge import AmountJudged, Evidence, MethodJudged, SeasonJudged, Warned
from model.evidence.reliability import Scored
from model.water_year import month_name, water_year_label

SEASON_NAMES: Final = ("this season", "next season", "the season after next")
HEADLINE_BAND: Final = 0.8

UNLIKELY: Final = 0.05
"""What luck alone would bring in fewer than 5 of 100 such records is called uneven."""

USUAL: Final = 0.5
"""What comes in more than half of all years is nothing to warn of."""

NONE_SAID: Final = "The chance of nothing announced was said"
"""Begins the paragraph that tells whether."""

AMOUNT_NAMES: Final = {"announced": "water announced", "storage": "the dam"}


def verdict(evidence: Evidence, method: str) -> list[str]:
    """Write the verdict on one method, a sentence or two a paragraph."""
    judged = evidence.of(method)
    return [
        _how(evidence, judged),
        none_words(judged),
        *(_season_words(season, number) for number, season in enumerate(judged.seasons)),
        _no_better(judged),
        compared(evidence, method),
        "The years were replayed through these rules with the record known at the time: this tries "
        "the odds, not whether the rules are the valley's.",
    ]


def none_words(judged: MethodJudged) -> str:
    """Say whether the chance of nothing announced was said too low or too high."""
    found = [
        counted(season.events["none"].table, number)
        for number, season in enumerate(judged.seasons, start=1)
    ]
    low = [SEASON_NAMES[at] for at, each in enumerate(found) if each.said_too_low]
    high = [SEASON_NAMES[at] for at, each in enumerate(found) if each.said_too_high]
    said = [
        *([f"too low {_listed(low)}"] if low else []),
        *([f"too high {_listed(high)}"] if high else []),
    ]
    told = "; ".join(
        f"{SEASON_NAMES[at]} in {each.happened} of {each.cases} years, {each.expected:.0f} "
        f"expected (right odds bring {math.ceil(each.low)} to {math.floor(each.high)})"
        for at, each in enumerate(found)
    )
    return f"{NONE_SAID} {' and '.join(said) or 'about right'}. Nothing more was announced {told}."


def compared(evidence: Evidence, method: str) -> str:
    """Compare the methods by the error they take off the long-run record, water announced."""
    shares = ", ".join(
        f"{each.method} "
        + " / ".join(
            f"{_percent(season.amounts['announced'].skill.value)}" for season in each.seasons
        )
        for each in evidence.methods
    )
    held = ", ".join(
        f"{each.method} "
        + " / ".join(
            str(round(100 * _headline(season.amounts["announced"]).share))
            for season in each.seasons
        )
        for each in evidence.methods
    )
    best = max(evidence.methods, key=_mean_skill)
    order = (
        f"{method} has the least error over all seasons"
        if best.method == method
        else f"{best.method} has the least error over all seasons, {method} is the one used here"
    )
    return (
        f"Share of the long-run record's error taken away, season by season: {shares}. "
        f"The 8-in-10 band held, in 100 years: {held}. Of these methods {order}."
    )


def _how(evidence: Evidence, judged: MethodJudged) -> str:
    """Say what was tried."""
    stands = evidence.hindcast.walk.stands
    first, last = month_name(stands[0].month), month_name(stands[-1].month)
    words = (
        f"Standing in every year from {first} to {last} ({len(stands)} years), knowing only the "
        f"record before it, method {judged.method} gave odds of the water announced to date at the "
        "season's end. They were held against what the rules give in the observed years."
    )
    if judged.stood_in_years:
        words += f" In {judged.stood_in_years} years blocks stood in for it ({judged.stood_in})."
    return words


def _season_words(season: SeasonJudged, number: int) -> str:
    """Say how the odds of one season held."""
    announced, name = season.amounts["announced"], SEASON_NAMES[number]
    sentences = (
        f"{name[0].upper()}{name[1:]}: {_band_words(_headline(announced))}",
        _skill_words(announced.skill),
        _evenness_words(announced),
        _warned_words(season.driest),
    )
    return " ".join(sentence for sentence in sentences if sentence)


def _band_words(band: Coverage) -> str:
    """Say how often the 8-in-10 band held."""
    held = round(band.share * band.cases)
    low, high = round(band.accepted_low * band.cases), round(band.accepted_high * band.cases)
    if band.as_promised:
        judgement = "as promised"
    elif band.share < band.accepted_low:
        judgement = "less often than promised: the odds were too sure"
    else:
        judgement = "more often than promised: the odds were too wide"
    return (
        f"the 8-in-10 band held in {held} of {band.cases} years (right odds bring {low} to "
        f"{high}), {judgement}."
    )


def _skill_words(skill: Scored) -> str:
    """Say how the error compares with that of the long-run record."""
    if not math.isfinite(skill.value):
        return "The long-run record made no error, so there was none to take away."
    span = f"{_percent(skill.low)} to {_percent(skill.high)}"
    if skill.low > 0.0:
        return f"Its error was {_percent(skill.value)} less than the long-run record's ({span})."
    if skill.high < 0.0:
        return f"Its error was {_percent(-skill.value)} more than the long-run record's ({span})."
    return f"It was no better than the long-run record ({_percent(skill.value)}; {span})."


def _evenness_words(announced: AmountJudged) -> str:
    """Say so where what came fell unevenly over the odds."""
    p_value = announced.uniformity.p_value
    if p_value >= UNLIKELY:
        return ""
    chance = f"{round(100 * p_value)} of 100" if p_value >= 0.01 else "less than 1 of 100"
    return f"Over the whole spread, what came fell unevenly over the odds (by luck in {chance})."


def _warned_words(driest: Warned) -> str:
    """Say what had been said before the driest years."""
    if driest.long_run_share > USUAL:
        return (
            f"As little water as in the driest years came in {_percent(driest.long_run_share)} of "
            "all years: there is no dry year to warn of."
        )
    years = ", ".join(water_year_label(12 * year + 6) for year in driest.water_years[:3])
    return (
        f"Before {driest.warned} of the {len(driest.water_years)} driest years ({years} the "
        f"driest) it had warned: a chance of {_percent(driest.threshold)} or more of so little "
        f"water. It gave such a year {_percent(driest.chance_in_driest)} on average, other years "
        f"{_percent(driest.chance_in_others)}; {driest.false_alarms} of {driest.others} other "
        "years had a warning too."
    )


def _no_better(judged: MethodJudged) -> str:
    """List where the odds are no better than the long-run record."""
    places = [
        f"{AMOUNT_NAMES[amount]} {SEASON_NAMES[number]}"
        for number, season in enumerate(judged.seasons)
        for amount, of_amount in season.amounts.items()
        if not of_amount.skill.low > 0.0
    ]
    if not places:
        return "Everywhere it was better than the long-run record."
    return f"No better than the long-run record: {_listed(places)}."


def _headline(announced: AmountJudged) -> Coverage:
    """Give the 8-in-10 band."""
    return next(band for band in announced.bands if band.level == HEADLINE_BAND)


def _mean_skill(judged: MethodJudged) -> float:
    """Add up what a method takes off the long-run record's error; nothing where there is none."""
    skills = [season.amounts["announced"].skill.value for season in judged.seasons]
    return sum(skill for skill in skills if math.isfinite(skill))


def _listed(places: Sequence[str]) -> str:
    return places[0] if len(places) == 1 else f"{', '.join(places[:-1])} and {places[-1]}"


def _percent(share: float) -> str:
    """Say a share in whole percent."""
    return f"{round(100 * share)} %" if math.isfinite(share) else "none to take"
