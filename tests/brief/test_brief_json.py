"""The brief's file: every figure on paper is in it, to the printed digit; hashes match."""

from __future__ import annotations

import hashlib
import io
import json
import math
import re
from collections.abc import Iterator
from typing import Any

import pytest
from pypdf import PdfReader

from model.decide.findings import Findings
from model.say.numbers import number, two_figures
from model.water_year import month_name, parse_month
from tests.brief_words import chance_cell, in_100, printed, words_of

FIXED = re.compile(
    r"\$'000|\d{4}-\d{2}-\d{2}|\d{4}-\d{2}|[0-9a-f]{12,64}|SHA-256|8:175|version [\d.]+"
    r"|(?:January|February|March|April|May|June|July|August|September|October|November|December"
    r"|Jan|Oct|Fan|Langemeier) \d{4}|(?:90|80|50|10) (?:times )?in 100|in 100\b|worst 10\b"
    r"|\d+ or more 50 times|\b50 times\b|10 times\b|reached 90\b|are 95 %|1 ML in a year|type 7"
    r"|\bQ?[0-9]\s+[A-Z][a-z]+"
)
"""Dates, references and the levels that chances are told at: words, not figures."""
NUMBER = re.compile(r"−?\d[\d,]*(?:\.\d+)?")
LEAST_DIGITS = 3
"""Small whole numbers are met by chance: the rest are looked for one by one."""


def leaves(value: Any) -> Iterator[float]:
    """Walk through all numbers of a file."""
    if isinstance(value, dict):
        for item in value.values():
            yield from leaves(item)
    elif isinstance(value, list):
        for item in value:
            yield from leaves(item)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield float(value)


def printable(numbers: list[float], shares_ml: float) -> set[str]:
    """Return every way in which a person may be shown these numbers."""
    found = set()
    for value in numbers:
        for scale in (1.0, -1.0, 1e-3, 1e-6, 100.0, shares_ml):
            scaled = value * scale
            if math.isfinite(scaled) and abs(scaled) < 1e12:
                found |= {number(scaled, digits) for digits in (-3, 0, 1, 2, 3)}
                found |= {two_figures(scaled), number(scaled, 2).rstrip("0").rstrip(".")}
                found.add(f"{scaled:.0f}")
    return found


def figures_of(words: str) -> list[str]:
    """Return the figures in words, dates and fixed levels left out."""
    found = NUMBER.findall(FIXED.sub(" ", words))
    return [each.rstrip(",") for each in found]


def words_in(part: dict[str, Any]) -> Iterator[str]:
    """Walk through the words of a part, cell by cell."""
    yield part["headline"]
    for block in part["blocks"]:
        yield from (block[key] for key in ("text", "caption") if key in block)
        for row in [*block.get("rows", []), *block.get("items", [])]:
            yield from [row] if isinstance(row, str) else row


def told(document: dict[str, Any], *left_out: str) -> tuple[list[str], int]:
    """Return the printed figures that the file does not hold, and how many were looked for."""
    tables = (item for key, item in document.items() if key not in ("printed", *left_out))
    numbers = [value for item in tables for value in leaves(item)]
    shares_ml = document["decision"]["general_security_shares_ml"]
    ways, missing, looked = printable(numbers, shares_ml), [], 0
    for part in document["printed"]["parts"]:
        for words in words_in(part):
            for figure in figures_of(words):
                if len(re.sub(r"[^\d]", "", figure)) >= LEAST_DIGITS:
                    looked += 1
                    missing += [f"{figure} in {words[:90]}"] * (figure not in ways)
    return missing, looked


def test_file_when_every_printed_figure_is_looked_for_then_found(
    document: dict[str, Any],
) -> None:
    """Figures of three digits or more, part by part; without a table of the file some are not."""
    missing, looked = told(document)
    assert missing == []
    assert looked > 400
    fewer, _ = told(document, "strategies", "water")
    for table in ("lender", "planting", "security"):
        assert len(told(document, table, "strategies", "water")[0]) > len(fewer) > 0, table


def rows_of(document: dict[str, Any], caption: str) -> list[list[str]]:
    """Return the printed rows of the table whose caption begins so."""
    blocks = (block for part in document["printed"]["parts"] for block in part["blocks"])
    return next(b["rows"] for b in blocks if b.get("caption", "").startswith(caption))


def thousand(aud: float) -> str:
    """Print money in thousands."""
    return printed(aud / 1_000)


