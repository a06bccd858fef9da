"""The brief's file: every figure on paper is in it, to the printed digit; hashes match."""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Iterator
from typing import Any

from pypdf import PdfReader

from model.decide.findings import Findings
from model.say.numbers import number, two_figures
from tests.brief_words import words_of

FIXED = re.compile(
    r"\d{4}-\d{2}-\d{2}|\d{4}-\d{2}|[0-9a-f]{12,64}|SHA-256|8:175|version [\d.]+"
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
    """Give every way in which a person may be shown these numbers."""
    found = set()
    for value in numbers:
        for scale in (1.0, -1.0, 1e-3, 1e-6, 100.0, shares_ml):
            scaled = value * scale
            if math.isfinite(scaled) and abs(scaled) < 1e12:
                found |= {number(scaled, digits) for digits in (-3, 0, 1, 2, 3)}
                found |= {two_figures(scaled), number(scaled, 2).rstrip("0").rstrip(".")}
    return found


def figures_of(words: str) -> list[str]:
    """Give the figures in words, dates and fixed levels left out."""
    found = NUMBER.findall(FIXED.sub(" ", words))
    return [each.rstrip(",") for each in found]


def words_in(part: dict[str, Any]) -> Iterator[str]:
    """Walk through the words of a part, cell by cell."""
    yield part["headline"]
    for block in part["blocks"]:
        yield from (block[key] for key in ("text", "caption") if key in block)
        for row in [*block.get("rows", []), *block.get("items", [])]:
            yield from [row] if isinstance(row, str) else row


def told(document: dict[str, Any], factor: float = 1.0) -> tuple[list[str], int]:
    """Give the printed figures that the file does not hold, and how many were looked for."""
    numbers = [
        value * factor
        for key, item in document.items()
        if key != "printed"
        for value in leaves(item)
    ]
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
    """Figures of three digits or more, part by part; with all numbers 1.3 % off most are missed."""
    missing, looked = told(document)
    assert missing == []
    assert looked > 400
    off, _ = told(document, 1.013)
    assert len(off) > 0.6 * looked


def test_file_when_read_beside_the_paper_then_the_same_cells(
    document: dict[str, Any], pdf: bytes
) -> None:
    """Rows of tables stand on paper as the file has them, in their order."""
    words, rows = words_of(pdf), 0
    for part in document["printed"]["parts"]:
        for block in part["blocks"]:
            for row in block.get("rows", []):
                joined = " ".join(" ".join(cell for cell in row if cell).split())
                assert joined.replace("\u200b", "") in words.replace("\u200b", ""), joined
                rows += 1
    assert rows > 60


def test_hashes_when_copied_then_they_match(
    document: dict[str, Any], pdf: bytes, found: Findings
) -> None:
    """The plan's hash is made again from the file's plan; on paper both stand in one piece."""
    again = json.dumps(document["plan"], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert hashlib.sha256(again.encode()).hexdigest() == document["plan_sha256"]
    import io

    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    hashes = set(re.findall(r"\b[0-9a-f]{64}\b", text))
    assert hashes == {document["plan_sha256"], found.odds.record.sha256}


def test_file_when_the_strategy_is_named_then_on_every_page(
    document: dict[str, Any], pdf: bytes
) -> None:
    """The footer of each page names the strategy, the plan's hash and the record's."""
    import io

    for page in PdfReader(io.BytesIO(pdf)).pages:
        words = " ".join(page.extract_text().split())
        assert f"“{document['strategy']}”" in words
        assert document["plan_sha256"][:12] in words
        assert document["record"]["sha256"][:12] in words
