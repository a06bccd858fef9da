"""Does the mutation command make the errors it says, and does its list of survivors still fit?"""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest

from tests.mutation.mutants import mutants_of

ROOT = Path(__file__).parents[2]
WINGS = ("valley", "farm", "decide", "evidence", "say")
SURVIVORS = tomllib.loads(Path(__file__).with_name("survivors.toml").read_text("utf-8"))

ONE_IN = 10
"""Of the errors of a module these are put in here: to read a module takes milliseconds."""

CODE = b'''
def carried_ml(account_ml: float, limit_ml: float = 2.0) -> "float":
    """Words and - signs in them are no code."""
    if not account_ml >= limit_ml and account_ml:
        raise ValueError(f"{account_ml - 1}")
    return min(account_ml, (limit_ml + 1) * 3) if account_ml else -limit_ml
'''


def test_mutants_when_listed_then_each_is_one_small_error() -> None:
    """Signs, comparisons, joined conditions, limits and numbers; no words, types or messages."""
    assert [(error.was, error.now) for error in mutants_of("a.py", CODE)] == [
        ("2.0", "4.0"),
        (
            "not account_ml >= limit_ml and account_ml",
            "((not account_ml >= limit_ml) or (account_ml))",
        ),
        ("not account_ml >= limit_ml", "(account_ml >= limit_ml)"),
        ("account_ml >= limit_ml", "account_ml > limit_ml"),
        ("account_ml", "(not (account_ml))"),
        ("min", "max"),
        ("(limit_ml + 1) * 3", "(limit_ml + 1) / 3"),
        ("limit_ml + 1", "limit_ml - 1"),
        ("1", "2"),
        ("3", "4"),
        ("-limit_ml", "(limit_ml)"),
    ]


@pytest.mark.parametrize("wing", WINGS)
def test_mutants_when_put_in_then_each_module_can_still_be_read(wing: str) -> None:
    """Each error is in the code, and the code is code: an error that cannot run proves nothing."""
    for path in sorted((ROOT / "model" / wing).glob("*.py")):
        whole = path.read_bytes()
        for error in mutants_of(str(path.relative_to(ROOT)), whole)[::ONE_IN]:
            changed = error.put_in(whole)
            assert changed != whole, error.name
            ast.parse(changed)


def test_survivors_when_listed_then_each_is_an_error_that_can_still_be_made() -> None:
    """What is listed as harmless names code that is there; each has its reason."""
    listed = SURVIVORS.get("survivor", [])
    there = {
        error.name
        for file in {one["error"].split()[0] for one in listed}
        for error in mutants_of(file, (ROOT / file).read_bytes())
    }
    assert [one["error"] for one in listed if one["error"] not in there] == []
    assert all(len(one["why"]) > 20 for one in listed)
