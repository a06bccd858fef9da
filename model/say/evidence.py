"""What does the evidence say, in words that a lender can read?

Sentences made from the figures of `verdict_of`, none of them fixed: how often the band of 80 times
in 100 held, what had been said before the driest years, where the odds are no better than the
long-run record, how the methods compare, and which one the past years recommend.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from model.evidence.judge import Replaced
from model.evidence.recommend import SEASONS_COUNTED, Recommendation
from model.evidence.verdict import (
    BandHeld,
    DriestWarned,
    ErrorTaken,
    MethodLine,
    NoneSaid,
    SeasonVerdict,
    Verdict,
)
from model.evidence.whole import Whole
from model.say.announced import HINDSIGHT, held_in_words, offer_in_words
from model.say.diagnosis import diagnosis_in_words
from model.say.dry_years import worst_in_words
from model.say.method import because_in_words
from model.say.methods_today import today_in_words
from model.say.numbers import capital, listed, number
from model.say.storage import storage_in_words

SEASON_NAMES: Final = ("this season", "next season", "the season after next")

LIMITS: Final = (
    "The years were replayed through these rules with the record known at the time: this tries the "
    "odds, not whether the rules are the valley's."
)

NONE_SAID: Final = "The chance of nothing announced was said"
"""Begins the paragraph that tells whether."""

AMOUNT_NAMES: Final = {"announced": "water announced", "storage": "the dam"}


def evidence_in_words(whole: Whole) -> list[str]:
    """Describe all the evidence, a paragraph each."""
    verdict = whole.verdict
    said = verdict_in_words(verdict) if verdict else replaced_in_words(whole.evidence.replaced)
    return [
        *said,
        *([held_in_words(whole.held), HINDSIGHT] if whole.held else []),
        *([offer_in_words(whole.offer)] if whole.offer else []),
        *([storage_in_words(whole.storage)] if whole.storage else []),
        diagnosis_in_words(whole.diagnosis),
        today_in_words(whole.today),
        *worst_in_words(whole.worst),
    ]


def verdict_in_words(verdict: Verdict) -> list[str]:
    """Return the verdict on one method, a sentence or two a paragraph."""
    return [
        _how(verdict),
        none_in_words([season.none for season in verdict.seasons]),
        *(_season(season, at) for at, season in enumerate(verdict.seasons)),
        no_better_in_words(verdict),
        recommended_in_words(verdict.recommended),
        _compared(verdict),
        *replaced_in_words(verdict.replaced),
        LIMITS,
    ]


def headline_of(verdict: Verdict) -> str:
    """Return the finding: a chance of none said wrongly, else how often this season's band held."""
    low, high = _said_wrongly([season.none for season in verdict.seasons])
    if low or high:
        return f"Tried on the observed years, the {NONE_SAID[4:]} {_wrongly(low, high)}"
    return f"Tried on the observed years, {_band(verdict.seasons[0].band)}".rstrip(".")


def first_in_words(verdict: Verdict) -> list[str]:
    """Return what a reader needs first: all of this season, and of later ones what matters most."""
    this, *later = verdict.seasons
    return [
        _how(verdict),
        none_in_words([season.none for season in verdict.seasons]),
        _season(this, 0),
        *(
            f"{capital(SEASON_NAMES[at])}: {_band(season.band)} {_error(season.error)}"
            for at, season in enumerate(later, start=1)
        ),
        no_better_in_words(verdict),
        recommended_in_words(verdict.recommended),
        LIMITS,
    ]


def behind_in_words(verdict: Verdict) -> list[str]:
    """Return what is in small print behind it: the rest of later seasons, and the methods."""
    rest = (
        (at, " ".join(filter(None, (_evenness(season.uneven_by_luck), _warned(season.driest)))))
        for at, season in enumerate(verdict.seasons)
        if at
    )
    return [
        *(f"{capital(SEASON_NAMES[at])}: {said}" for at, said in rest if said),
        _compared(verdict),
        *replaced_in_words(verdict.replaced),
    ]


def none_in_words(by_season: Sequence[NoneSaid]) -> str:
    """Describe whether the chance of nothing announced was said too low or too high."""
    low, high = _said_wrongly(by_season)
    told = "; ".join(
        f"{SEASON_NAMES[at]} in {each.happened} of {each.cases} years, {number(each.expected)} "
        f"expected (right odds bring {math.ceil(each.low)} to {math.floor(each.high)})"
        for at, each in enumerate(by_season)
    )
    return f"{NONE_SAID} {_wrongly(low, high) or 'about right'}. Nothing more was announced {told}."


def _said_wrongly(by_season: Sequence[NoneSaid]) -> tuple[list[str], list[str]]:
    """Return the seasons of which a chance of none was said too low, and too high."""
    low = [SEASON_NAMES[at] for at, each in enumerate(by_season) if each.found == "too_low"]
    high = [SEASON_NAMES[at] for at, each in enumerate(by_season) if each.found == "too_high"]
    return low, high


def _wrongly(low: Sequence[str], high: Sequence[str]) -> str:
    """Return how a chance of none was said; empty where it was about right."""
    said = [
        *([f"too low {listed(low)}"] if low else []),
        *([f"too high {listed(high)}"] if high else []),
    ]
    return " and ".join(said)


