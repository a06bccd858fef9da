"""How is it said how sequences were drawn, and from what river?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from model.outlook.outlook import Outlook, RecordResampling
from model.plan.plan import Drawing
from model.record.record import Record
from model.record.widening import STAYS_SHORT, Widening
from model.say.numbers import count, number, of_100, percent, plain, rate, times_in_100
from model.sequences.draw import RECOMMENDED
from model.sequences.drying import Drying, drying_of

BLOCKS: Mapping[str, str] = {
    "stationary": "runs of past years from anywhere in the record, some short and some long by "
    "chance; the record's end goes on at its beginning",
    "circular": "runs of past years of one length from anywhere in the record; its end goes on at "
    "its beginning",
    "moving": "runs of past years of one length, each whole within the record",
    "independent": "single past years, each as likely as any other; no dry run is kept whole",
}
"""What each kind of blocks draws."""

FEWEST_SEQUENCES = 100
"""Below so many sequences odds cannot rest on them, and that is said."""


def method_in_words(settings: Mapping[str, str | float]) -> str:
    """Return how sequences were drawn, from a method's settings.

    Examples
    --------
    >>> method_in_words({"method": "blocks", "kind": "stationary", "block_years": 4.21})
    'runs of past years, about 4 years at a time'
    >>> method_in_words({"method": "historical", "in_place_of": "blocks", "because": "not_tried"})
    'every past start in turn, in place of blocks: the methods have not been tried on the past \
years yet'
    """
    words = _WORDS.get(str(settings["method"]), _every_start)(settings)
    if "in_place_of" in settings:
        asked = str(settings["in_place_of"])
        asked = "the recommended method" if asked == RECOMMENDED else asked
        words += f", in place of {asked}: {because_in_words(str(settings['because']), settings)}"
    return words


def because_in_words(found: str, figures: Mapping[str, str | float]) -> str:
    """Return why another method stands in.

    Examples
    --------
    >>> because_in_words("state_too_rare", {"fewest_years": 3.2, "years": 90})
    'one of the states holds only 3.2 of 90 years'
    """
    shown = {
        name: number(float(value), 0 if name == "years" else 1)
        for name, value in figures.items()
        if name in _BECAUSE_FIGURES
    }
    return BECAUSE[found].format(**shown)


BECAUSE: Final[Mapping[str, str]] = {
    "not_tried": "the methods have not been tried on the past years yet",
    "opening_off_the_record": "the record does not reach the month before the opening",
    "years_alike": "all years of the record are alike",
    "fit_led_nowhere": "no start of the switching fit led to an optimum",
    "one_state_as_well": "one state explains the record as well: Bayes' criterion is {bic_one} "
    "with one and {bic_two} with two",
    "state_too_rare": "one of the states holds only {fewest_years} of {years} years",
    "states_do_not_last": "the states do not last: a dry year does not make the next one more "
    "likely dry",
}
"""Why the record does not support what was asked for."""

_BECAUSE_FIGURES: Final = ("bic_one", "bic_two", "fewest_years", "years")


def _every_start(settings: Mapping[str, str | float]) -> str:
    return "every past start in turn"


def _blocks(settings: Mapping[str, str | float]) -> str:
    years = float(settings["block_years"])
    if settings.get("kind") == "independent":
        return "single past years"
    if settings.get("kind", "stationary") == "stationary":
        return f"runs of past years, about {count(round(years), 'year')} at a time"
    return f"runs of {plain(round(years, 1))} past years"


def _present(settings: Mapping[str, str | float]) -> str:
    return f"{_blocks(settings)}, their flow moved to where the river stands today"


def _neighbours(settings: Mapping[str, str | float]) -> str:
    inflow = number(float(settings["last_twelve_months_inflow_ml"]))
    words = f"seasons that followed a year like the present one ({inflow} ML)"
    if "climate_indices" in settings:
        words += f" and the same {settings['climate_indices']}"
    return words


def _regimes(settings: Mapping[str, str | float]) -> str:
    dry, wet, now = (
        times_in_100(float(settings[key]))
        for key in ("stays_dry", "stays_wet", "opening_dry_chance")
    )
    known = "as stated" if settings["opening_state"] == "stated" else "by what the record tells"
    return (
        f"dry and wet states (a dry year is followed by a dry one {dry}, a wet one by a wet one "
        f"{wet}; now dry {now}, {known})"
    )


_WORDS = {
    "blocks": _blocks,
    "present": _present,
    "neighbours": _neighbours,
    "regimes": _regimes,
}


def blocks_in_words(settings: Mapping[str, str | float]) -> str:
    """Return what the kind of blocks means; empty where none are drawn."""
    kind = settings.get("kind")
    return "" if kind is None else f" {str(kind).capitalize()} blocks: {BLOCKS[str(kind)]}."


def drying_in_words(drying: Drying | None) -> str:
    """Return what is done to the flow; empty where nothing is.

    Examples
    --------
    >>> drying_in_words(Drying(0.9, 2.5, 0.77, 0.9, 0.86))
    'flow times 0.90 in the wettest months down to 0.77 in the driest (factor 0.9, elasticity \
2.5), 0.86 of the mean flow'
    >>> drying_in_words(Drying(0.9, None, 0.9, 0.9, 0.9)), drying_in_words(None)
    ('all flow times 0.9', '')
    """
    if drying is None:
        return ""
    if drying.by_month:
        return (
            f"flow moved month by month (times {number(drying.driest, 2)} to "
            f"{number(drying.wettest, 2)}), {number(drying.mean_flow_left, 2)} of the mean flow"
        )
    if drying.elasticity is None:
        return f"all flow times {plain(drying.factor)}"
    wettest, driest, left = (
        number(value, 2) for value in (drying.wettest, drying.driest, drying.mean_flow_left)
    )
    return (
        f"flow times {wettest} in the wettest months down to {driest} in the driest (factor "
        f"{plain(drying.factor)}, elasticity {plain(drying.elasticity)}), {left} of the mean flow"
    )


def river_in_words(record: Record, drawing: Drawing) -> str:
    """Return whether the plan counts on a drier river than the record, or does not.

    Examples
    --------
    >>> river_in_words(None, Drawing())
    'Flow is as observed: this does not count on a drier river than the record.'
    """
    said = []
    drying = drying_of(record, drawing)
    if drying is not None:
        than = "wetter" if drying.mean_flow_left > 1.0 else "drier"
        said.append(f"This counts on a river {than} than the record: {drying_in_words(drying)}.")
    said += [*_weather(drawing), *_view(drawing), *_index(drawing)]
    if drawing.method == "regimes" and drawing.opening_dry_chance is not None:
        said.append(
            "The chance that the season before was a dry one is the plan's, "
            f"{rate(drawing.opening_dry_chance)}, not the record's."
        )
    if drying is None:
        said.append("Flow is as observed: this does not count on a drier river than the record.")
    return " ".join(said)


def _weather(drawing: Drawing) -> list[str]:
    """Return how rain, ETo and evaporation are moved."""
    if drawing.drying is None:
        return []
    moved = [
        f"{name} times {plain(min(by_month))} to {plain(max(by_month))} by month"
        for name, by_month in (
            ("rain", drawing.drying.rain),
            ("ETo", drawing.drying.eto),
            ("evaporation from the lake", drawing.drying.lake_evaporation),
        )
        if by_month is not None
    ]
    return [f"Of the weather that is drawn: {', '.join(moved)}."] if moved else []


def _view(drawing: Drawing) -> list[str]:
    """Return what the user's own view is."""
    view = drawing.view
    if view is None:
        return []
    if view.thirds is None:
        said = f"above the middle of the record {times_in_100(view.chances[1])}"
    else:
        dry, middle, wet = map(of_100, view.thirds)
        said = f"a dry third {dry} times in 100, a middle one {middle}, a wet one {wet}"
    whose = f" ({view.source})" if view.source else ""
    return [
        f"These odds follow a view of {view.of} from {view.first_month} to {view.last_month}"
        f"{whose}: {said}, believed {percent(view.belief)}. It is a view, not a finding from the "
        "record."
    ]


