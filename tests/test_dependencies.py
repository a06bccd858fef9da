"""What the tool stands on is bounded, and what its tests last passed with is pinned."""

from __future__ import annotations

import ast
import sys
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
EXTRAS = PROJECT["project"]["optional-dependencies"]
FOR_TESTS = EXTRAS["test"]
NEEDED = [Requirement(text) for text in (*PROJECT["project"]["dependencies"], *FOR_TESTS)]

IMPORTED_AS = {"google": "protobuf"}
"""Modules named otherwise than what brings them."""


def test_dependencies_when_named_then_each_has_a_lowest_and_a_highest_version() -> None:
    """A new edition of something else never changes what this tool does unseen."""
    for needed in [*NEEDED, *map(Requirement, PROJECT["build-system"]["requires"])]:
        bounds = {bound.operator for bound in needed.specifier}
        assert {">=", "<"} <= bounds, str(needed)


def test_constraints_when_read_then_each_dependency_is_pinned_within_its_bounds() -> None:
    """The tests say with which versions they last passed, exactly."""
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").split()
    pinned = {canonicalize_name(r.name): r for r in map(Requirement, lines)}
    assert all(str(pin.specifier).startswith("==") for pin in pinned.values())
    for needed in NEEDED:
        version = str(pinned[canonicalize_name(needed.name)].specifier).removeprefix("==")
        assert needed.specifier.contains(version), str(needed)


def test_imports_when_collected_then_each_is_a_dependency_of_the_tool() -> None:
    """What is imported is named, not hoped for as another's dependency."""
    ours = {"model", "dashboard"}
    texts = (*PROJECT["project"]["dependencies"], *EXTRAS["cluster"])
    named = {canonicalize_name(Requirement(text).name) for text in texts}
    found = {
        (node.module or "" if isinstance(node, ast.ImportFrom) else alias.name).split(".")[0]
        for folder in sorted(ours)
        for path in (ROOT / folder).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    }
    foreign = {IMPORTED_AS.get(name, name) for name in found - ours - sys.stdlib_module_names}
    assert {canonicalize_name(name) for name in foreign} <= named | {"pydantic-core"}
