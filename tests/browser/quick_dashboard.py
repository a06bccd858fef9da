"""The dashboard, with few resampled records behind each range: quicker to draw."""

from __future__ import annotations

import sys

import pytest

from dashboard.launch import main
from tests.few_records import resample_few

if __name__ == "__main__":
    resample_few(pytest.MonkeyPatch())
    sys.exit(main())
