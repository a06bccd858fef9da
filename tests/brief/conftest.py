"""One run of a plan with a request, securities and covenants, read by all tests of the brief.

Few resampled records stand behind each range.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, Final

import pytest

from model.brief.brief_file import brief_pdf
from model.brief.brief_json import brief_json
from model.decide.findings import Findings, findings_of
from model.record.record import Record
from tests.brief_plan import contract_record, credit_plan
from tests.few_records import resample_few

DAY: Final = dt.date(2026, 1, 2)


@pytest.fixture(scope="package", autouse=True)
def _few_resampled_records() -> Iterator[None]:
    """Resample the record a few times, and draw little from each."""
    with pytest.MonkeyPatch.context() as patch:
        resample_few(patch)
        yield


@pytest.fixture(scope="package")
def record() -> Record:
    """Read the contract's record once."""
    return contract_record()


@pytest.fixture(scope="package")
def found(record: Record) -> Findings:
    """Run the plan once."""
    return findings_of(credit_plan(), record)


@pytest.fixture(scope="package")
def pdf(found: Findings) -> bytes:
    """Make its brief once."""
    return brief_pdf(found, DAY)


@pytest.fixture(scope="package")
def document(found: Findings) -> dict[str, Any]:
    """Write its file once."""
    import json

    written: dict[str, Any] = json.loads(brief_json(found, DAY))
    return written