def recommended_in_words(found: Recommendation) -> str:
    """Describe which method the past years recommend, and what choosing it earned."""
    gain = found.nested_gain[0]
    earned = (
        f"with the method chosen at each stand by the stands before it, the error was "
        f"{_percent(found.nested_skill[0].value)} less than the long-run record's this season"
    )
    beside = (
        f"{_percent(abs(gain.value))} of it {'more' if gain.value >= 0.0 else 'less'} than "
        "every start in turn takes away"
    )
    return (
        f"Over {SEASONS_COUNTED} seasons the past years recommend {found.method}: {earned}, "
        f"{beside}."
    )


def chosen_in_words(found: Recommendation | None) -> str:
    """Describe which method is used where a plan names none."""
    if found is None:
        return (
            "The plan names no method, and the record is too short to try the methods on its past "
            "years: every observed start is played in turn (historical)."
        )
    return (
        f"The plan names no method. {recommended_in_words(found)} It is used here; name it in the "
        "plan's [sequences] to leave this trial out."
    )


def replaced_in_words(replaced: Sequence[Replaced]) -> list[str]:
    """Describe which methods are not listed, as another stood in for them."""
    return [
        f"{each.method} is not listed: another method stood in for it at {each.stands} stands "
        f"({because_in_words(each.because.found, each.because.figures)})."
        for each in replaced
    ]


def _how(verdict: Verdict) -> str:
    """Describe what was tried."""
    return (
        f"Standing in every year from {verdict.first_stand} to {verdict.last_stand} "
        f"({verdict.stands} years), knowing only the record before it, method {verdict.method} "
        "gave odds of the water announced to date at the season's end. They were held against "
        "what the rules give in the observed years."
    )


def _season(season: SeasonVerdict, at: int) -> str:
    """Describe how the odds of one season held."""
    name = SEASON_NAMES[at]
    sentences = (
        f"{capital(name)}: {_band(season.band)}",
        _error(season.error),
        _evenness(season.uneven_by_luck),
        _warned(season.driest),
    )
    return " ".join(sentence for sentence in sentences if sentence)


def _band(band: BandHeld) -> str:
    """Describe how often the band of 80 times in 100 held."""
    judgement = {
        "as_promised": "as promised",
        "too_sure": "less often than promised: the odds were too sure",
        "too_wide": "more often than promised: the odds were too wide",
    }[band.found]
    return (
        f"the band of 80 times in 100 held in {band.held} of {band.cases} years (right odds bring "
        f"{band.accepted_low} to {band.accepted_high}), {judgement}."
    )


def _error(error: ErrorTaken) -> str:
    """Describe how the error compares with that of the long-run record."""
    span = f"{_percent(error.low)} to {_percent(error.high)}"
    if error.found == "none_to_take":
        return "The long-run record made no error, so there was none to take away."
    if error.found == "less":
        return f"Its error was {_percent(error.value)} less than the long-run record's ({span})."
    if error.found == "more":
        return f"Its error was {_percent(-error.value)} more than the long-run record's ({span})."
    return f"It was no better than the long-run record ({_percent(error.value)}; {span})."


def _evenness(by_luck: float | None) -> str:
    """Explain where what came fell unevenly over the odds."""
    if by_luck is None:
        return ""
    chance = f"{round(100 * by_luck)} of 100" if by_luck >= 0.01 else "less than 1 of 100"
    return f"Over the whole spread, what came fell unevenly over the odds (by luck in {chance})."


def _warned(driest: DriestWarned) -> str:
    """Describe what had been said before the driest years."""
    if driest.found == "nothing_to_warn_of":
        return (
            f"As little water as in the driest years came in {_percent(driest.long_run_share)} of "
            "all years: there is no dry year to warn of."
        )
    return (
        f"Before {driest.warned} of the {len(driest.water_years)} driest years "
        f"({', '.join(driest.water_years[:3])} the driest) it had warned: a chance of "
        f"{_percent(driest.threshold)} or more of so little water. It gave such a year "
        f"{_percent(driest.chance_in_driest)} on average, other years "
        f"{_percent(driest.chance_in_others)}; {driest.false_alarms} of {driest.others} other "
        "years had a warning too."
    )


def no_better_in_words(verdict: Verdict) -> str:
    """Return where the odds are no better than the long-run record."""
    places = verdict.no_better
    if not places:
        return "Everywhere it was better than the long-run record."
    named = [f"{AMOUNT_NAMES[amount]} {SEASON_NAMES[season - 1]}" for amount, season in places]
    return f"No better than the long-run record: {listed(named)}."


def _compared(verdict: Verdict) -> str:
    """Compare the methods by the error they take off the long-run record, water announced."""
    shares = ", ".join(
        f"{line.method} {' / '.join(map(_percent, line.error_taken))}" for line in verdict.methods
    )
    held = ", ".join(
        f"{line.method} {' / '.join(str(round(100 * share)) for share in line.band_held_share)}"
        for line in verdict.methods
    )
    best = max(verdict.methods, key=_total_taken).method
    order = (
        f"{best} has the least error over all seasons"
        if best == verdict.method
        else f"{best} has the least error over all seasons, {verdict.method} is the one used here"
    )
    return (
        f"Share of the long-run record's error taken away, season by season: {shares}. "
        f"The band of 80 times in 100 held, in 100 years: {held}. Of these methods {order}."
    )


def _total_taken(line: MethodLine) -> float:
    """Add up what a method takes off the long-run record's error; nothing where there is none."""
    return sum(taken for taken in line.error_taken if math.isfinite(taken))


def _percent(share: float) -> str:
    """Describe a share in whole percent."""
    return f"{number(100 * share)} %" if math.isfinite(share) else "none to take"
