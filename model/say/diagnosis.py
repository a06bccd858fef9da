"""How is it told what a record remembers?"""

from __future__ import annotations

from typing import Final

from model.evidence.diagnosis import UNLIKELY, Diagnosis, DryRuns, NoStates, ShiftFound, StatesFound
from model.record.drift import Drift
from model.record.widening import LONG_MEMORY_K
from model.say.method import because_in_words, short_of
from model.say.numbers import count, number, percent, times_in_100

FIT_LED_NOWHERE: Final = "the fit led nowhere"


def diagnosis_in_words(found: Diagnosis) -> str:
    """Return what the record remembers, with the reasons."""
    return " ".join([memory_in_words(found), *reasons_in_words(found)])


def memory_in_words(found: Diagnosis) -> str:
    """Return whether years bunch, and what chooses the method."""
    states = "supports" if found.no_states is None else "does not support"
    return (
        f"The record {states} a dry and a wet state. Which method to use is chosen by its odds of "
        "past years alone, not by this."
    )


def reasons_in_words(found: Diagnosis) -> list[str]:
    """Return what was found, a sentence or two each."""
    alike = "alike" if found.years_resemble else "not more alike than luck makes them"
    return [
        f"Neighbouring years are {alike} (correlation {number(found.lag_1, 2)}; independent years "
        f"stay within {number(found.lag_1_band, 2)}).",
        _shift_in_words(found.shift),
        *([_runs_in_words(found.dry_runs)] if found.dry_runs else []),
        *_states_in_words(found),
        _neighbours_in_words(found),
        *([_drift_in_words(found.drift, found.mean_ml)] if _wanders(found.drift) else []),
        *ranges_short_in_words(found),
    ]


def _neighbours_in_words(found: Diagnosis) -> str:
    """Return how few years method neighbours would rest on."""
    return (
        f"Method neighbours would rest each season on {count(found.neighbours, 'past year')}, "
        f"worth {number(found.equal_neighbours, 1)} equal ones: compare it by the evidence before "
        "trusting its narrower bands."
    )


def _wanders(drift: Drift | None) -> bool:
    return drift is not None and drift.wanders


def _runs_in_words(runs: DryRuns) -> str:
    """Return how years below the middle one come together."""
    return (
        f"Years below the middle one came up to {runs.longest} in a row, {number(runs.mean, 1)} on "
        f"average. A run of {runs.at_least} or more comes within {runs.within_years} years "
        f"{times_in_100(runs.chance)} by how often one follows another here, and "
        f"{times_in_100(runs.chance_without_memory)} if years did not remember each other."
    )


def ranges_short_in_words(found: Diagnosis) -> list[str]:
    """Return how far ranges fall short where the memory is not one that fades year by year."""
    kinds = {"two_states": found.no_states is None, "long_memory": found.hurst_k >= LONG_MEMORY_K}
    return [short_of(kind) for kind, looks_so in kinds.items() if looks_so]


def _shift_in_words(shift: ShiftFound) -> str:
    """Return what the best single shift means."""
    found = shift.shift
    sizes = f"from {number(found.mean_before)} to {number(found.mean_after)} ML a year"
    if shift.chance >= UNLIKELY:
        return (
            f"The largest shift of the mean ({sizes} after {shift.after}) is no more than shuffled "
            f"years show ({percent(shift.chance)} of them)."
        )
    if shift.explains_persistence:
        return (
            f"One shift of the mean {sizes} after {shift.after} explains the likeness: look for a "
            "change of river, gauge or use there before trusting the whole record."
        )
    return (
        f"The mean shifts {sizes} after {shift.after}, more than shuffled years do "
        f"({percent(shift.chance)} of them show as much)."
    )


def _states_in_words(found: Diagnosis) -> list[str]:
    """Return which states were found, or why none."""
    if found.states is not None and found.no_states is None:
        return [_supported(found.states)]
    return [
        f"No dry and wet states: {_why_no_states(found)}.",
        f"The data ask for blocks of {number(found.block_years.stationary, 1)} years on average, "
        "so that dry runs stay together; where years are independent blocks do no harm.",
    ]


def _supported(states: StatesFound) -> str:
    """Return which states were found."""
    bic_one, bic_two = states.fit.bic
    return (
        f"The record supports a dry and a wet state (Bayes' criterion {number(bic_two, 1)} against "
        f"{number(bic_one, 1)} with one): {states.dry_years} dry years of {states.fit.count}, a "
        f"dry spell of {number(states.chain.mean_dry_spell, 1)} years on average; the last year "
        f"was dry {times_in_100(states.dry_chance_now)}."
    )


def _why_no_states(found: Diagnosis) -> str:
    """Return why there are no two states."""
    states = found.states
    if states is None:
        return FIT_LED_NOWHERE
    bic_one, bic_two = states.fit.bic
    said: dict[NoStates | None, str] = {
        "fit_led_nowhere": FIT_LED_NOWHERE,
        "not_supported": _not_supported(states),
        "explained_by_shift": "they fit, but may be no more than that shift",
        "few_changes": f"they fit, but the state changed only {states.changes} times",
        "hardly_better": "they fit hardly better than one (Bayes' criterion "
        f"{number(bic_two, 1)} against {number(bic_one, 1)})",
        None: "",
    }
    return said[found.no_states]


def _not_supported(states: StatesFound) -> str:
    """Return why the record does not support two states."""
    if states.refused is None:
        return ""
    return because_in_words(states.refused.found, states.refused.figures)


def _drift_in_words(drift: Drift | None, mean_ml: float) -> str:
    """Return where the usual flow is now."""
    now = 0.0 if drift is None else drift.next_level
    return (
        f"The usual flow wanders: it is about {number(now)} ML a year now, against "
        f"{number(mean_ml)} over the whole record, and no method here draws from that alone."
    )
