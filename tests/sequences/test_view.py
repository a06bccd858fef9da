"""The user's own view of a season: weights by least change, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from model.errors import PlanError
from model.evidence.choosers import choosers_of
from model.evidence.hindcast import hindcast
from model.farm.expected import training_sequences
from model.outlook.outlook import resampled_sequences
from model.outlook.setting import Setting, setting_of
from model.plan.drawing import View
from model.sequences.draw import draw_sequences
from model.sequences.slices import Sequences
from model.sequences.view import effective_number, evenly, weights_of
from tests.farm_case import contract_record, farm_plan

SPRING = {"first_month": "2025-10", "last_month": "2025-12"}


def setting_with(method: str = "blocks", count: int = 3_000, **view: object) -> Setting:
    """Prepare the contract's valley with a view of its spring."""
    stated = View.model_validate({**SPRING, "belief": 1.0, **view})
    plan = farm_plan({"sequences.method": method, "opening.month": "2025-09"})
    return setting_of(plan.with_drawing(view=stated, count=count, seasons=2), contract_record())


def shares(setting: Setting, sequences: Sequences) -> list[float]:
    """Return the share of each class among sequences."""
    assert setting.viewed is not None
    found = np.bincount(setting.viewed.classes_of(sequences), minlength=3)
    return (found / len(sequences)).tolist()


def test_weights_when_thirds_on_nine_runs_then_by_hand() -> None:
    """W1: minimum relative entropy, derived here."""
    classes = np.repeat([0, 1, 2], 3)
    weights = weights_of(classes, np.full(3, 1.0 / 3.0), np.array([0.5, 0.3, 0.2]))
    assert weights == pytest.approx(np.repeat([1 / 6, 1 / 10, 1 / 15], 3), abs=1e-12)
    assert effective_number(weights, np.arange(9)) == pytest.approx(7.894737, abs=1e-6)


def test_weights_when_the_view_is_the_runs_own_shares_then_all_are_equal() -> None:
    """W2: identity."""
    classes = np.array([0, 0, 1, 2, 2, 2, 2])
    own = np.bincount(classes) / 7
    weights = weights_of(classes, own, own)
    assert weights == pytest.approx(np.full(7, 1 / 7), abs=1e-12)
    assert effective_number(weights, np.arange(7)) == pytest.approx(7.0, abs=1e-12)


def test_weights_when_least_change_then_no_other_has_less_relative_entropy() -> None:
    """Any other weights with the same class chances lie farther from equal ones."""
    rng = np.random.default_rng(1)
    classes = rng.integers(0, 3, 60)
    own, wanted = np.bincount(classes) / 60, np.array([0.6, 0.3, 0.1])
    weights = weights_of(classes, own, wanted)
    entropy = np.sum(weights * np.log(weights * 60))
    for _ in range(50):
        other = weights * np.exp(0.3 * rng.normal(size=60))
        for each in range(3):
            other[classes == each] *= wanted[each] / other[classes == each].sum()
        assert np.sum(other * np.log(other * 60)) > entropy


def test_runs_when_taken_evenly_then_each_as_often_as_its_weight_says() -> None:
    """Within one, whatever the weights."""
    weights = np.random.default_rng(2).dirichlet(np.full(40, 0.3))
    taken = np.bincount(evenly(weights, 1_000), minlength=40)
    assert np.abs(taken - 1_000 * weights).max() < 1.0 + 1e-9
    assert taken.sum() == 1_000


@pytest.mark.parametrize("method", ["historical", "blocks", "present"])
def test_view_when_believed_then_sequences_have_its_chances(method: str) -> None:
    """Of the plan's sequences, the training's, and as near as they can of resampled records'."""
    setting = setting_with(method, thirds=(0.5, 0.3, 0.2))
    sequences = next(setting.batches())
    assert len(sequences) == setting.count == 3_000
    assert shares(setting, sequences) == pytest.approx([0.5, 0.3, 0.2], abs=0.001)
    trained = training_sequences(setting)
    assert shares(setting, trained) == pytest.approx([0.5, 0.3, 0.2], abs=0.01)
    again, how = resampled_sequences(setting)
    assert len(again) == how.resamples * how.draws_each
    assert shares(setting, again) == pytest.approx([0.5, 0.3, 0.2], abs=0.02)


