"""Sequences that come more than once are run once, and nothing else changes for it."""

import numpy as np
import pytest

from model.outlook.ahead import BANDED, draw_ahead, look_ahead
from model.outlook.outlook import outlook_of, resampled_sequences
from model.outlook.seasons import SeasonResults
from model.outlook.setting import Setting, play_sequences, setting_of
from model.sequences.slices import Sequences
from model.sequences.unique import legs_of, unique_sequences
from model.valley.run import LEDGER, keep
from tests.farm_case import contract_record, farm_plan


@pytest.mark.parametrize("months", [1, 10, 12, 13, 34, 36])
def test_once_when_laid_out_again_then_every_sequence_is_as_it_was(months: int) -> None:
    """Few starts, so that many come twice: each is there once, and in its place again."""
    rng = np.random.default_rng(5)
    starts = rng.integers(0, 4, (200, -(-months // 12)))
    rows = (starts[:, :, None] + np.arange(12)).reshape(200, -1)[:, :months]
    found = unique_sequences(rows)
    assert np.array_equal(found.rows[found.places], rows)
    assert len(np.unique(found.rows, axis=0)) == len(found.rows) == len(np.unique(rows, axis=0))


@pytest.mark.parametrize("months", [1, 10, 12, 13, 34, 36])
def test_legs_of_when_followed_back_then_every_sequence_is_whole(months: int) -> None:
    """Each sequence, from its last leg to its first, has its own rows; none is there twice."""
    rng = np.random.default_rng(5)
    starts = rng.integers(0, 4, (200, -(-months // 12)))
    rows = unique_sequences((starts[:, :, None] + np.arange(12)).reshape(200, -1)[:, :months]).rows
    legs = legs_of(rows)
    places, followed = np.arange(len(rows)), []
    for leg in reversed(legs):
        followed.insert(0, leg.rows[places])
        places = leg.parents[places]
    assert np.array_equal(np.concatenate(followed, axis=1), rows)
    assert not places.any()  # all go on from one opening
    for count, leg in enumerate(legs, start=1):
        assert len(leg.rows) == len(np.unique(rows[:, : 12 * count], axis=0))


@pytest.mark.parametrize("method", ["blocks", "historical", "present", "neighbours", "regimes"])
def test_outlook_when_each_different_sequence_is_run_once_then_it_is_as_if_all_were(
    method: str,
) -> None:
    """Every sequence run on its own, one after the other: the same odds, and the same months."""
    plan = farm_plan({"sequences.method": method, "opening.month": "2020-09"})
    setting, record = setting_of(plan, contract_record()), contract_record()
    again, how = resampled_sequences(setting)
    drawn = Sequences.joined(setting.batches())
    assert method == "present" or len(unique_sequences(again).rows) < len(again)
    expected = outlook_of(setting, _every_one(setting, drawn), (_every_one(setting, again), how))
    found = look_ahead(plan, record, draw_ahead(plan, record))
    assert found.outlook.seasons == expected.seasons
    assert outlook_of(setting, play_sequences(setting)[1]).seasons == expected.seasons
    by_month = keep(setting.months(drawn), {name: LEDGER[name] for name in BANDED})
    for name, months in by_month.items():
        assert np.array_equal(found.by_month(name), months)


def _every_one(setting: Setting, sequences: Sequences) -> SeasonResults:
    """Run the valley through every sequence from end to end, however often it comes."""
    return setting.gathered(setting.months(sequences), len(sequences))
