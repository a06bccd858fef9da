"""The dashboard as a program: `python -m dashboard PLAN`."""

from __future__ import annotations

import sys

from dashboard.launch import main

if __name__ == "__main__":
    sys.exit(main())
