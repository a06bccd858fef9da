"""What share of the best that could be done do the plan's strategies reach?

The plan's farm is put into the yearly farm, each strategy into its rule for the area at planting,
and all are measured on the same sequences against the programme and perfect foresight (see
`optimum`). The programme is fitted on the training sequences, which have random numbers of their
own.

What the yearly farm leaves out is left out for all alike, so strategies are compared with the best
on the yearly farm alone, never with their own monthly results. A strategy sees the average account
as well as its own; the programme does not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from model.decide.optimum import Yardstick, measure
from model.decide.yearly import Rule
from model.decide.yearly_of import plantings_of, yearly_cases_of, yearly_farm_of
from model.farm.expected import training_sequences
from model.farm.river import RiverMonth
from model.farm.setting import FarmSetting
from model.farm.sight import held_ml_per_share
from model.record.record import FloatArray
from model.sequences.slices import Sequences

MEASURED_SEQUENCES: Final = 2_000
"""The first of the plan's: enough for a share to the per cent, and a person waits two seconds."""


def how_good(setting: FarmSetting) -> Yardstick | None:
    """Measure the plan's strategies against the best; None where the run opens after planting."""
    if setting.valley.calendar.t_of(0, setting.rules.crop.planting_k) is None:
        return None
    measured = measured_sequences(setting)
    learnt_from = training_sequences(setting.valley)
    training = yearly_cases_of(setting, setting.river(learnt_from), learnt_from)
    river = setting.river(measured)
    played = yearly_cases_of(setting, river, measured)
    return measure(yearly_farm_of(setting.rules), training, played, strategy_rules(setting, river))


def measured_sequences(setting: FarmSetting) -> Sequences:
    """Return the sequences on which all is measured."""
    return setting.valley.first_sequences(MEASURED_SEQUENCES)


def strategy_rules(setting: FarmSetting, river: Sequence[RiverMonth]) -> Mapping[str, Rule]:
    """Return each strategy's rule for the area at planting, on the yearly farm."""
    plantings = plantings_of(setting.valley.calendar, setting.rules.crop)
    at_planting = [river[t] for t in plantings]
    return {
        strategy.name: _rule(setting, number, at_planting)
        for number, strategy in enumerate(setting.strategies)
    }


def _rule(setting: FarmSetting, number: int, at_planting: Sequence[RiverMonth]) -> Rule:
    """Plant what the water in sight will carry, as the strategy counts it."""
    settings = setting.settings.one(number)
    water, crop = setting.rules.water, setting.rules.crop
    bore_ml = min(
        water.bore_ml_per_year,
        water.bore_ml_per_month * (1 + crop.last_watering_k - crop.planting_k),
    )

    planned = settings.planned_water_ml_per_ha(setting.rules)

    def area_ha(season: int, account: FloatArray) -> FloatArray:
        month = at_planting[season]
        expected = setting.expectation.ml_per_share(month, settings.expected_chance_frac)
        counted = settings.count_on_frac * expected
        own = account * (1.0 - month.account_loss_ahead_frac)
        in_sight = np.minimum(own + counted[0], water.use_limit_1yr_ml_per_share)
        in_sight = in_sight - held_ml_per_share(
            in_sight, settings.hold_back_ml_per_share[0], settings.hold_above_ml_per_share[0]
        )
        high_ml = month.high_security_allocation_frac * water.high_security_shares_ml
        in_sight_ml = in_sight * water.shares_ml + high_ml + bore_ml
        area = np.minimum(crop.land_limit_ha, in_sight_ml / planned[0])
        return np.where(area < settings.smallest_area_ha[0], 0.0, area)

    return area_ha