def _index(drawing: Drawing) -> list[str]:
    """Return the climate index that the plan states."""
    if not drawing.climate_index_today:
        return []
    stated = ", ".join(
        f"{name} {plain(value)}"
        for name, value in zip(drawing.climate_indices, drawing.climate_index_today, strict=True)
    )
    return [f"The climate index is the plan's, not the record's: {stated}."]


def drawn_from(odds: Outlook) -> str:
    """Return how the sequences were drawn, and from what."""
    first, last = odds.record.span
    few = ""
    if odds.count < FEWEST_SEQUENCES:
        few = f" Too few for odds to rest on: draw {FEWEST_SEQUENCES} or more."
    return (
        f"{count(odds.count, 'possible sequence')} of seasons, {method_in_words(odds.method)}, "
        f"from {odds.record.name} ({first} to {last}).{few} "
        f"{river_in_words(odds.record, odds.plan.sequences)}"
    )


def ranges_in_words(how: RecordResampling) -> str:
    """Return where the ranges come from."""
    return (
        "Ranges are 95 %: what the record supports, its years drawn again in runs "
        f"({how.resamples} times), {number(how.widening.factor, 2)} times as wide for the memory "
        "that runs forget." + "".join(f" {each}" for each in short_in_words(how.widening))
    )


def short_in_words(widened: Widening) -> list[str]:
    """Return how far ranges still fall short on a record that looks like one of long memory."""
    return [short_of("long_memory")] if widened.stays_short else []


def short_of(kind: str) -> str:
    """Return how far ranges fall short where the memory is of a kind of `STAYS_SHORT`.

    Examples
    --------
    >>> short_of("long_memory")[:45]
    'This record looks like one of long memory. Of'
    """
    low, high = STAYS_SHORT[kind]
    memory = kind.replace("_", " ")
    return (
        f"This record looks like one of {memory}. Of ranges meant to hold the truth 95 times in "
        f"100, only {low} to {high} in 100 did so on such made-up records: take each range here as "
        "too narrow."
    )
