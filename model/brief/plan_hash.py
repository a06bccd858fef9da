"""Which plan was played? Its hash, which anybody can make again from the plan in the JSON file."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from model.plan.plan import Plan


def plan_played(plan: Plan) -> dict[str, Any]:
    """Return a plan as it was played, changes on the way included, as plain data."""
    played: dict[str, Any] = plan.model_dump(mode="json")
    return played


def plan_sha256(plan: Plan) -> str:
    """Return the SHA-256 of a plan as played: of its JSON, keys sorted, without spaces."""
    return sha256_of(plan_played(plan))


def sha256_of(played: dict[str, Any]) -> str:
    """Return the SHA-256 of a plan as the JSON file holds it.

    Examples
    --------
    >>> sha256_of({"title": "A plan", "valley": {}})[:12]
    '83e7d5364280'
    """
    words = json.dumps(played, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(words.encode()).hexdigest()
