"""Check everything: format, lint, types, then all tests with the browser's. `python -m tests`."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WORKERS = "2"
"""Tests at once. A file is tested by one: its tests share what was costly to make."""

BY_FILE = ("--dist", "loadfile", "--no-loadscope-reorder")
"""In the order that `conftest` gives them: the longest files first, not those of most tests."""

CHECKS = (
    ("ruff", "format", "--check", "."),
    ("ruff", "check", "."),
    ("mypy",),
    ("pytest", "-q", "-rs", "--durations=10", "-n", WORKERS, *BY_FILE),
)


def main() -> int:
    """Run each check in turn; stop at the first that fails and give its exit status."""
    for check in CHECKS:
        sys.stdout.write(f"\n== {' '.join(check)}\n")
        sys.stdout.flush()
        status = subprocess.run([sys.executable, "-m", *check], cwd=ROOT, check=False).returncode
        if status:
            return status
    return 0


if __name__ == "__main__":
    sys.exit(main())