def test_rows_when_made_from_the_file_then_those_printed(document: dict[str, Any]) -> None:
    """Stress set, parts, break-evens, driest seasons and classes of water, from the file alone."""
    lender, by_case = document["lender"], rows_of(document, "Stress set")
    assert len(by_case) == len(lender["stress"])
    for row, case in zip(by_case, lender["stress"], strict=True):
        assert row[0].startswith(f"{case['case']}: ")
        assert row[1:] == [
            " / ".join(printed(ha) for ha in case["middles"]["area_planted_ha"]),
            printed(case["run_cover"], 2),
            in_100(case["cover_below_1_frac"]),
            thousand(case["lowest_cash_aud"]),
            thousand(case["lowest_cash_9_of_10_aud"]),
            month_name(parse_month(case["lowest_cash_month"])),
            in_100(case["past_limit_frac"]),
            in_100(case["payment_missed_frac"]),
            thousand(case["closing_cash_aud"]),
        ]
    parts = [thousand(value) for value in lender["parts_mean_aud"].values()]
    covers = [printed(cover["mean"], 2) for cover in lender["covers"].values()]
    assert [row[1] for row in rows_of(document, "What the whole run pays")] == [*parts, *covers]
    solved = rows_of(document, "How far each may turn")
    for row, one in zip(solved, lender["break_evens"], strict=True):
        assert float(row[2].lstrip("+").replace(",", "")) == pytest.approx(one["at"], rel=2e-3)
        assert row[4] == printed(one["cover_there"], 2)
    driest = lender["driest_seasons"]
    for at, row in enumerate(rows_of(document, "The driest")):
        assert row[3:] == [
            printed(driest["area_planted_ha"][at]),
            printed(driest["water_carried_ml"][at]),
            thousand(driest["closing_cash_aud"][at]),
            thousand(driest["peak_overdraft_aud"][at]),
            printed(driest["term_debt_cover"][at], 2),
        ]
    classes = document["planting"]["by_water_at_planting"]
    for row, one in zip(rows_of(document, "What we would plant"), classes, strict=True):
        low, middle, high = map(printed, one["planted_ha"])
        assert row[3] == f"{middle} ({low} to {high})"
        low, middle, high = map(thousand, one["closing_cash_aud"])
        assert row[5] == f"{middle} ({low} to {high})"


def test_security_when_made_from_the_file_then_as_printed(document: dict[str, Any]) -> None:
    """Securities after the typed fall, loan to value at the deepest debt, chances of breach."""
    security = document["security"]
    typed = security["request"]["securities"]
    rows = rows_of(document, "What secures the debt")
    assert [row[:3] for row in rows[:-1]] == [
        [one["asset"], thousand(one["value_aud"]), thousand(0.75 * one["value_aud"])]
        for one in typed
    ]
    assert rows[0][3:] == ["market appraisal", "12 March 2024"]
    assert security["value_aud"] == 7_200_000.0
    valued, fallen = security["loan_to_value_frac"]
    for at, debt_aud in enumerate(security["peak_debt_aud"]):
        assert valued[at] == pytest.approx(debt_aud / 7_200_000.0)
        assert fallen[at] == pytest.approx(debt_aud / 5_400_000.0)
    months = document["planting"]["by_month"]
    deepest = max(months, key=lambda month: month["debt_aud"]["0.9"])
    assert deepest["month"] == security["peak_debt_month"]
    assert deepest["debt_aud"]["0.9"] == security["peak_debt_aud"][1]
    for row, one in zip(
        rows_of(document, "Covenants as typed"), security["covenants"], strict=True
    ):
        assert row[-1] == chance_cell(one["in_run"])
        seasons = [chance_cell(each) for each in one["by_season"]]
        assert row[1:-1] == (seasons or [""] * 3)
        assert one["words"] in row[0]


def test_file_when_read_beside_the_paper_then_the_same_cells(
    document: dict[str, Any], pdf: bytes
) -> None:
    """Rows of tables stand on paper as the file has them, in their order."""
    words, rows = re.sub(r"[\s\u200b]", "", words_of(pdf)), 0
    for part in document["printed"]["parts"]:
        for block in part["blocks"]:
            for row in block.get("rows", []):
                joined = re.sub(r"[\s\u200b]", "", "".join(row))
                assert joined in words, row
                rows += 1
    assert rows > 60


def test_hashes_when_copied_then_they_match(
    document: dict[str, Any], pdf: bytes, found: Findings
) -> None:
    """The plan's hash is made again from the file's plan; on paper both stand in one piece."""
    again = json.dumps(document["plan"], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert hashlib.sha256(again.encode()).hexdigest() == document["plan_sha256"]
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    hashes = set(re.findall(r"\b[0-9a-f]{64}\b", text))
    assert hashes == {document["plan_sha256"], found.odds.record.sha256}


def test_file_when_the_strategy_is_named_then_on_every_page(
    document: dict[str, Any], pdf: bytes
) -> None:
    """The footer of each page names the strategy, the plan's hash and the record's."""
    for page in PdfReader(io.BytesIO(pdf)).pages:
        words = " ".join(page.extract_text().split())
        assert f"“{document['strategy']}”" in words
        assert document["plan_sha256"][:12] in words
        assert document["record"]["sha256"][:12] in words
