"""Whether the invented demonstration is what its page says it is, and behaves as valleys do.

The four facts about valleys of this kind are common practice, no source.
"""

from __future__ import annotations

import hashlib
import importlib.util
import itertools
import re
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from model.evidence.choosers import choosers_of
from model.evidence.hindcast import hindcast
from model.evidence.judge import recommended_of
from model.evidence.recommend import CANDIDATES
from model.outlook.replay import Ledger, replay_months
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import read_plan
from model.record.record import FloatArray, Record, read_record
from model.water_year import format_month

DATA = demonstration_plan().parent
WATER_YEARS = 131
NOTHING_ML_PER_SHARE = 1e-9
WORTH_JUDGING_ML_PER_SHARE = 0.1  # less than this cannot lose much


@pytest.fixture(scope="module")
def plan() -> Plan:
    """Plan of the demonstration."""
    return read_plan(demonstration_plan())


@pytest.fixture(scope="module")
def record(plan: Plan) -> Record:
    """Record of the demonstration."""
    return read_record(DATA / plan.record)


@pytest.fixture(scope="module")
def ledger(plan: Plan, record: Record) -> Ledger:
    """Ledger of the whole record from July 1894, opened as the plan says."""
    return replay_months(plan, record, record.first_month, record.last_month)


def by_year(ledger: Ledger, column: str) -> FloatArray:
    """(water year, month) a column of the whole water years."""
    return ledger.columns[column][: 12 * WATER_YEARS].reshape(WATER_YEARS, 12)


def years_without_announcement(ledger: Ledger) -> list[list[int]]:
    """Return the runs of water years in which nothing was announced, each by its years from 0."""
    announced = by_year(ledger, "announced_ml_per_share").sum(axis=1)
    years = enumerate(announced <= NOTHING_ML_PER_SHARE)
    return [
        [year for year, _ in run]
        for none, run in itertools.groupby(years, key=lambda year: year[1])
        if none
    ]


