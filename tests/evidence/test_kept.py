"""A trial that is stopped goes on where it was; what is kept is only for what it was made of."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from model.evidence.choosers import choosers_of
from model.evidence.hindcast import Hindcast, hindcast
from model.evidence.kept import Kept, trial_sha256
from model.plan.plan import Plan
from model.record.record import Record
from tests.farm_case import contract_record, farm_plan

DRAWS = 50


class StoppedError(Exception):
    """A person who has seen enough."""


def plan_and_record() -> tuple[Plan, Record]:
    """Take the contract's valley and record."""
    return farm_plan({"sequences.seasons": 2}), contract_record()


def tried(plan: Plan, record: Record, kept: Kept | None, stop_after: int | None = None) -> Hindcast:
    """Try two methods, and stop after some stands."""

    def progress(done: int, stands: int) -> None:
        assert stands == 2 * (stands // 2)
        if done == stop_after:
            raise StoppedError

    return hindcast(
        plan,
        record,
        choosers=choosers_of(plan.sequences, ("historical", "present")),
        draws_each=DRAWS,
        kept=kept,
        progress=progress,
    )


def test_trial_when_stopped_and_resumed_then_it_is_as_if_it_never_was(tmp_path: Path) -> None:
    """What was done is read and not done again, and the scores are the same to the bit."""
    plan, record = plan_and_record()
    kept = Kept.of(tmp_path, plan, record, DRAWS)
    with pytest.raises(StoppedError):
        tried(plan, record, kept, stop_after=20)
    done = {path.name: path.stat().st_mtime_ns for path in kept.folder.iterdir()}
    assert len(done) == 20
    resumed, whole = tried(plan, record, kept), tried(plan, record, None)
    for name, written in done.items():
        assert (kept.folder / name).stat().st_mtime_ns == written
    for one, other in zip(resumed.methods, whole.methods, strict=True):
        for field in ("crps", "pit", "mean", "quantiles", "chance"):
            for name, values in getattr(one, field).items():
                np.testing.assert_array_equal(values, getattr(other, field)[name])
        assert one.stood_in == other.stood_in


def test_trial_when_a_kept_file_is_damaged_then_that_stand_is_tried_again(tmp_path: Path) -> None:
    """Half a file, or another program's, is not believed."""
    plan, record = plan_and_record()
    kept = Kept.of(tmp_path, plan, record, DRAWS)
    with pytest.raises(StoppedError):
        tried(plan, record, kept, stop_after=3)
    for name, text in (("000", "{"), ("001", "[]"), ("002", json.dumps({"crps": 1}))):
        (kept.folder / f"historical-{name}.json").write_text(text)
        assert kept.read("historical", int(name)) is None
    with pytest.raises(StoppedError):
        tried(plan, record, kept, stop_after=3)
    assert kept.read("historical", 1) is not None


def test_trial_when_anything_it_hangs_on_differs_then_nothing_kept_is_used() -> None:
    """Valley, record, opening, draws and seed are in the hash; farm, title and method are not."""
    plan, record = plan_and_record()
    made = trial_sha256(plan, record, DRAWS)
    wet = replace(record, sha256="0" * 64)
    lossy = plan.valley.model_copy(update={"delivery_loss_frac": 0.31})
    later = plan.opening.model_copy(update={"storage_ml": 1.0})
    for other in (
        trial_sha256(plan, wet, DRAWS),
        trial_sha256(plan, record, DRAWS + 1),
        trial_sha256(plan.model_copy(update={"valley": lossy}), record, DRAWS),
        trial_sha256(plan.model_copy(update={"opening": later}), record, DRAWS),
        trial_sha256(plan.with_drawing(seed=99), record, DRAWS),
    ):
        assert other != made
    same = plan.with_drawing(method="present", count=7).model_copy(update={"title": "Another"})
    assert trial_sha256(same, record, DRAWS) == made
