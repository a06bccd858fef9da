"""Are the driest stretches found, named, and run from today's dam and account?"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from model.evidence.worst import driest_start, starts_of, worst_on_record
from model.outlook.replay import ledger_of_rows
from model.plan.text import read_plan
from model.record.record import read_record
from model.say.dry_years import worst_in_words
from model.sequences.draw import Calendar
from model.water_year import parse_month

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
LEES_FERRY = Path(__file__).parents[1] / "reference" / "lees_ferry" / "lees_ferry_monthly.csv"


@pytest.fixture(scope="module")
def valley():
    """The plan and the record of the contract."""
    return read_plan(CONTRACT / "plan.toml"), read_record(CONTRACT / "record.csv")


@pytest.mark.parametrize(("years", "share"), [(1, 0.43), (2, 0.55), (3, 0.59)])
def test_driest_when_lees_ferry_then_the_shares_of_its_statistics(years, share):
    """Driest 1, 2 and 3 water years of the natural flow record, as its own description gives them.

    The share here is of the mean run that is as long, which a long record makes the same to 0.01.
    """
    record = read_record(LEES_FERRY)
    _, found = driest_start(record, Calendar(parse_month("2021-07"), years))
    assert found == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize("seasons", [1, 2, 3, 4])
def test_driest_when_searched_slowly_then_the_same_start(valley, seasons):
    """Every start in turn, summed month by month."""
    _, record = valley
    calendar = Calendar(parse_month("2025-09"), seasons)
    sums = {
        row: sum(record.inflow_ml[row : row + calendar.months].tolist())
        for row in range(record.months - calendar.months + 1)
        if (record.first_month + row) % 12 == 8
    }
    assert driest_start(record, calendar)[0] == min(sums, key=lambda row: (sums[row], row))
    assert starts_of(record, calendar).tolist() == list(sums)


def test_worst_when_run_then_the_ledger_of_those_months_from_today(valley):
    """Each stretch is one sequence of the valley: its ledger gives the same seasons."""
    plan, record = valley
    stretch = worst_on_record(plan, record)[2]
    rows = stretch.first_row + np.arange(34)
    ledger = ledger_of_rows(plan, record, rows, parse_month(plan.opening.month))
    ends = [t for t, month in enumerate(ledger.months) if month.endswith("-06")]
    announced = ledger.columns["announced_to_date_ml_per_share"][ends]
    storage = ledger.columns["storage_end_ml"][ends]
    for season, by_month, dam in zip(stretch.seasons, announced, storage, strict=True):
        assert season.announced_to_date_ml_per_share == pytest.approx(by_month)
        assert season.storage_end_ml == pytest.approx(dam)
    assert [season.water_year for season in stretch.seasons] == ["2025-26", "2026-27", "2027-28"]


def test_worst_when_said_then_named_by_its_years(valley):
    """One sentence a length, with the years of the record and of the run."""
    plan, record = valley
    stretches = worst_on_record(plan, record)
    words = worst_in_words(stretches)
    assert len(words) == 4
    assert words[0].startswith(f"The driest season on record ({stretches[0].years}")
    assert f"driest 3 seasons on record ({stretches[2].years}" in words[2]
    assert f"{stretches[2].seasons[2].announced_to_date_ml_per_share:.2f} in 2027-28" in words[2]


def test_worst_when_drier_still_then_the_factor_applies_and_is_said(valley):
    """A drying factor makes a repeat drier than it was, and the sentence says so."""
    plan, record = valley
    drier = plan.with_drawing(flow_factor=0.8)
    as_was, with_factor = worst_on_record(plan, record)[1], worst_on_record(drier, record)[1]
    assert with_factor.seasons[1].inflow_ml == pytest.approx(0.8 * as_was.seasons[1].inflow_ml)
    assert "all flow times 0.8" in worst_in_words((with_factor,))[0]
    assert "times" not in worst_in_words((as_was,))[0]


def test_worst_when_record_is_short_then_longer_stretches_are_left_out(valley):
    """Only what the record holds whole is run."""
    plan, record = valley
    short = replace(record, inflow_ml=record.inflow_ml[:38], columns={}, indices={})
    fixed = plan.valley.assessment.model_copy(
        update={"assured_inflow": "fixed", "assured_fixed_ml_per_month": 0.0}
    )
    valley_ = plan.valley.model_copy(update={"assessment": fixed})
    stretches = worst_on_record(plan.model_copy(update={"valley": valley_}), short)
    assert [len(stretch.seasons) for stretch in stretches] == [1, 2, 3]
