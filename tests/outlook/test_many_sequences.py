"""Very many sequences are shared out to processes: the same numbers as one after the other."""

import tomllib

import numpy as np
import pytest

import model.outlook.setting
import model.sequences.draw
from model.outlook.seasons import SeasonResults
from model.outlook.setting import (
    Setting,
    can_share_work,
    play_on_all_cores,
    play_sequences,
    setting_of,
)
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan
from model.record.record import read_record

BATCH = 150
COUNT = 4 * BATCH + 10


@pytest.fixture(name="setting")
def _setting(monkeypatch: pytest.MonkeyPatch) -> Setting:
    """Prepare the demonstration with small batches, the last of them short."""
    for module in (model.sequences.draw, model.outlook.setting):
        monkeypatch.setattr(module, "BATCH_SEQUENCES", BATCH)
    path = demonstration_plan()
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["sequences"]["count"] = COUNT
    return setting_of(check_plan(raw, "many"), read_record(path.with_name(raw["record"])))


def everything(results: SeasonResults) -> dict[str, np.ndarray]:
    """Name every array of the results."""
    return dict(results.values)


@pytest.mark.skipif(not can_share_work(), reason="this system cannot fork, or has one core")
def test_sequences_when_shared_out_then_they_are_the_same_to_the_bit(setting: Setting) -> None:
    """Each batch has random numbers of its own, whoever draws it."""
    rows, results = play_sequences(setting)
    heard: list[int] = []
    shared_rows, shared = play_on_all_cores(setting, lambda done, _: heard.append(done))
    assert np.array_equal(rows, shared_rows)
    one, other = everything(results), everything(shared)
    assert one.keys() == other.keys()
    for name, values in one.items():
        assert np.array_equal(values, other[name], equal_nan=True), name
    assert heard == sorted(heard)
    assert heard[-1] == COUNT


@pytest.mark.skipif(not can_share_work(), reason="this system cannot fork, or has one core")
def test_sequences_when_a_process_fails_then_it_is_said(
    setting: Setting, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What goes wrong in a process is not lost, and nobody waits for ever."""

    def fails(*_: object) -> None:
        raise MemoryError("no room")

    monkeypatch.setattr(SeasonResults, "put", fails)
    with pytest.raises(RuntimeError, match="no room"):
        play_on_all_cores(setting)
