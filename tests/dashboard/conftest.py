"""What all tests of the pages share: few resampled records behind each range.

What a page says and does is tested here, not how wide a range of the record is: that is held by
`tests/outlook`, on all of them.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from model.outlook import outlook

RESAMPLES = 16
DRAWS_EACH = 25


@pytest.fixture(scope="package", autouse=True)
def _few_resampled_records() -> Iterator[None]:
    """Resample the record a few times, and draw little from each."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlook, "RECORD_RESAMPLES", RESAMPLES)
        patch.setattr(outlook, "DRAWS_EACH", DRAWS_EACH)
        yield