def test_view_when_half_believed_then_half_way_from_the_runs_own_shares() -> None:
    """Target = belief x view + (1 - belief) x own shares."""
    own = shares(s := setting_with(thirds=(1 / 3, 1 / 3, 1 / 3), belief=0.0), next(s.batches()))
    half = shares(s := setting_with(thirds=(0.6, 0.3, 0.1), belief=0.5), next(s.batches()))
    assert half == pytest.approx(0.5 * np.array(own) + 0.5 * np.array([0.6, 0.3, 0.1]), abs=0.001)


def test_view_when_of_the_middle_then_two_classes() -> None:
    """The chance of more than the record's median of the span."""
    setting = setting_with(chance_above_middle=0.2)
    assert shares(setting, next(setting.batches()))[:2] == pytest.approx([0.8, 0.2], abs=0.001)


def test_view_when_it_cannot_be_then_refused() -> None:
    """No such column, a span outside the run, too few runs that count."""
    with pytest.raises(PlanError, match="no such column"):
        setting_with(of="snow_mm", thirds=(0.5, 0.3, 0.2))
    with pytest.raises(PlanError, match="not in the run"):
        setting_with(first_month="2025-08", thirds=(0.5, 0.3, 0.2))
    setting = setting_with(thirds=(0.0, 0.0, 1.0))
    assert setting.viewed is not None
    pool = draw_sequences(
        setting.method, setting.slices, setting.calendar, 900, rng=np.random.default_rng(1)
    )
    classes = setting.viewed.classes_of(pool)
    few = np.concatenate([np.flatnonzero(classes == 2)[:10], np.flatnonzero(classes == 0)[:200]])
    with pytest.raises(PlanError, match="less than a quarter"):
        setting.viewed.taken(pool[few], 100)
    assert len(setting.viewed.taken(pool, 100)) == 100


def test_view_when_a_class_is_empty_then_refused() -> None:
    """No run falls in it, so no weights can bring it about."""
    setting = setting_with(thirds=(0.5, 0.3, 0.2))
    assert setting.viewed is not None
    dry = np.flatnonzero(setting.viewed.classes_of(next(setting.batches())) == 0)
    with pytest.raises(PlanError, match="no run drawn from the record falls in it"):
        setting.viewed.taken(next(setting.batches())[dry], 10)


@pytest.mark.parametrize(
    "stated",
    [
        {"thirds": (0.5, 0.3, 0.3)},
        {"thirds": (0.5, 0.3, 0.2), "chance_above_middle": 0.5},
        {},
        {"thirds": (0.5, 0.3, 0.2), "last_month": "2025-09"},
        {"thirds": (0.5, 0.3, 0.2), "belief": 1.2},
    ],
)
def test_plan_when_a_view_is_no_view_then_refused(stated: dict[str, object]) -> None:
    """Chances that do not sum to 1, both or neither kind, a span that ends before it begins."""
    with pytest.raises(ValidationError):
        View.model_validate({**SPRING, "belief": 1.0, **stated})


def test_trial_when_the_plan_has_a_view_then_it_is_left_off() -> None:
    """A trial tries the method, not the wish."""
    plan, record = (
        farm_plan({"opening.month": "2025-09"}).with_drawing(seasons=1),
        contract_record(),
    )
    view = View.model_validate({**SPRING, "belief": 1.0, "thirds": (0.8, 0.1, 0.1)})
    with_view, without = (
        hindcast(
            each, record, choosers=choosers_of(each.sequences, ("present",)), draws_each=50
        ).methods[0]
        for each in (plan.with_drawing(view=view), plan)
    )
    for amount, scores in without.crps.items():
        np.testing.assert_array_equal(with_view.crps[amount], scores)
