"""Where is the demonstration plan, in a checkout and in an installed package?"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]
_PLACES = (_PACKAGE.parent / "data", _PACKAGE / "demonstration_data")


def demonstration_plan() -> Path:
    """Find the demonstration plan; its record stands beside it.

    Raises
    ------
    FileNotFoundError
        The installation lacks it.
    """
    for place in _PLACES:
        path = place / "demonstration.toml"
        if path.is_file():
            return path
    raise FileNotFoundError("the demonstration plan is not where it was installed")
