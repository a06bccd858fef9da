"""Short profiles of the long commands: a few kills, a few hundred broken inputs; and Ctrl-C."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from model.plan.shipped import demonstration_plan
from tests.benchmarks.fuzz import feed
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


@pytest.mark.skipif(os.name != "posix", reason="an interrupt of this kind is POSIX's")
@pytest.mark.parametrize("after_s", [0.5, 3.0, 6.0])
def test_command_when_ctrl_c_is_pressed_then_one_line_and_nothing_is_left(
    after_s: float, tmp_path: Path
) -> None:
    """While it reads, runs sequences on all cores or writes: one line, no file, no process."""
    words = ["outlook", str(demonstration_plan()), "--count", "900000", "--out", "odds"]
    command = subprocess.Popen(
        [sys.executable, "-c", "import model.__main__ as m; print(flush=True); m.run()", *words],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parent.parent)},
    )
    assert command.stdout is not None
    command.stdout.readline()
    time.sleep(after_s)
    os.killpg(command.pid, signal.SIGINT)  # as a terminal does: to every process of the command
    _, said = command.communicate(timeout=60)
    assert said.splitlines() == ["Stopped. No file was left half written."]
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []
