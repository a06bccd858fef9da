"""Which ready-made account rules are there to begin from?

Each is a fragment of a plan with a name and a line about it, invented as an example of its kind:
annual with carryover, continuous, spillable. A valley's own rules are in its water sharing plan.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import Any

from model.plan.demonstration import demonstration_plan
from model.plan.plan import Accounts


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
