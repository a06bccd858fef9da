"""Which plans come with the tool: the demonstration, and ready-made account rules to begin from?

A preset is a fragment of a plan with a name and a line about it, invented as an example of its
kind: annual with carryover, continuous, spillable. A valley's own rules are in its water sharing
plan.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from model.plan.plan import Accounts

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


@dataclass(frozen=True, slots=True)
class Preset:
    """Account rules with a name."""

    name: str
    about: str
    accounts: Accounts

    def changes(self) -> dict[str, Any]:
        """Give every key of `[valley.accounts]` by dotted key; None for what is left out."""
        return {
            f"valley.accounts.{key}": value for key, value in self.accounts.model_dump().items()
        }


def presets() -> tuple[Preset, ...]:
    """Read the presets that are installed, by file name."""
    folder = demonstration_plan().parent / "presets"
    return tuple(_preset(path.read_text("utf-8")) for path in sorted(folder.glob("*.toml")))


def _preset(text: str) -> Preset:
    raw = tomllib.loads(text)
    accounts = Accounts.model_validate(raw["valley"]["accounts"])
    return Preset(raw["name"], raw["about"], accounts)
