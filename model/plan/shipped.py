"""Which plans come with the tool: the demonstration, and ready-made account rules to begin from?

A preset is a fragment of a plan with a name and a line about it, invented as an example of its
kind: annual with carryover, continuous, spillable, and those with a further rule: carried water
locked, restricted in stages, capacity shared. A valley's own rules are in its water sharing plan.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from model.plan.valley import Access, Accounts, CapacitySharing

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
    access: Access | None  # None: the valley's own stays
    capacity_sharing: CapacitySharing | None

    def changes(self) -> dict[str, Any]:
        """Return the preset's tables by dotted key; None for what it leaves out.

        Every key of `[valley.accounts]` is named, and the other tables as a whole.
        """
        given = self.accounts.model_fields_set
        changes = {
            f"valley.accounts.{key}": value if key in given else None
            for key, value in self.accounts.model_dump().items()
        }
        sharing = self.capacity_sharing
        changes["valley.capacity_sharing"] = None if sharing is None else sharing.model_dump()
        if self.access is not None:
            changes["valley.access"] = self.access.model_dump(mode="json", exclude_none=True)
        return changes


def presets() -> tuple[Preset, ...]:
    """Read the presets that are installed, by file name."""
    folder = demonstration_plan().parent / "presets"
    return tuple(_preset(path.read_text("utf-8")) for path in sorted(folder.glob("*.toml")))


def _preset(text: str) -> Preset:
    raw = tomllib.loads(text)
    valley = raw["valley"]
    access, sharing = valley.get("access"), valley.get("capacity_sharing")
    return Preset(
        raw["name"],
        raw["about"],
        Accounts.model_validate(valley["accounts"]),
        None if access is None else Access.model_validate(access),
        None if sharing is None else CapacitySharing.model_validate(sharing),
    )
