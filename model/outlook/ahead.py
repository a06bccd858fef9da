"""What does a page show of the seasons ahead, month by month, and why is so much set aside today?

The same run of the valley that gives the odds also gives bands by month and today's assessment: one
run, so that page and files cannot differ. The first assessment does not depend on what comes: it
rests on the dam as it stands and on the record.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from model.outlook.chances import ordered_quantiles
from model.outlook.outlook import Outlook, RecordResampling, outlook_of, resampled_sequences
from model.outlook.replay import Ledger, ledger_of_rows
from model.outlook.seasons import SeasonResults
from model.outlook.setting import Setting, setting_of
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.drying import flow_factors
from model.sequences.slices import IntArray, Method, Sequences
from model.sequences.unique import Leg, unique_sequences
from model.sequences.years import years_of
from model.valley.rules import Rules
from model.valley.run import LEDGER, Column, Month, Noted, commitments

BAND_FRACS: Final = (0.1, 0.25, 0.5, 0.75, 0.9)
"""Chances of non-exceedance of the bands."""

BANDED: Final = ("announced_to_date_ml_per_share", "account_ml_per_share", "storage_end_ml")
"""What is shown as bands."""

_COLUMNS: Final[Mapping[str, Column]] = MappingProxyType(
    {name: LEDGER[name] for name in BANDED}
    | {"announced_to_date_ml_per_share": lambda m: m.end.water_to_date_ml_per_share}
)
"""As in a ledger; where capacity is shared, what is credited stands for what is announced."""


@dataclass(frozen=True, slots=True)
class SetAside:
    """One assessment: what is counted on, and what is set aside of it, ML at the dam."""

    in_dam_ml: float  # above dead storage
    assured_inflow_ml: float
    commitments_ml: Mapping[str, float]  # what is set aside, in its order
    announced_ml_per_share: float

    @property
    def resource_ml(self) -> float:
        """All that is counted on."""
        return self.in_dam_ml + self.assured_inflow_ml

    @property
    def free_ml(self) -> float:
        """What is left over; below 0: what is short."""
        return self.resource_ml - sum(self.commitments_ml.values())


@dataclass(frozen=True, slots=True)
class WaterAhead:
    """The odds, the bands by month, and today's assessment."""

    outlook: Outlook
    first_month: int  # month number
    today: SetAside
    noted: tuple[Noted, ...]  # batches of the different sequences; the names of BANDED
    drawn: IntArray  # (sequence,) which of them each of the plan's sequences is

    def by_month(self, name: str) -> FloatArray:
        """(sequence, month) one amount; laid out when asked for."""
        different = np.concatenate([batch.laid_out(name) for batch in self.noted])
        return different.T.take(self.drawn, axis=1).T

    def bands(self, name: str) -> FloatArray:
        """(BAND_FRACS, month) the bands of one amount; ordered when asked for."""
        return ordered_quantiles(np.sort(self.by_month(name), axis=0), BAND_FRACS)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What may come. It does not depend on where dam and accounts stand, nor on the rules."""

    method: Method
    batches: tuple[tuple[Leg, ...], ...]  # of the different sequences
    drawn: IntArray  # (sequence,) which of them each of the plan's sequences is
    resampled: IntArray  # (sequence,) likewise those of the resampled records
    how: RecordResampling


def draw_ahead(plan: Plan, record: Record, seasons: int | None = None) -> Drawn:
    """Draw all that a plan asks for; it serves every plan with this drawing and opening month.

    Parameters
    ----------
    plan, record
        What the user gave.
    seasons
        Of the run; as many as the plan says if left out.

    Raises
    ------
    PlanError
        Plan and record do not fit together.
    """
    setting = setting_of(plan, record, seasons=seasons)
    sequences = Sequences.joined(setting.batches())
    resampled, how = resampled_sequences(setting)
    years = years_of(plan, record.months, setting.calendar.slices)
    different = unique_sequences(Sequences.joined([sequences, resampled])).meeting(years)
    drawn, again = np.split(different.places, [len(sequences)])
    return Drawn(setting.method, different.batches(), drawn, again, how)


def look_ahead(plan: Plan, record: Record, drawn: Drawn | None = None) -> WaterAhead:
    """Run the valley through a plan's sequences and keep what a page shows.

    Parameters
    ----------
    plan, record
        What the user gave.
    drawn
        What `draw_ahead` gave for the same record, drawing and opening month; drawn if left out.

    Raises
    ------
    PlanError
        Plan and record do not fit together.
    """
    drawn = drawn or draw_ahead(plan, record)
    setting = setting_of(plan, record, drawn.method)
    parts: list[SeasonResults] = []
    noted: list[Noted] = []
    today = None
    for legs in drawn.batches:
        months = setting.months_of_legs(legs)
        first = next(months)
        noted.append(Noted(_COLUMNS))
        parts.append(setting.gathered(noted[-1].passing(itertools.chain([first], months)), 1))
        today = today or set_aside(first, setting.rules)
    assert today is not None  # a plan has at least one sequence
    played = SeasonResults.joined(parts)
    return WaterAhead(
        outlook=outlook_of(
            setting, played.of(drawn.drawn), (played.of(drawn.resampled), drawn.how)
        ),
        first_month=setting.calendar.opening_month,
        today=today,
        noted=tuple(noted),
        drawn=drawn.drawn,
    )


def set_aside_today(setting: Setting) -> SetAside:
    """Return the assessment of the run's first month, as today's dam and accounts make it."""
    return set_aside(next(setting.months(setting.first_sequences(1))), setting.rules)


def set_aside(month: Month, rules: Rules) -> SetAside:
    """Return the assessment of a month, in its first sequence."""
    assessed = month.fluxes.assessed
    storage_ml = float(month.fluxes.opening.storage_ml[0])
    return SetAside(
        in_dam_ml=max(0.0, storage_ml - rules.dead_storage_ml),
        assured_inflow_ml=assessed.assured_inflow_ml,
        commitments_ml={
            name: float(np.ravel(value_of(month))[0])
            for name, value_of in commitments(rules).items()
        },
        announced_ml_per_share=float(assessed.announced_ml_per_share[0]),
    )


def sequence_ledger(setting: Setting, number: int) -> Ledger:
    """Keep the ledger of one of the plan's sequences.

    Parameters
    ----------
    setting
        Plan and record.
    number
        Which sequence, from 0.

    Raises
    ------
    IndexError
        There is no such sequence.
    """
    first = 0
    for sequences in setting.batches():
        if number < first + len(sequences):
            one = sequences[number - first : number - first + 1]
            return ledger_of_rows(
                setting.plan,
                setting.weather,
                one.rows[0],
                setting.calendar.opening_month,
                flow_factor=flow_factors(setting.record, setting.plan.sequences),
                factors=one.factors,
            )
        first += len(sequences)
    raise IndexError(f"there are {first:,} sequences")
