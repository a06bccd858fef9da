"""What stands at a dotted key of a plan as it is written, unchecked?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def tables_at(raw: Mapping[str, Any], dotted: str) -> list[Mapping[str, Any]]:
    """Return the tables of a list at a dotted key; none where there is no such list."""
    value: Any = raw
    for part in dotted.split("."):
        value = value.get(part) if isinstance(value, Mapping) else None
    items = value if isinstance(value, list | tuple) else []
    return [item for item in items if isinstance(item, Mapping)]


def number_at(raw: Mapping[str, Any], dotted: str) -> float | None:
    """Return the number at a dotted key, None where there is none."""
    value: Any = raw
    for part in dotted.split("."):
        value = value.get(part) if isinstance(value, Mapping) else None
    if not isinstance(value, int | float) or isinstance(value, bool):
        return None
    try:
        return float(value)
    except OverflowError:  # a whole number too long for any quantity: the schema refuses it
        return None
