"""The dashboard, with few resampled records behind each range: quicker to draw.

What a page says and does is tested in the browser, not how wide a range of the record is: that is
held by `tests/outlook`, on all of them.
"""

from __future__ import annotations

import sys

from dashboard.launch import main
from model.outlook import outlook

FEW = {"RECORD_RESAMPLES": 16, "DRAWS_EACH": 25}

if __name__ == "__main__":
    for name, count in FEW.items():
        assert getattr(outlook, name) > count
        setattr(outlook, name, count)
    sys.exit(main())
