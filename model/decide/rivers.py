"""On which sequences is a choice made by hand tried?

The plan's own, those of resampled records, and the driest stretches observed: the valley is run
through them once, and the farm under each choice goes through what came of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.decide.driest import Stretch, driest_stretches
from model.farm.river import RiverMonth
from model.farm.setting import FarmSetting
from model.outlook.chances import Spread, quantiles_of_rows, spread
from model.outlook.outlook import resampled_sequences
from model.outlook.setting import Setting
from model.record.record import FloatArray
from model.sequences.slices import IntArray, Sequences
from model.sequences.unique import Leg, legs_of, unique_sequences
from model.sequences.years import years_of

SEQUENCES: Final = 5_000


@dataclass(frozen=True, slots=True)
class RiversDrawn:
    """What may come. It does not depend on where dam and accounts stand, nor on the rules.

    The plan's sequences, those of the resampled records, one record after the other, and the driest
    stretches: each is told by its place among the different ones.
    """

    legs: tuple[Leg, ...]  # of the different sequences, which are one until they part
    drawn: IntArray  # (sequence,) places of the plan's sequences
    resampled: IntArray  # (resample, draw) places of the resampled records'
    widened_by: float  # how far intervals of the record are
    of_driest: IntArray  # (stretch,) places of the driest stretches
    driest: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Rivers:
    """The valley's months as the farm meets them, of all the different sequences at once."""

    months: list[RiverMonth]
    of: RiversDrawn


def draw_rivers(
    setting: Setting, sequences: int = SEQUENCES, resamples: int | None = None
) -> RiversDrawn:
    """Draw all that choices are tried on; it serves every plan with this drawing and month.

    Parameters
    ----------
    setting
        Plan and record.
    sequences
        At most so many of the plan's own.
    resamples
        At most so many of the resampled records; all if left out.
    """
    drawn = setting.first_sequences(sequences)
    resampled, how = resampled_sequences(setting)
    records = min(how.resamples, resamples or how.resamples)
    resampled = resampled[: records * how.draws_each]
    driest, their_rows = driest_stretches(setting.record, setting.calendar)
    years = years_of(setting.plan, setting.record.months, setting.calendar.slices)
    different = unique_sequences(Sequences.joined([drawn, resampled, their_rows])).meeting(years)
    ends = np.cumsum([len(drawn), len(resampled)])
    places, places_again, places_driest = np.split(different.places, ends)
    return RiversDrawn(
        legs=legs_of(different.sequences, different.kinds),
        drawn=places,
        resampled=places_again.reshape(records, how.draws_each),
        widened_by=how.widening.factor,
        of_driest=places_driest,
        driest=driest,
    )


def rivers_of(setting: FarmSetting, drawn: RiversDrawn | None = None) -> Rivers:
    """Run the valley once for all choices, through what was drawn before or is drawn now."""
    drawn = drawn or draw_rivers(setting.valley)
    return Rivers(setting.river_of_legs(drawn.legs), drawn)


def spread_of(of: RiversDrawn, amounts: FloatArray) -> Spread | None:
    """Return the spread of an amount, (sequence,); None where there is none."""
    drawn = amounts[of.drawn]
    if np.isnan(drawn).any():
        return None
    again = quantiles_of_rows(amounts[of.resampled])
    return spread(drawn, again, of.widened_by)
