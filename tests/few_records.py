"""Few resampled records behind each range, for tests of what a page says and does.

How wide a range of the record is, is held by `tests/outlook`, on all of them.
"""

from __future__ import annotations

import pytest

from model.outlook import outlook

FEW = {"RECORD_RESAMPLES": 16, "DRAWS_EACH": 25}


def resample_few(patch: pytest.MonkeyPatch) -> None:
    """Resample the record a few times, and draw little from each, until the patch is undone."""
    for name, count in FEW.items():
        assert getattr(outlook, name) > count
        patch.setattr(outlook, name, count)
