"""Does the README say what is true of this checkout?"""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_readme_when_its_command_is_read_then_the_one_that_a_clean_checkout_must_pass() -> None:
    """The last line of `.ci/run` stands in the README, word for word, on a line of its own."""
    command = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()[-1]
    lines = [line.strip() for line in (ROOT / "README.md").read_text("utf-8").splitlines()]
    assert command.endswith("python -m tests")
    assert command in lines
