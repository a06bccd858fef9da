"""Nothing leaves the machine: every test, and every program that a test starts, has no network."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tests.sample_files import monthly_csv, plan_text
from tests.served import CUT_NETWORK

REPLAY = ("replay", "plan.toml", "--from", "1995-07", "--to", "1997-06", "--out", "ledger.csv")
OUTLOOK = ("outlook", "plan.toml", "--count", "50", "--seasons", "1", "--out", "odds")


def test_network_when_a_test_reaches_out_then_it_fails() -> None:
    """The cut is a cut: names are not asked for, and no other computer is reached."""
    with pytest.raises(RuntimeError, match=r"example\.org"):
        socket.getaddrinfo("example.org", 80)
    with socket.socket() as probe, pytest.raises(RuntimeError, match=r"192\.0\.2\.1"):
        probe.connect(("192.0.2.1", 80))  # an address of RFC 5737, for documents alone


@pytest.mark.parametrize("words", [REPLAY, OUTLOOK], ids=["replay", "outlook"])
def test_command_when_the_network_is_cut_then_it_works_as_ever(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    """A command asks nobody for anything."""
    (tmp_path / "plan.toml").write_text(plan_text(), encoding="utf-8")
    (tmp_path / "record.csv").write_text(monthly_csv(), encoding="utf-8")
    root = str(Path(__file__).resolve().parent.parent)
    done = subprocess.run(
        [sys.executable, "-m", "model", *words],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": os.pathsep.join((root, str(CUT_NETWORK)))},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
