"""Is the replay held against what was announced, year by year, and are settings only offered?"""

from pathlib import Path

import numpy as np
import pytest

from model.errors import InputError, PlanError
from model.evidence.announced import (
    Announcements,
    held_in_words,
    held_of,
    hold_against,
    opened_as_known,
    parse_announcements,
)
from model.evidence.offer import (
    FEWEST_YEARS,
    Offer,
    fit_settings,
    offer_in_words,
    settings_tried,
    unseen_error,
    with_changes,
)
from model.plan import Announced
from model.plan_file import check_plan, read_plan
from model.record import read_record
from model.replay import replay_months
from model.water_year import format_month, parse_month

CONTRACT = Path(__file__).parent / "reference" / "contract"


@pytest.fixture(scope="module")
def valley():
    """The plan and the record of the contract."""
    return read_plan(CONTRACT / "plan.toml"), read_record(CONTRACT / "record.csv")


def announced_by(plan, record, first_year, years, spin_up=15):
    """Say what a plan's rules would have announced, written to two digits."""
    first = parse_month(f"{first_year}-07")
    last = first + 12 * years - 1
    ledger = replay_months(plan, record, first - 12 * spin_up, last)
    at = {month: t for t, month in enumerate(ledger.months)}
    months = tuple(range(first + 11, last + 1, 12))
    to_date = ledger.columns["announced_to_date_ml_per_share"]
    amounts = tuple(round(float(to_date[at[format_month(month)]]), 2) for month in months)
    return Announcements("told.csv", months, amounts)


def test_parse_when_water_years_then_to_date_at_their_end():
    """2010-11 stands for June 2011; both ways of writing it are read."""
    found = parse_announcements(b"water_year,ml_per_share\n2010-11,0.35\n2011/12,1.2\n", "told.csv")
    assert [format_month(month) for month in found.months] == ["2011-06", "2012-06"]
    assert found.ml_per_share == (0.35, 1.2)
    assert found.water_years == ("2010-11", "2011-12")


def test_parse_when_dates_then_the_last_of_each_water_year():
    """Announcements through a year are to date: the last one counts."""
    data = b"date,ml_per_share\n2010-08-01,0.05\n2011-02-15,0.2\n2011-08,0\n2012-01-20,0.4\n"
    found = parse_announcements(data, "told.csv")
    assert [format_month(month) for month in found.months] == ["2011-02", "2012-01"]
    assert found.ml_per_share == (0.2, 0.4)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"year,ml_per_share\n2010,0.3\n", "no column date"),
        (b"water_year,ml_per_share\n2010-12,0.3\n", "row 2, column water_year"),
        (b"water_year,ml_per_share\n2010-11,-0.3\n", "it is negative"),
        (b"water_year,ml_per_share\n2010-11,\n", "there is no value"),
        (b"water_year,ml_per_share\n2011-12,0.1\n2010-11,0.3\n", "order of time"),
        (b"date,ml_per_share\n1/8/2010,0.3\n", "it is not a date"),
    ],
)
def test_parse_when_a_cell_is_wrong_then_named(data, said):
    """A fault names its row and what is allowed."""
    with pytest.raises(InputError, match=said):
        parse_announcements(data, "told.csv")


def test_hold_when_announced_by_the_same_rules_then_no_error(valley):
    """The plan's own replay, written to two digits, is found again to half a digit."""
    plan, record = valley
    held = hold_against(plan, record, announced_by(plan, record, 1980, 30))
    assert held.mean_error_ml_per_share <= 0.005
    assert held.none_found == held.none_announced
    assert held.none_false == 0
    assert held.replayed_from == "1965-07"
    assert not held.state_known


def test_hold_when_announced_otherwise_then_errors_by_hand(valley):
    """Bias, size of error and years of nothing, counted by hand over four changed years."""
    plan, record = valley
    told = announced_by(plan, record, 1980, 30)
    changes = {0: 0.1, 1: -0.1, 2: 0.2}
    amounts = [max(0.0, a + changes.get(at, 0.0)) for at, a in enumerate(told.ml_per_share)]
    held = hold_against(plan, record, Announcements("told.csv", told.months, tuple(amounts)))
    errors = np.array(told.ml_per_share) - np.array(amounts)
    assert held.bias_ml_per_share == pytest.approx(errors.mean(), abs=0.005)
    assert held.mean_error_ml_per_share == pytest.approx(np.abs(errors).mean(), abs=0.005)
    none = [a < 0.005 for a in amounts]
    assert held.none_announced == sum(none)
    words = held_in_words(held)
    assert f"erred by {held.mean_error_ml_per_share:.2f} ML per share" in words
    assert "on top of every figure" in words


