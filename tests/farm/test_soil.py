"""Does the root zone do what its two slow twins do?"""

from __future__ import annotations

import numpy as np
import pytest

from model.farm.soil import Days, RootZone, Soil, fresh_soil, lost_frac_as_stress, through
from tests.farm.soil_twin import LOST_AFTER, StepZone, Zone, step_by_step, walk

ZONES = (RootZone(200.0, 100.0), RootZone(150.0, 60.0, 1.0), RootZone(120.0, 120.0, 0.5))
HISTORIES = 400
PIECES = 12
NEAR_LOST_DAYS = 1.0


def histories(seed: int) -> tuple[np.ndarray, list[tuple[np.ndarray, np.ndarray, Days, float]]]:
    """Draw opening water and pieces of weather: dry spells, storms, water put on at once."""
    rng = np.random.default_rng(seed)
    water = rng.choice([0.0, 1.0], HISTORIES, p=[0.1, 0.9]) * rng.uniform(0.0, 120.0, HISTORIES)
    dryness = rng.choice([0.3, 0.7, 1.0], HISTORIES)
    pieces = []
    for at in range(PIECES):
        supply = rng.gamma(0.5, 6.0, HISTORIES) * (rng.random(HISTORIES) > dryness)
        use = rng.uniform(0.5, 9.0, HISTORIES)
        days = Days(float(rng.integers(8, 26)), float(rng.choice([0.0, 0.007, 0.027])), at < 6)
        put_on = 40.0 * float(at in {3, 7, 8})
        pieces.append((supply, use, days, put_on))
    return water, pieces


def fast(
    zone: RootZone, water: np.ndarray, pieces: list[tuple[np.ndarray, np.ndarray, Days, float]]
) -> Soil:
    """Take all histories through their pieces at once."""
    soil = fresh_soil(water)
    for supply, use, days, put_on in pieces:
        soil = soil.wetter(np.minimum(put_on, zone.capacity_mm - soil.water_mm))
        soil = through(soil, supply, use, days, zone)
    return soil


@pytest.mark.parametrize("zone", ZONES)
def test_root_zone_when_run_beside_its_closed_form_twin_then_equal_to_1e_9(zone: RootZone) -> None:
    """Water, yield kept and days all but empty, 400 histories of twelve pieces."""
    water, pieces = histories(1)
    soil = fast(zone, water, pieces)
    slow = [
        Zone(float(a), zone.capacity_mm, zone.stress_below_mm, zone.full_stress_frac) for a in water
    ]
    for supply, use, days, put_on in pieces:
        for at, z in enumerate(slow):
            z.water += min(put_on, z.capacity - z.water)
            walk(z, supply[at], use[at], days.days, days.loss_frac_per_day, young=days.young)
    assert soil.water_mm == pytest.approx([z.water for z in slow], rel=1e-9, abs=1e-9)
    assert soil.kept_frac == pytest.approx([z.kept for z in slow], abs=1e-9)
    assert soil.low_days == pytest.approx([z.low_days for z in slow], abs=1e-9)
    assert sum(z.lost for z in slow) > 5
    assert sum(0.1 < z.kept < 0.9 for z in slow) > 50


def test_root_zone_when_run_in_a_thousand_steps_a_day_then_yield_within_1e_4() -> None:
    """200 histories, but for those that come within a day of being lost."""
    zone = ZONES[0]
    water, pieces = histories(2)
    kept = fast(zone, water, pieces).kept_frac
    z = StepZone.of(water)
    for supply, use, over, put_on in pieces:
        z.water += np.minimum(put_on, zone.capacity_mm - z.water)
        step_by_step(z, zone, supply, use, over)
    clear = np.flatnonzero(np.abs(z.longest_low_days - LOST_AFTER) > NEAR_LOST_DAYS)[:200]
    assert clear.size == 200
    assert kept[clear] == pytest.approx(z.kept[clear], abs=1e-4)
    assert (kept[clear] == 0.0).sum() > 5


def test_root_zone_when_strategies_lead_then_each_is_as_if_alone() -> None:
    """Arrays of any leading shape: (strategy, sequence) against one strategy at a time."""
    water, pieces = histories(3)
    zone = ZONES[0]
    both = Soil(*(np.stack([values, values * 0.5]) for values in fresh_soil(water)))
    for supply, use, days, _ in pieces:
        both = through(both, supply, use, days, zone)
    for row, start in enumerate((water, water * 0.5)):
        alone = fresh_soil(start)
        for supply, use, days, _ in pieces:
            alone = through(alone, supply, use, days, zone)
        for values, lone in zip(both, alone, strict=True):
            assert (values[row] == lone).all()


def test_root_zone_when_run_then_arguments_stay_as_they_are() -> None:
    """A pure function: nothing it is given is changed."""
    water, pieces = histories(4)
    supply, use, days, _ = pieces[0]
    before = [values.copy() for values in (water, supply, use)]
    through(fresh_soil(water), supply, use, days, ZONES[0])
    for values, kept in zip((water, supply, use), before, strict=True):
        assert (values == kept).all()


def test_water_when_nothing_runs_over_then_it_balances() -> None:
    """Water at the end is water at the start, and supply, less use at Ks, by the stress itself.

    With w = 1 the stress days are the integral of 1 - Ks, so that use is known from outside.
    """
    zone = RootZone(1e6, 100.0, 1.0)
    water, pieces = histories(5)
    for supply, use, days, _ in pieces:
        one = through(fresh_soil(water), supply, use, Days(days.days, 1.0, False), zone)
        used = use * (days.days - one.stress)
        left = water + supply * days.days - used
        assert one.water_mm == pytest.approx(left, abs=1e-9 * 300.0)
        water = one.water_mm


def test_crop_when_all_but_empty_for_twenty_days_then_lost_and_one_hour_less_then_not() -> None:
    """The count is in days with fractions and is carried from piece to piece."""
    zone = ZONES[0]
    bare = fresh_soil(np.zeros(1))
    for days, lost in ((20.0, True), (20.0 - 1.0 / 24.0, False)):
        soil = bare
        for part in (12.5, days - 12.5):
            soil = through(soil, np.zeros(1), np.ones(1), Days(part, 0.01, True), zone)
        assert bool(soil.kept_frac[0] == 0.0) is lost
        assert soil.low_days[0] == pytest.approx(days)


def test_lost_part_when_given_then_kept_is_the_rest() -> None:
    """What an opening says is lost comes back as what is kept; all of it as nothing."""
    lost = np.array([0.0, 0.25, 1.0])
    kept = np.exp(-lost_frac_as_stress(lost))
    assert kept == pytest.approx([1.0, 0.75, 0.0])
