"""Whether a record is described as others have published.

Source: the statistics of the Lees Ferry record, as its README under `reference/lees_ferry` gives
them (tolerance: their printed digits).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from model.record.describe import (
    Description,
    describe_record,
)
from model.record.record import Record, read_record

LEES_FERRY = Path(__file__).parents[1] / "reference" / "lees_ferry" / "lees_ferry_monthly.csv"
ML_PER_ACRE_FOOT = 1.23348184


@pytest.fixture(scope="module")
def record() -> Record:
    """Monthly flow at Lees Ferry."""
    return read_record(LEES_FERRY)


@pytest.fixture(scope="module")
def described(record: Record) -> Description:
    """What the model says of it."""
    return describe_record(record)


def test_lees_ferry_when_read_then_it_is_the_whole_published_record(record: Record) -> None:
    """1,383 months from October 1905 to December 2020, none of them filled."""
    assert (record.span, record.months) == (("1905-10", "2020-12"), 1_383)
    assert not record.filled


def test_lees_ferry_when_described_then_years_are_the_published_ones(
    described: Description,
) -> None:
    """114 complete July-June years, ending 1907 to 2020."""
    years = (described.complete_years, described.first_year, described.last_year)
    assert years == (114, "1906-07", "2019-20")


def test_lees_ferry_when_described_then_mean_is_the_published_one(described: Description) -> None:
    """18,185,000 ML, published to the thousand; 14,742,840 acre-feet, to the ten."""
    assert described.mean_ml == pytest.approx(18_185_000, abs=500)
    assert described.mean_ml / ML_PER_ACRE_FOOT == pytest.approx(14_742_840, abs=5)


@pytest.mark.parametrize(
    ("measure", "published", "digit"),
    [("cv", 0.256, 0.001), ("lag_1", 0.42, 0.01), ("skew", 0.22, 0.01), ("hurst_k", 0.73, 0.01)],
)
def test_lees_ferry_when_described_then_measures_agree_to_the_printed_digit(
    described: Description, measure: str, published: float, digit: float
) -> None:
    """CV, lag-1 correlation, skew and Hurst's K, half a printed digit either way."""
    assert getattr(described, measure) == pytest.approx(published, abs=digit / 2)


def test_lees_ferry_when_described_then_dry_runs_are_the_published_ones(
    described: Description,
) -> None:
    """Five years running below the median; driest 1, 2 and 3 years 0.43, 0.55, 0.59 of the mean."""
    assert described.longest_dry_run is not None
    assert described.longest_dry_run.years == 5
    assert [stretch.years for stretch in described.driest] == [1, 2, 3]
    shares = [stretch.share_of_mean for stretch in described.driest]
    np.testing.assert_allclose(shares, [0.43, 0.55, 0.59], rtol=0.0, atol=0.005)


def test_lees_ferry_when_the_file_is_read_another_way_then_named_years_are_the_driest(
    described: Description,
) -> None:
    """The years that the model names do hold the least water, by a plain sum over the file."""
    with LEES_FERRY.open(newline="", encoding="utf-8") as file:
        flow_ml = {row["month"]: float(row["inflow_ml"]) for row in csv.DictReader(file)}

    def total_ml(year: int) -> float:
        months = [f"{year}-{month:02d}" for month in range(7, 13)]
        months += [f"{year + 1}-{month:02d}" for month in range(1, 7)]
        return sum(flow_ml[month] for month in months)

    totals_ml = {year: total_ml(year) for year in range(1906, 2020)}
    for stretch in described.driest:
        least = min(
            sum(totals_ml[year + ahead] for ahead in range(stretch.years))
            for year in range(1906, 2021 - stretch.years)
        )
        first = int(stretch.first[:4])
        named = sum(totals_ml[first + ahead] for ahead in range(stretch.years))
        assert named == pytest.approx(least, rel=1e-12)
