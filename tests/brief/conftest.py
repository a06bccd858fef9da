"""One run of a plan with a request, securities and covenants, read by all tests of the brief."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

import pytest

from model.brief.brief_file import brief_pdf
from model.brief.brief_json import brief_json
from model.decide.findings import Findings, findings_of
from model.record.record import Record
from tests.brief_plan import contract_record, credit_plan

DAY: Final = dt.date(2026, 1, 2)


@pytest.fixture(scope="session")
def record() -> Record:
    """Read the contract's record once."""
    return contract_record()


@pytest.fixture(scope="session")
def found(record: Record) -> Findings:
    """Run the plan once."""
    return findings_of(credit_plan(), record)


@pytest.fixture(scope="session")
def pdf(found: Findings) -> bytes:
    """Make its brief once."""
    return brief_pdf(found, DAY)


@pytest.fixture(scope="session")
def document(found: Findings) -> dict[str, Any]:
    """Write its file once."""
    import json

    written: dict[str, Any] = json.loads(brief_json(found, DAY))
    return written
