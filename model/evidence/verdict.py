"""What does the evidence find, in typed figures that every face words for itself?

Read off the scores of `judge`: how often the 80-in-100 band held, how the error compares with the
long-run record's, whether the chance of nothing announced was said too low or too high, what had
been said before the driest years, where the odds are no better than the long-run record, how the
methods compare, and which of them the past years recommend. Numbers and findings alone: the words
are made where they are shown.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from model.evidence.calibration import Coverage
from model.evidence.counted import Counted, counted
from model.evidence.judge import AmountJudged, Evidence, MethodJudged, Replaced, SeasonJudged
from model.evidence.recommend import Recommendation
from model.evidence.reliability import Scored
from model.water_year import month_name, water_year_label

HEADLINE_BAND: Final = 0.8

UNLIKELY: Final = 0.05
"""What luck alone would bring in fewer than 5 of 100 such records is called uneven."""

USUAL: Final = 0.5
"""What comes in more than half of all years is nothing to warn of."""


@dataclass(frozen=True, slots=True)
class BandHeld:
    """How often the 80-in-100 band of the water announced held."""

    found: Literal["as_promised", "too_sure", "too_wide"]
    held: int  # in so many of the cases
    cases: int
    accepted_low: int  # right odds bring from here
    accepted_high: int  # to here


@dataclass(frozen=True, slots=True)
class ErrorTaken:
    """The share of the long-run record's error that the odds take away, 1 at best."""

    found: Literal["less", "more", "no_different", "none_to_take"]
    value: float
    low: float  # 95 %
    high: float


@dataclass(frozen=True, slots=True)
class NoneSaid:
    """Whether the chance that nothing more is announced was said as often as it came."""

    found: Literal["about_right", "too_low", "too_high"]
    happened: int
    cases: int
    expected: float  # by the chances said
    low: float  # right odds bring from here
    high: float  # to here


@dataclass(frozen=True, slots=True)
class DriestWarned:
    """What had been said before the driest years."""

    found: Literal["warned", "nothing_to_warn_of"]
    water_years: tuple[str, ...]  # the driest first
    warned: int  # of them
    threshold: float  # a chance from here on is a warning
    chance_in_driest: float  # mean
    chance_in_others: float
    false_alarms: int  # of the others, so many had a warning
    others: int
    long_run_share: float  # of so little water


@dataclass(frozen=True, slots=True)
class SeasonVerdict:
    """What is found of one season ahead."""

    band: BandHeld
    error: ErrorTaken
    uneven_by_luck: float | None  # what came fell unevenly over the odds; None: it did not
    none: NoneSaid
    driest: DriestWarned


@dataclass(frozen=True, slots=True)
class MethodLine:
    """One method beside the others, by season."""

    method: str
    error_taken: tuple[float, ...]  # of the long-run record's; not a number: it made none
    band_held_share: tuple[float, ...]  # of the 80-in-100 band


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the evidence finds of one method's odds."""

    method: str
    first_stand: str  # month
    last_stand: str
    stands: int
    seasons: tuple[SeasonVerdict, ...]
    no_better: tuple[tuple[str, int], ...]  # amount, season from 1: no better than the long run
    methods: tuple[MethodLine, ...]
    replaced: tuple[Replaced, ...]  # methods that are not listed, as another stood in for them
    recommended: Recommendation


def verdict_of(evidence: Evidence, method: str) -> Verdict | None:
    """Return what is found of a method; None where it is not listed, as another stood in for it."""
    judged = evidence.of(method)
    if judged is None:
        return None
    stands = evidence.hindcast.walk.stands
    return Verdict(
        method=method,
        first_stand=month_name(stands[0].month),
        last_stand=month_name(stands[-1].month),
        stands=len(stands),
        seasons=tuple(_season(each, number) for number, each in enumerate(judged.seasons, start=1)),
        no_better=no_better(judged),
        methods=tuple(_line(each) for each in evidence.methods),
        replaced=evidence.replaced,
        recommended=evidence.recommended,
    )


def no_better(judged: MethodJudged) -> tuple[tuple[str, int], ...]:
    """List amounts and seasons, from 1, whose odds are no better than the long-run record."""
    return tuple(
        (amount, number)
        for number, season in enumerate(judged.seasons, start=1)
        for amount, of_amount in season.amounts.items()
        if not of_amount.skill.low > 0.0
    )


def band_held(band: Coverage) -> BandHeld:
    """Describe whether a band held as often as it promised."""
    found: Literal["as_promised", "too_sure", "too_wide"] = "as_promised"
    if not band.as_promised:
        found = "too_sure" if band.share < band.accepted_low else "too_wide"
    return BandHeld(
        found=found,
        held=round(band.share * band.cases),
        cases=band.cases,
        accepted_low=round(band.accepted_low * band.cases),
        accepted_high=round(band.accepted_high * band.cases),
    )


def error_taken(skill: Scored) -> ErrorTaken:
    """Compare an error with the long-run record's."""
    found: Literal["less", "more", "no_different", "none_to_take"] = "no_different"
    if not math.isfinite(skill.value):
        found = "none_to_take"
    elif skill.low > 0.0:
        found = "less"
    elif skill.high < 0.0:
        found = "more"
    return ErrorTaken(found, skill.value, skill.low, skill.high)


def none_said(count: Counted) -> NoneSaid:
    """Describe whether a chance was said as often as it came."""
    found: Literal["about_right", "too_low", "too_high"] = "about_right"
    if count.said_too_low:
        found = "too_low"
    elif count.said_too_high:
        found = "too_high"
    return NoneSaid(found, count.happened, count.cases, count.expected, count.low, count.high)


def headline_band(announced: AmountJudged) -> Coverage:
    """Return the 80-in-100 band."""
    return next(band for band in announced.bands if band.level == HEADLINE_BAND)


def _season(season: SeasonJudged, number: int) -> SeasonVerdict:
    """Read off what is found of one season."""
    announced, driest = season.amounts["announced"], season.driest
    p_value = announced.uniformity.p_value
    return SeasonVerdict(
        band=band_held(headline_band(announced)),
        error=error_taken(announced.skill),
        uneven_by_luck=p_value if p_value < UNLIKELY else None,
        none=none_said(counted(season.events["none"].table, number)),
        driest=DriestWarned(
            found="nothing_to_warn_of" if driest.long_run_share > USUAL else "warned",
            water_years=tuple(water_year_label(12 * year + 6) for year in driest.water_years),
            warned=driest.warned,
            threshold=driest.threshold,
            chance_in_driest=driest.chance_in_driest,
            chance_in_others=driest.chance_in_others,
            false_alarms=driest.false_alarms,
            others=driest.others,
            long_run_share=driest.long_run_share,
        ),
    )


def _line(judged: MethodJudged) -> MethodLine:
    """Put one method beside the others."""
    announced = [season.amounts["announced"] for season in judged.seasons]
    return MethodLine(
        method=judged.method,
        error_taken=tuple(each.skill.value for each in announced),
        band_held_share=tuple(headline_band(each).share for each in announced),
    )
