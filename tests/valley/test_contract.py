"""Whether `seasons replay` writes the reference ledgers of the scheme.

Reference: tests/reference/contract, invented plans on one record, each with the ledger that a
separate program wrote for it. The command line is run as a user runs it, and the file it writes is
read back as text.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from model.cli import main

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
PLANS = (
    "",
    "_dry",
    "_spillable",
    "_keep",
    "_capacity",
    "_delivery",
    "_stages",
    "_environment",
    "_carry",
)
MONTHS = 1_486  # 1900-09 to 2024-06
RELATIVE = 1e-12
CANCELS = 1e-12  # of a column's largest value, where large numbers cancel to nothing


def table(path: Path) -> tuple[list[str], list[str], np.ndarray]:
    """Header, months and (month, column) numbers of a ledger."""
    with path.open(newline="", encoding="utf-8") as file:
        header, *rows = csv.reader(file)
    return header, [row[0] for row in rows], np.array([row[1:] for row in rows], dtype=float)


@pytest.fixture(scope="module", params=PLANS, ids=lambda name: name or "_first")
def ledgers(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, Path]:
    """Ledger that the command writes, and the reference."""
    written = tmp_path_factory.mktemp("replay") / "ledger.csv"
    plan = CONTRACT / f"plan{request.param}.toml"
    words = ["replay", str(plan), "--from", "1900-09", "--to", "2024-06", "--out", str(written)]
    assert main(words) == 0
    return written, CONTRACT / f"ledger{request.param}.csv"


def test_replay_when_written_then_header_is_the_reference_header(
    ledgers: tuple[Path, Path],
) -> None:
    """The first line is the same to the letter."""
    first_lines = [path.read_text(encoding="utf-8").split("\n", 1)[0] for path in ledgers]
    assert first_lines[0] == first_lines[1].rstrip("\r")


def test_replay_when_written_then_every_month_stands_once_in_order(
    ledgers: tuple[Path, Path],
) -> None:
    """Months run from the first to the last asked for, as in the reference."""
    months, expected = (table(path)[1] for path in ledgers)
    assert len(months) == MONTHS
    assert (months[0], months[-1]) == ("1900-09", "2024-06")
    assert months == expected


def test_replay_when_written_then_every_number_is_the_reference_number(
    ledgers: tuple[Path, Path],
) -> None:
    """Every number of every month agrees to 1e-12."""
    (header, _, written), (_, _, expected) = (table(path) for path in ledgers)
    for name, values, reference in zip(header[1:], written.T, expected.T, strict=True):
        np.testing.assert_allclose(
            values,
            reference,
            rtol=RELATIVE,
            atol=CANCELS * np.abs(reference).max(),
            err_msg=name,
        )


def test_replay_when_one_rule_differs_then_the_ledger_is_not_the_reference(
    tmp_path: Path,
) -> None:
    """The comparison does notice a rule: half the delivery loss moves the account."""
    text = (CONTRACT / "plan.toml").read_text(encoding="utf-8")
    plan = tmp_path / "plan.toml"
    plan.write_text(text.replace("delivery_loss_frac = 0.20", "delivery_loss_frac = 0.10"))
    out = tmp_path / "ledger.csv"
    record = str(CONTRACT / "record.csv")
    words = ["replay", str(plan), "--record", record, "--from", "1900-09", "--to", "1910-06"]
    assert main([*words, "--out", str(out)]) == 0
    account = table(out)[0].index("account_ml_per_share") - 1
    rows = table(out)[2].shape[0]
    reference = table(CONTRACT / "ledger.csv")[2][:rows, account]
    assert np.abs(table(out)[2][:, account] - reference).max() > 0.01
