"""Which sequences of one valley come together with which of another?

Nothing in a plan says. The user states it: the same years of the records in all valleys at once, or
valleys that know nothing of each other. Left unsaid, valleys are not added up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from model.book.drawn import AGAIN_EACH, resampled, sequences_of, valley_setting
from model.book.folder import Valley
from model.errors import Fault, InputError
from model.outlook.ahead import Drawn
from model.outlook.outlook import RecordResampling
from model.outlook.setting import Setting
from model.sequences.slices import IntArray, Sequences
from model.streams import Stream, generator
from model.water_year import format_month

Joint = Literal["same_years", "independent"]

YEARS_ALONE: Final = ("blocks", "historical")
"""Methods that draw years, whatever flowed in them: they can be drawn once for many valleys."""


@dataclass(frozen=True, slots=True)
class Together:
    """Sequences of one valley in the order in which they come together with others'."""

    drawn: IntArray  # (sequence,) which different sequence of the valley each is
    resampled: IntArray  # (resample x draws,) likewise on resampled records


def check_joint(valleys: Sequence[Valley], joint: Joint) -> None:
    """Refuse to add up valleys whose seasons are not the same, or that draw more than years.

    Raises
    ------
    InputError
        With every fault found.
    """
    settings = [(valley, valley_setting(valley)) for valley in valleys]
    first, faults = settings[0][1].calendar, []
    for valley, setting in settings:
        name, calendar = valley.plan.valley.name, setting.calendar
        if calendar != first:
            found = f"{format_month(calendar.opening_month)}, {calendar.seasons} seasons"
            allowed = f"{format_month(first.opening_month)}, {first.seasons} seasons in all"
            faults.append(Fault(f"{name}: opening", found, "another valley's run differs", allowed))
        if joint == "same_years" and not _draws_years_alone(setting):
            method = str(setting.method.settings()["method"])
            problem = "it draws more than years, which cannot be the same in another valley"
            faults.append(Fault(f"{name}: method", method, problem, " or ".join(YEARS_ALONE)))
    if faults:
        raise InputError("--joint", faults)


def _draws_years_alone(setting: Setting) -> bool:
    return setting.method.settings()["method"] in YEARS_ALONE and setting.viewed is None


@dataclass(frozen=True, slots=True)
class SameYears:
    """Years drawn once for many valleys."""

    sequences: Mapping[str, Sequences]  # by key of the valley, its rows of the same months
    again: IntArray  # (resample x draws,) which of them resampled records hold
    how: RecordResampling


def same_years(valleys: Sequence[Valley], lead: Valley) -> SameYears:
    """Draw years once for all valleys, from the months that all records hold.

    Parameters
    ----------
    valleys
        All of them.
    lead
        By whose settings the years are drawn.

    Raises
    ------
    InputError
        No months, or too few, are on all records.
    """
    records = {valley.key: valley.record for valley in valleys}
    first = max(record.first_month for record in records.values())
    last = min(record.last_month for record in records.values())
    setting = valley_setting(lead)
    record = records[lead.key]
    inside = [
        at
        for at, row in enumerate(setting.slices.first_rows.tolist())
        if first <= record.first_month + row and record.first_month + row + 11 <= last
    ]
    if len(inside) < setting.calendar.seasons:
        found = f"{len(inside)} years"
        allowed = "records that share as many whole years as the run has seasons"
        problem = "too few years are on all records"
        raise InputError("--joint", [Fault("same_years", found, problem, allowed)])
    setting = replace(setting, slices=setting.slices.picked(np.array(inside, dtype=np.intp)))
    shared = sequences_of(setting)
    again, how = resampled(setting, shared)
    sequences = {
        key: Sequences(shared.rows + record.first_month - other.first_month)
        for key, other in records.items()
    }
    return SameYears(sequences, again, how)


def together(
    drawn: Mapping[str, Drawn], years: SameYears | None, seed: int
) -> tuple[dict[str, Together], RecordResampling]:
    """Return how the sequences of valleys come together.

    Parameters
    ----------
    drawn
        By key of the valley.
    years
        That were drawn for all of them; None: the valleys know nothing of each other.
    seed
        Of the numbers by which independent valleys are put side by side.
    """
    if years is not None:
        same = {key: Together(d.drawn, d.drawn[years.again]) for key, d in drawn.items()}
        return same, years.how
    count = max(len(each.drawn) for each in drawn.values())
    found = {}
    for number, (key, each) in enumerate(drawn.items()):
        rng = generator(seed, Stream.BOOK_INDEPENDENT, number)
        own = rng.permutation(np.resize(each.drawn, count))
        again = rng.permuted(each.resampled.reshape(-1, AGAIN_EACH), axis=1)
        found[key] = Together(own, again.ravel())
    return found, max((d.how for d in drawn.values()), key=lambda how: how.widening.factor)