def script() -> ModuleType:
    """Load the script that makes the record."""
    spec = importlib.util.spec_from_file_location("make", DATA / "make_demonstration.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# the files


def test_record_when_made_again_then_it_is_the_same_to_the_byte(tmp_path: Path) -> None:
    """The script writes the file that stands beside it."""
    out = tmp_path / "record.csv"
    script().main(out)
    assert out.read_bytes() == (DATA / "demonstration_record.csv").read_bytes()


def test_record_when_another_seed_is_used_then_it_is_another_record() -> None:
    """The script does draw: its seed decides."""
    make = script()
    make.SEED += 1
    assert make.record_text() != (DATA / "demonstration_record.csv").read_text(encoding="ascii")


def test_files_when_hashed_then_the_page_beside_them_has_their_hashes() -> None:
    """A file that was changed without its page being changed is noticed."""
    page = (DATA / "README.md").read_text(encoding="utf-8")
    stated = dict(re.findall(r"^\| `([^`]+)` \| `([0-9a-f]{64})` \|$", page, flags=re.MULTILINE))
    assert set(stated) == {"demonstration.toml", "demonstration_record.csv"}
    for name, digest in stated.items():
        assert hashlib.sha256((DATA / name).read_bytes()).hexdigest() == digest, name


def test_plan_when_read_then_it_is_marked_as_invented(plan: Plan) -> None:
    """Nobody takes it for a real valley."""
    assert plan.invented
    assert "invented" in plan.title
    assert "invented" in plan.valley.name


def test_record_when_read_then_it_has_every_column_and_no_gap(record: Record) -> None:
    """About 130 years of inflow, tributary, rain and evaporation."""
    assert record.span == ("1894-07", "2025-08")
    assert record.months == 12 * WATER_YEARS + 2
    assert set(record.columns) == {
        "tributary_ml",
        "lake_rain_mm",
        "lake_evaporation_mm",
        "farm_rain_mm",
        "farm_eto_mm",
    }
    assert dict(record.filled) == {}


def test_record_when_summed_by_year_then_it_has_the_figures_of_its_page(record: Record) -> None:
    """Mean, spread, driest and wettest year, as the page beside it states them."""
    months, totals_ml = record.water_year_totals_ml()
    page = (DATA / "README.md").read_text(encoding="utf-8")
    assert f"{totals_ml.mean():,.0f} and {np.median(totals_ml):,.0f} ML" in page
    for pick in (np.argmin, np.argmax):
        at = int(pick(totals_ml))
        stated = re.search(rf"([\d,]+) ML \({format_month(int(months[at]))[:4]}-", page)
        assert stated is not None
        assert abs(int(stated[1].replace(",", "")) - totals_ml[at]) <= 0.51  # a whole number
    cv = totals_ml.std(ddof=1) / totals_ml.mean()
    assert f"| coefficient of variation (n - 1) | {cv:.2f} |" in page


# four facts of valleys of this kind: common practice, no source


def test_general_security_when_it_is_dry_then_it_gets_nothing_for_three_to_four_years_running(
    ledger: Ledger,
) -> None:
    """Last in the queue: at least one run of three or four water years, and none longer."""
    lengths = [len(run) for run in years_without_announcement(ledger)]
    assert max(lengths) in (3, 4)


def test_general_security_when_it_is_dry_then_the_runs_are_those_of_the_page(
    ledger: Ledger,
) -> None:
    """The page beside the data names each long run by its first year."""
    runs = [run for run in years_without_announcement(ledger) if len(run) >= 3]
    page = (DATA / "README.md").read_text(encoding="utf-8")
    line = next(line for line in page.splitlines() if "four water years running" in line)
    named = [int(year) for year in re.findall(r"(\d{4})-\d{2} \(", line)]
    assert named == [1894 + run[0] for run in runs]


def test_high_security_when_it_is_dry_then_it_stays_near_full(ledger: Ledger, plan: Plan) -> None:
    """At least 95 % of its allocation by the end of every June, and full in nearly all."""
    at_june = by_year(ledger, "high_security_allocation_frac")[:, -1]
    assert at_june.min() >= 0.95
    assert np.mean(at_june >= 1.0 - 1e-9) >= 0.95
    used = by_year(ledger, "high_security_ml").sum(axis=1) / plan.valley.high_security.shares_ml
    assert used.min() >= 0.8


def test_essential_supplies_when_it_is_dry_then_they_are_never_short(
    ledger: Ledger, plan: Plan
) -> None:
    """Every month of every year gets all that towns, stock and homes ask for."""
    wanted = np.broadcast_to(plan.valley.essential_ml, (WATER_YEARS, 12))
    np.testing.assert_allclose(by_year(ledger, "essential_ml"), wanted, rtol=1e-12)


def test_carried_water_when_nothing_follows_then_it_lasts_a_season_and_little_of_a_second(
    ledger: Ledger,
) -> None:
    """Of what is held going into a dry run most is gone after one season, nearly all after two.

    Judged on runs that open with at least 0.1 ML per share; less than that cannot lose much.
    """
    at_june = by_year(ledger, "account_ml_per_share")[:, -1]
    judged = 0
    for first, *later in years_without_announcement(ledger):
        held = at_june[first - 1]
        if not later or held < WORTH_JUDGING_ML_PER_SHARE:
            continue
        judged += 1
        assert at_june[first] <= 0.5 * held
        assert at_june[first] < WORTH_JUDGING_ML_PER_SHARE
        assert at_june[first + 1] <= at_june[first]
        assert at_june[first + 1] <= 0.05
    assert judged >= 2


def test_carried_water_when_a_dry_run_begins_then_it_waters_the_first_season_at_most(
    ledger: Ledger, plan: Plan
) -> None:
    """What general security still draws in the second year of nothing is next to nothing."""
    drawn = by_year(ledger, "general_security_ml").sum(axis=1)
    per_share = drawn / plan.valley.general_security.shares_ml
    runs = [run for run in years_without_announcement(ledger) if len(run) >= 2]
    assert max(per_share[run[0]] for run in runs) > 0.3
    assert max(per_share[year] for run in runs for year in run[1:]) < 0.02


def test_method_when_tried_on_past_years_then_it_is_the_one_the_plan_names(
    plan: Plan, record: Record
) -> None:
    """What a plan without a method would use on this record is what the demonstration names."""
    two_seasons = plan.with_drawing(seasons=2)
    choosers = choosers_of(two_seasons.sequences, CANDIDATES)
    found = recommended_of(hindcast(two_seasons, record, choosers=choosers, draws_each=50))
    assert found.method == plan.sequences.method
    others = [error for name, error in found.error_frac.items() if name != found.method]
    assert found.error_frac[found.method] < min(others) - 0.03  # beyond what 50 draws leave open