def test_hold_when_years_leave_the_record_then_refused(valley):
    """Announcements of years after the record cannot be replayed."""
    plan, record = valley
    beyond = Announcements("told.csv", (record.last_month + 12,), (0.5,))
    with pytest.raises(InputError, match="would leave the record"):
        hold_against(plan, record, beyond)


def test_held_when_the_plan_knows_a_state_then_replayed_from_it(valley):
    """A dam known on a 1 July: the replay begins there, whatever the plan's opening."""
    plan, record = valley
    full = plan.model_copy(
        update={
            "announced": Announced(
                file="told.csv",
                known_month="1995-07",
                known_storage_ml=plan.valley.capacity_ml,
                known_account_ml_per_share=0.5,
            )
        }
    )
    told = Announcements("told.csv", (parse_month("1996-06"),), (1.0,))
    held = held_of(full, record, told)
    ledger = replay_months(
        opened_as_known(full), record, parse_month("1995-07"), parse_month("1996-06")
    )
    assert held.replayed_from == "1995-07"
    assert held.state_known
    assert held.years[0].replayed_ml_per_share == pytest.approx(
        ledger.columns["announced_to_date_ml_per_share"][-1]
    )


def test_plan_when_a_known_month_has_no_storage_then_refused(valley):
    """Month and storage are known together or not at all."""
    plan, _ = valley
    raw = plan.model_dump(exclude_unset=True)
    raw["announced"] = {"file": "told.csv", "known_month": "1995-07"}
    with pytest.raises(PlanError, match="go together"):
        check_plan(raw, "plan.toml")


def test_fit_when_other_settings_announced_then_found_and_only_offered(valley):
    """History made by a stated other plan: its settings are found; the plan stays as it was."""
    plan, record = valley
    truth = with_changes(
        plan,
        {
            "valley.river_loss_ml": tuple(1.5 * loss for loss in plan.valley.river_loss_ml),
            "valley.general_security.others_keep_ml_per_share": 0.3,
        },
    )
    told = announced_by(truth, record, 1995, 15)
    before = plan.model_dump_json()
    offer = fit_settings(plan, record, told, hold_against(plan, record, told))
    assert sum(offer.changes["valley.river_loss_ml"]) == pytest.approx(
        1.5 * sum(plan.valley.river_loss_ml)
    )
    assert offer.changes["valley.general_security.others_keep_ml_per_share"] == 0.3
    assert offer.worth_offering
    assert offer.error_unseen_ml_per_share < offer.error_stated_ml_per_share
    assert offer_in_words(offer).startswith("Offered, not made: ")
    assert plan.model_dump_json() == before


def test_fit_when_the_plan_is_right_then_nothing_is_offered(valley):
    """Nothing can be nearer than the rules that announced it."""
    plan, record = valley
    told = announced_by(plan, record, 1995, 12)
    offer = fit_settings(plan, record, told, hold_against(plan, record, told))
    assert not offer.changes
    assert not offer.worth_offering
    assert "the plan's own stand" in offer_in_words(offer)


def test_fit_when_too_few_years_then_refused(valley):
    """Three settings are not chosen on a handful of years."""
    plan, record = valley
    told = announced_by(plan, record, 1995, FEWEST_YEARS - 1)
    with pytest.raises(InputError, match="too few years"):
        fit_settings(plan, record, told, hold_against(plan, record, told))


def test_settings_when_listed_then_the_plans_own_first_and_none_twice(valley):
    """The first changes nothing; each other differs from all others, and is a whole plan."""
    plan, _ = valley
    tried = list(settings_tried(plan))
    assert tried[0] == {}
    assert len({tuple(sorted(changes.items())) for changes in tried}) == len(tried)
    for changes in tried[:: len(tried) // 8]:
        check_plan(with_changes(plan, changes).model_dump(exclude_none=True), "plan.toml")


def test_unseen_error_when_chosen_on_noise_then_worse_than_on_the_years_chosen():
    """Settings that differ only by luck: the best of many looks good, and is not."""
    errors = np.abs(np.random.default_rng(1).normal(0.0, 1.0, (100, 20)))
    chosen = errors.mean(axis=1).min()
    assert unseen_error(errors) > chosen
    assert unseen_error(errors) == pytest.approx(np.sqrt(2 / np.pi), abs=0.5)
    assert not Offer({"a": 1}, 0.8, chosen, unseen_error(errors) + 0.8, 100).worth_offering


def test_unseen_error_when_by_hand_then_each_stretch_with_the_best_of_the_others():
    """Two settings, five years: the second is best without year 1, and year 1 is scored by it."""
    errors = np.array([[9.0, 1.0, 1.0, 1.0, 1.0], [0.0, 2.0, 2.0, 2.0, 2.0]])
    # without year 1 the first is best (1 against 2): 9; without another year the second is.
    assert unseen_error(errors) == pytest.approx((9.0 + 4 * 2.0) / 5.0)
