"""An area and a hold-back chosen by hand: what they bring, on the same sequences."""

import itertools
import tomllib
from dataclasses import replace

import numpy as np
import pytest

from model.decide.compare import compare
from model.decide.decision import decision_of
from model.decide.one_area import AreaOutcome, outcome_of_area
from model.decide.rivers import Rivers, rivers_of
from model.decide.strategy import strategies_of
from model.farm.setting import FarmSetting, farm_setting_of
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan
from model.record.record import read_record
from tests.farm_case import contract_record, farm_plan

MIDDLE = 1


@pytest.fixture(name="ready", scope="module")
def _ready() -> tuple[FarmSetting, Rivers]:
    """Prepare the demonstration's farm on few sequences."""
    path = demonstration_plan()
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["sequences"]["count"] = 500
    plan = check_plan(raw, "demonstration")
    setting = farm_setting_of(plan, read_record(path.with_name(raw["record"])), strategies_of(plan))
    return setting, rivers_of(setting)


def outcome(
    ready: tuple[FarmSetting, Rivers], area_ha: float, hold_back: float = 0.05
) -> AreaOutcome:
    """Run an area and a hold-back under the middle strategy."""
    setting, rivers = ready
    held = setting.holding(
        MIDDLE, hold_back, float(setting.settings.hold_above_ml_per_share[MIDDLE, 0])
    )
    return outcome_of_area(held, rivers, strategy=MIDDLE, area_ha=area_ha)


def test_area_when_larger_then_it_is_not_less_often_short(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """More land on the same water: the chance to run short only rises."""
    short = [outcome(ready, area).chances["ran_short"].value for area in (40, 100, 160, 220)]
    assert short == sorted(short)
    assert short[0] < short[-1]


def test_area_when_none_is_planted_then_none_is_finished_and_it_is_said(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """No cotton in the first season, and a chance of 1 that nothing is planted in it."""
    none = outcome(ready, 0.0)
    finished = none.amounts["area_finished_ha"][none.season]
    assert none.chances["no_planting"].value == 1.0
    assert finished is not None
    assert finished.mean == 0.0
    assert none.chances["ran_short"].value == 0.0


def test_hold_back_when_larger_then_later_seasons_do_not_finish_more(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """Water left out of the sum at planting plants less, on the same first season."""
    little, much = outcome(ready, 120.0, 0.0), outcome(ready, 120.0, 0.6)
    first = little.season
    one, other = (each.amounts["area_finished_ha"] for each in (little, much))
    assert one[first] == other[first]
    assert one[first + 1].mean > other[first + 1].mean


def test_cash_when_banded_then_the_bands_are_in_order_and_open_alike(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """In rising order every month; before anything differs, one number for all."""
    bands = outcome(ready, 120.0).cash_bands_aud
    assert (np.diff(bands, axis=0) >= 0.0).all()
    assert np.ptp(bands[:, 0]) < np.ptp(bands[:, -1])


def test_chance_when_given_then_the_records_range_holds_it_and_is_the_wider(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """Both errors, the record's the larger where anything is unsure."""
    short = outcome(ready, 120.0).chances["ran_short"]
    low, high = short.headline
    assert low <= short.value <= high
    assert high - low > short.draws_high - short.draws_low


def test_area_when_it_is_the_strategys_own_then_the_outcome_is_that_of_the_comparison() -> None:
    """The comparison, which has its own way through the farm, gives the same on the same sequences.

    The strategy plants all land made ready, whatever the water: so its first area is known.
    """
    area_ha, hold_back = 60.0, 0.2
    sure = {
        "smallest_area_ha": 0.0,
        "grow": [{"crop": "cotton", "layout": "solid", "planned_water_ml_per_ha": 0.01}],
        "hold_back_ml_per_share": hold_back,
    }
    changes = {f"strategies.{MIDDLE}.{key}": value for key, value in sure.items()}
    plan = farm_plan(changes | {"farm.opening.prepared_ha": area_ha})
    found, results = compare(plan, contract_record())
    chosen = outcome_of_area(
        found.setting, rivers_of(found.setting), strategy=MIDDLE, area_ha=area_ha
    )
    theirs = found.outcomes[MIDDLE]
    first = theirs.seasons[chosen.season]
    assert (results["area_planted_ha"][MIDDLE, :, chosen.season] == area_ha).all()
    for name, estimate in chosen.chances.items():
        if not name.startswith("set_by"):  # the area is given here: nothing set it
            assert estimate.value == first.chances[name].value, name
    assert chosen.missed_in_run.value == theirs.chances["payment_missed"].value
    for name, by_season in chosen.amounts.items():
        for season, amount in zip(theirs.seasons, by_season, strict=True):
            expected = season.amounts[name]
            assert (amount is None) == (expected is None), name
            if amount is not None and expected is not None:
                assert amount.mean == pytest.approx(expected.mean.value), name
                assert amount.reached_in(5).value == pytest.approx(
                    expected.spread.reached_in(5).value
                ), name


def test_hold_back_when_larger_then_no_sequence_plants_more_at_the_next_planting(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """Sequence by sequence: with the same first season, holding back never plants more after it."""
    setting, rivers = ready
    planted = []
    for hold_back in (0.0, 0.1, 0.3, 0.8):
        settings = replace(
            setting.settings.part(MIDDLE, MIDDLE + 1),
            first_area_ha=np.array([[120.0]]),
            hold_back_ml_per_share=np.array([[hold_back]]),
        )
        results = setting.results(rivers.months, settings)
        season = decision_of(setting, MIDDLE).season + 1
        planted.append(results["area_planted_ha"][0, :, season])
    for less, more in itertools.pairwise(planted):
        assert (more <= less + 1e-9).all()
    assert planted[-1].sum() < planted[0].sum()
