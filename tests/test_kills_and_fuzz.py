"""Short profiles of the long commands: a few kills, a few hundred broken inputs; and Ctrl-C."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.benchmarks.fuzz import feed
from tests.benchmarks.interrupts import COMMANDS, interrupted
from tests.benchmarks.kills import KINDS, kill_often

KILLS = 4 * len(KINDS)
INPUTS = 300


def test_files_when_their_writer_is_killed_then_old_or_new_and_whole() -> None:
    """Each kind of writer, killed at moments of chance; what it left is sound and cleared up."""
    kill_often(KILLS, seed=7)


def test_inputs_when_broken_at_random_then_read_or_refused_in_a_few_lines() -> None:
    """Nothing but a reading or an input error comes of them, and some of each kind are refused."""
    refused = feed(INPUTS, seed=7)
    assert all(refused.values()), refused


MOMENTS = [("outlook", 1.0), ("compare", 3.0), ("open", 1.5), ("outlook", 4.0)]
"""While it reads, plays sequences, loads the pages, and runs on all cores."""


@pytest.mark.skipif(os.name != "posix", reason="an interrupt of this kind is POSIX's")
@pytest.mark.parametrize(("name", "after_s"), MOMENTS)
def test_command_when_ctrl_c_is_pressed_then_one_line_and_nothing_is_left(
    name: str, after_s: float, tmp_path: Path
) -> None:
    """One line, no file, no process that goes on."""
    ended, stopped = interrupted(COMMANDS[name][0], after_s, tmp_path)
    assert stopped
    assert ended.faults(stopped) == []
    assert ended.said.splitlines()[-1] == "Stopped. No file was left half written."
