"""What all tests of the papers share: few resampled records behind each range."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.few_records import resample_few


@pytest.fixture(scope="package", autouse=True)
def _few_resampled_records() -> Iterator[None]:
    """Resample the record a few times, and draw little from each."""
    with pytest.MonkeyPatch.context() as patch:
        resample_few(patch)
        yield
