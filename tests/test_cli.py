"""What the commands write: names, columns and numbers, checked from outside.

References beside the checks: quantiles of type 7 by numpy, intervals of a chance by statsmodels.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
import subprocess
import sys
from calendar import monthrange
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from model.cli import main
from model.plan.shipped import demonstration_plan
from tests.sample_files import CONTRACT, YEARS, changed, monthly_csv, plan_text

Row = dict[str, str]

SEED = 20_251_001
COUNT = 400
FRACS = {"0.05", "0.1", "0.25", "0.5", "0.75", "0.9", "0.95"}
SPREADS = (
    "announced_to_date_ml_per_share",
    "credited_ml_per_share",
    "high_security_allocation_frac",
    "storage_end_ml",
)
IDENTITY = ["sequence", "season", "water_year", "record_start_month"]
AMOUNTS = [
    "inflow_ml",
    "announced_to_date_ml_per_share",
    "credited_ml_per_share",
    "high_security_allocation_frac",
    "high_security_ml",
    "general_security_ml",
    "spill_ml",
    "account_ml_per_share",
    "storage_end_ml",
]
POINTS = {"announced_to_date_ml_per_share", "account_ml_per_share", "usable_ml_per_share"}
NOTHING_ML_PER_SHARE = 1e-9


def outlook(out: Path, plan: Path | None = None, *options: str) -> dict[str, Any]:
    """Run the odds of a plan, the demonstration's by default, and read them."""
    words = ["outlook", str(plan or demonstration_plan()), "--out", str(out), *options]
    assert main(words) == 0
    document: dict[str, Any] = json.loads((out / "outlook.json").read_text(encoding="utf-8"))
    return document


def rows_of(path: Path) -> list[Row]:
    """Read a table."""
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def small_plan(folder: Path, text: str | None = None) -> Path:
    """Write a plan and a short record of inflow alone."""
    (folder / "record.csv").write_text(monthly_csv(), encoding="utf-8")
    plan = folder / "plan.toml"
    plan.write_text(text or plan_text(), encoding="utf-8")
    return plan


@pytest.fixture(scope="module")
def odds(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], list[Row]]:
    """Odds of the demonstration, and its sequences."""
    out = tmp_path_factory.mktemp("odds")
    options = ("--count", str(COUNT), "--seed", str(SEED))
    return outlook(out, None, *options), rows_of(out / "sequences.csv")


def column(rows: list[Row], name: str, season: int) -> np.ndarray:
    """(sequence,) one column of one season."""
    return np.array([float(row[name]) for row in rows if row["season"] == str(season)])


# outlook.json


def test_outlook_when_written_then_it_says_what_it_was_made_from(
    odds: tuple[dict[str, Any], list[Row]],
) -> None:
    """Title, method, settings, seed, count, opening, record and version."""
    document, _ = odds
    assert document["title"].startswith("Demonstration")
    assert document["invented"] is True
    assert document["method"] == "present"
    assert {"kind", "block_years", "fitted_on_starts"} < set(document["settings"])
    assert (document["seed"], document["count"]) == (SEED, COUNT)
    assert document["flow_factor"] == 1.0
    assert document["opening"]["month"] == "2025-09"
    assert document["opening"]["storage_ml"] == 90_000.0
    record = demonstration_plan().with_name("demonstration_record.csv")
    assert document["record"]["name"] == record.name
    assert document["record"]["months"] == 1_574
    assert document["record"]["span"] == ["1894-07", "2025-08"]
    assert document["record"]["sha256"] == hashlib.sha256(record.read_bytes()).hexdigest()
    assert document["version"]
    assert "not financial" in document["notes"]["caution"]


def test_outlook_when_written_then_each_season_has_its_spreads_and_chances(
    odds: tuple[dict[str, Any], list[Row]],
) -> None:
    """The names that others read the file by."""
    document, _ = odds
    assert [season["water_year"] for season in document["seasons"]] == [
        "2025-26",
        "2026-27",
        "2027-28",
    ]
    for season in document["seasons"]:
        for name in SPREADS:
            assert set(season[name]["quantiles"]) == FRACS
            assert isinstance(season[name]["mean"], float)
        assert {"value", "low", "high"} <= set(season["chance_none"])
        for point in ("at_planting", "at_finish", "at_end"):
            assert set(season[point]) == POINTS | {"month"}
    months = [season["at_planting"]["month"] for season in document["seasons"]]
    assert months == ["2025-10", "2026-10", "2027-10"]
    assert document["seasons"][0]["at_finish"]["month"] == "2026-01"
    assert document["seasons"][0]["at_end"]["month"] == "2026-06"
    assert [running["seasons"] for running in document["chance_none_running"]] == [1, 2, 3]


def test_outlook_when_summed_up_then_means_are_those_of_its_own_table(
    odds: tuple[dict[str, Any], list[Row]],
) -> None:
    """The mean of the table's column is the mean in the document."""
    document, rows = odds
    for number, season in enumerate(document["seasons"], start=1):
        for name in SPREADS:
            assert season[name]["mean"] == pytest.approx(
                column(rows, name, number).mean(), rel=1e-12
            )


def test_outlook_when_summed_up_then_quantiles_are_numpys_type_7(
    odds: tuple[dict[str, Any], list[Row]],
) -> None:
    """Hyndman and Fan's type 7 as numpy works it out (`method="linear"`)."""
    document, rows = odds
    for number, season in enumerate(document["seasons"], start=1):
        for name in SPREADS:
            values = column(rows, name, number)
            for frac, value in season[name]["quantiles"].items():
                expected = np.quantile(values, float(frac), method="linear")
                assert value == pytest.approx(expected, rel=1e-12, abs=1e-12)


def none_announced(document: dict[str, Any], rows: list[Row], season: int) -> np.ndarray:
    """(sequence,) whether nothing more was announced in a season, from the table alone."""
    before = document["opening"]["announced_to_date_ml_per_share"] if season == 1 else 0.0
    announced = column(rows, "announced_to_date_ml_per_share", season) - before
    return announced <= NOTHING_ML_PER_SHARE


def test_chance_when_written_then_value_and_interval_are_wilsons_by_statsmodels(
    odds: tuple[dict[str, Any], list[Row]],
) -> None:
    """Wilson's score interval of 95 % for the count in the table, by statsmodels."""
    document, rows = odds
    running = np.ones(COUNT, dtype=bool)
    for number, season in enumerate(document["seasons"], start=1):
        none = none_announced(document, rows, number)
        running &= none
        pairs = (
            (season["chance_none"], none),
            (document["chance_none_running"][number - 1], running),
        )
        for chance, happened in pairs:
            low, high = proportion_confint(int(happened.sum()), COUNT, method="wilson")
            assert chance["value"] == pytest.approx(happened.mean(), rel=1e-12)
            assert chance["low"] == pytest.approx(low, abs=1e-12)
            assert chance["high"] == pytest.approx(high, abs=1e-12)
    assert 0 < none_announced(document, rows, 1).sum() < COUNT  # the case is no trivial one


# sequences.csv


def test_sequences_when_written_then_one_row_stands_for_each_sequence_and_season(
    odds: tuple[dict[str, Any], list[Row]],
) -> None:
    """Columns in their order; sequences and seasons count from 1."""
    _, rows = odds
    assert list(rows[0]) == IDENTITY + AMOUNTS
    assert [(int(row["sequence"]), int(row["season"])) for row in rows] == [
        (sequence, season) for sequence in range(1, COUNT + 1) for season in (1, 2, 3)
    ]
    years = {"1": "2025-26", "2": "2026-27", "3": "2027-28"}
    assert all(row["water_year"] == years[row["season"]] for row in rows)


def test_sequences_when_written_then_inflow_is_that_of_the_months_named(tmp_path: Path) -> None:
    """From the start month on, the record's own months add up to the season's inflow.

    The first season has ten months (September to June). A later one, from July, goes on in the
    slice before it for two months and then in its own: its first two months are the record's.
    """
    outlook(tmp_path, None, "--count", str(COUNT), "--method", "blocks")  # moves no level
    rows = rows_of(tmp_path / "sequences.csv")
    observed = rows_of(demonstration_plan().with_name("demonstration_record.csv"))
    at = {row["month"]: number for number, row in enumerate(observed)}
    inflow = np.array([float(row["inflow_ml"]) for row in observed])
    for sequence in range(COUNT):
        first, second, third = rows[3 * sequence : 3 * sequence + 3]
        assert first["record_start_month"].endswith("-09")
        assert second["record_start_month"].endswith("-07")
        assert third["record_start_month"].endswith("-07")
        start = at[first["record_start_month"]]
        assert float(first["inflow_ml"]) == pytest.approx(inflow[start : start + 10].sum())
        assert at[second["record_start_month"]] == start + 10


def test_sequences_when_followed_then_water_is_within_the_rules(
    odds: tuple[dict[str, Any], list[Row]],
) -> None:
    """Dam, account, allocation and deliveries stay within what the plan allows."""
    _, rows = odds
    for season in (1, 2, 3):
        assert np.all(column(rows, "storage_end_ml", season) <= 300_000.0)
        assert np.all(column(rows, "account_ml_per_share", season) <= 1.2 + 1e-12)
        assert np.all(column(rows, "high_security_allocation_frac", season) <= 1.0 + 1e-12)
        assert np.all(column(rows, "high_security_ml", season) <= 20_000.0 + 1e-6)
        assert np.all(column(rows, "general_security_ml", season) <= 150_000.0 + 1e-6)
        for name in AMOUNTS:
            assert np.all(column(rows, name, season) >= 0.0)


# options


def test_outlook_when_no_table_is_asked_for_then_the_document_stands_alone(
    tmp_path: Path, odds: tuple[dict[str, Any], list[Row]]
) -> None:
    """The same odds, without the table."""
    out = tmp_path / "new" / "folder"
    options = ("--count", str(COUNT), "--seed", str(SEED), "--no-table")
    assert outlook(out, None, *options) == odds[0] | {"files": {}}
    assert [path.name for path in out.iterdir()] == ["outlook.json"]


def test_outlook_when_options_are_given_then_they_override_the_plan(tmp_path: Path) -> None:
    """Each setting of the drawing has an option of the same name."""
    plan = small_plan(tmp_path)
    by_plan = outlook(tmp_path / "a", plan)
    assert by_plan["method"] == "historical"
    assert by_plan["settings"] == {}
    assert by_plan["seed"] == SEED
    options = {
        "method": "blocks",
        "kind": "circular",
        "block-years": "4",
        "count": "33",
        "seed": "8",
        "seasons": "2",
        "flow-factor": "0.5",
    }
    words = [word for name, value in options.items() for word in (f"--{name}", value)]
    document = outlook(tmp_path / "b", plan, *words)
    assert document["method"] == "blocks"
    assert document["settings"] == {"kind": "circular", "block_years": 4.0}
    assert (document["count"], document["seed"], document["flow_factor"]) == (33, 8, 0.5)
    assert len(document["seasons"]) == 2
    assert len(rows_of(tmp_path / "b" / "sequences.csv")) == 2 * 33


def test_outlook_when_a_record_is_given_then_it_stands_in_for_the_plans(tmp_path: Path) -> None:
    """The plan's own record need not even be there."""
    plan = small_plan(tmp_path, changed(plan_text(), '"record.csv"', '"nowhere.csv"'))
    other = tmp_path / "elsewhere" / "other.csv"
    other.parent.mkdir()
    other.write_text(monthly_csv(first="1950-07"), encoding="utf-8")
    document = outlook(tmp_path / "odds", plan, "--record", str(other))
    assert document["record"]["name"] == "other.csv"
    assert document["record"]["span"][0] == "1950-07"


def test_outlook_when_the_plan_is_elsewhere_then_its_record_is_found_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Relative paths in a plan are taken from the plan's own folder."""
    (tmp_path / "farm").mkdir()
    small_plan(tmp_path / "farm")
    monkeypatch.chdir(tmp_path)
    assert outlook(tmp_path / "odds", Path("farm/plan.toml"))["record"]["name"] == "record.csv"


def test_outlook_when_months_are_filled_then_it_is_said_and_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was filled is counted on the screen and in the file."""
    plan = small_plan(tmp_path)
    text = changed(monthly_csv(), "1995-07,160.0\n", "")
    (tmp_path / "record.csv").write_text(text, encoding="utf-8")
    document = outlook(tmp_path / "odds", plan, "--fill", "calendar_month_median")
    assert document["record"]["filled"] == {"inflow_ml": 1}
    assert "filled by calendar_month_median: 1 of inflow_ml" in capsys.readouterr().err


def test_outlook_when_the_valley_is_invented_then_the_screen_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody takes the demonstration for a real valley; a plan of one's own is not so marked."""
    outlook(tmp_path / "a", None, "--count", "20")
    printed = capsys.readouterr().out
    assert "Invented, for demonstration only" in printed
    assert "not financial, legal or agronomic advice" in printed
    outlook(tmp_path / "b", small_plan(tmp_path))
    assert "Invented" not in capsys.readouterr().out


# the same again


def test_outlook_when_run_twice_then_files_are_the_same_to_the_byte(tmp_path: Path) -> None:
    """The same inputs and seed give the same files; another seed does not."""
    for name, seed in (("a", "5"), ("b", "5"), ("c", "6")):
        outlook(tmp_path / name, None, "--count", "300", "--seed", seed)
    for file in ("outlook.json", "sequences.csv"):
        first, again, other = ((tmp_path / name / file).read_bytes() for name in "abc")
        assert first == again
        assert first != other


def test_outlook_when_run_on_one_core_or_many_then_files_are_the_same_to_the_byte(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Many small batches, on one core and on eight."""
    for module in ("model.sequences.draw", "model.outlook.setting"):
        monkeypatch.setattr(f"{module}.BATCH_SEQUENCES", 150)
    for cores in (1, 8):
        monkeypatch.setattr(os, "cpu_count", lambda cores=cores: cores)
        outlook(tmp_path / str(cores), None, "--count", "1000")
    for file in ("outlook.json", "sequences.csv"):
        assert (tmp_path / "1" / file).read_bytes() == (tmp_path / "8" / file).read_bytes()
    rows = rows_of(tmp_path / "8" / "sequences.csv")
    starts = [row["record_start_month"] for row in rows if row["season"] == "1"]
    assert starts[:150] != starts[150:300]  # each batch has random numbers of its own


# replay


def test_replay_when_written_then_its_months_are_those_asked_for(tmp_path: Path) -> None:
    """One row a month, from the first to the last, with the record's own inflow."""
    out = tmp_path / "deep" / "ledger.csv"
    plan = small_plan(tmp_path)
    words = ["replay", str(plan), "--from", "1991-03", "--to", "1992-02", "--out", str(out)]
    assert main(words) == 0
    rows = rows_of(out)
    assert [row["month"] for row in rows] == [
        *(f"1991-{month:02d}" for month in range(3, 13)),
        "1992-01",
        "1992-02",
    ]
    assert [float(row["inflow_ml"]) for row in rows] == [108.0 + t for t in range(12)]
    assert float(rows[0]["storage_start_ml"]) == 176_000.0  # the plan's opening


def test_replay_when_the_whole_record_is_asked_for_then_it_is_replayed(tmp_path: Path) -> None:
    """First and last month of the record are within it."""
    plan, out = small_plan(tmp_path), tmp_path / "ledger.csv"
    words = ["replay", str(plan), "--from", "1990-07", "--to", "2012-06", "--out", str(out)]
    assert main(words) == 0
    assert len(rows_of(out)) == 12 * YEARS


def test_replay_when_done_then_it_says_that_it_counts_on_hindsight(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The inflow counted on is taken from the whole record, and a reader must know."""
    plan, out = small_plan(tmp_path), tmp_path / "ledger.csv"
    words = ["replay", str(plan), "--from", "1990-07", "--to", "1990-12", "--out", str(out)]
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert "hindsight" in printed
    assert f"wrote {out} (6 months)" in printed


# help, failure, and other ways in


def replayed(folder: Path, *options: str) -> str:
    """Return the ledger of two years, as a command with these options writes it."""
    words = ["replay", str(folder / "plan.toml"), "--from", "1995-07", "--to", "1997-06"]
    assert main([*words, "--out", str(folder / "ledger.csv"), *options]) == 0
    return (folder / "ledger.csv").read_text()


def test_record_when_the_plan_names_none_then_the_one_given_is_used(tmp_path: Path) -> None:
    """A plan may leave its record to the command line."""
    named = tmp_path / "plan.toml"
    named.write_text(plan_text(), encoding="utf-8")
    (tmp_path / "record.csv").write_text(monthly_csv(), encoding="utf-8")
    expected = replayed(tmp_path)
    named.write_text(changed(plan_text(), 'record = "record.csv"', ""), encoding="utf-8")
    assert replayed(tmp_path, "--record", str(tmp_path / "record.csv")) == expected


def test_record_when_columns_and_unit_are_named_then_it_reads_the_same(tmp_path: Path) -> None:
    """Daily gauge data under other names and in m3/s, day first, give the same ledger."""
    (tmp_path / "plan.toml").write_text(plan_text(), encoding="utf-8")
    (tmp_path / "record.csv").write_text(monthly_csv(inflow=lambda row: 86.4 * row), "utf-8")
    expected = replayed(tmp_path)
    days = [
        f"{day}/{1990 + (6 + row) // 12};{row if first else 0}"
        for row in range(12 * YEARS)
        for first, day in _days_of(row)
    ]
    (tmp_path / "gauge.csv").write_text("\n".join(["Day;Q", *days]), encoding="utf-8")
    options = ("--columns", "date=Day,flow=Q", "--unit", "m3/s")
    assert replayed(tmp_path, "--record", str(tmp_path / "gauge.csv"), *options) == expected


def _days_of(row: int) -> list[tuple[bool, str]]:
    """Return the days of a month from July 1990, written day/month; the first is marked."""
    year, month = 1990 + (6 + row) // 12, (6 + row) % 12 + 1
    number = monthrange(year, month)[1]
    return [(day == 1, f"{day:02d}/{month:02d}") for day in range(1, number + 1)]


@pytest.mark.parametrize("command", ["open", "outlook", "replay"])
def test_help_when_asked_of_a_command_then_it_explains_every_argument(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Help leaves with 0 and names the plan; commands that write give an example."""
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    assert left.value.code == 0
    text = capsys.readouterr().out
    assert "PLAN" in text
    assert "--record" in text
    if command != "open":
        assert f"Example: seasons {command} plan.toml" in " ".join(text.split())


def test_help_when_asked_of_all_then_it_names_the_commands_and_what_to_try(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A newcomer is told where to begin."""
    with pytest.raises(SystemExit) as left:
        main(["--help"])
    assert left.value.code == 0
    text = capsys.readouterr().out
    for words in ("open", "outlook", "replay", "seasons open", "plan (a TOML file)"):
        assert words in text


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (RuntimeError("pump on fire"), "went wrong in the tool itself"),
        (KeyboardInterrupt(), "Stopped. No file was left half written."),
    ],
    ids=["failure", "stopped"],
)
def test_command_when_the_tool_itself_fails_then_status_is_1_without_a_traceback(
    error: BaseException,
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """What is not the reader's fault is 1, and still no traceback."""

    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("model.record.record.read_record", fail)
    assert main(["outlook", str(small_plan(tmp_path)), "--out", str(tmp_path / "odds")]) == 1
    printed = capsys.readouterr().err
    assert said in printed
    assert "Traceback" not in printed
    assert not (tmp_path / "odds").exists()


def test_open_when_a_plan_is_named_then_the_dashboard_is_started_on_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The dashboard takes over with the plan, the record and the port."""
    started: list[list[str]] = []

    def start(words: list[str], **_: object) -> subprocess.CompletedProcess[bytes]:
        started.append(words)
        return subprocess.CompletedProcess(words, 0)

    monkeypatch.setattr(os, "execv", lambda _, words: start(words))
    monkeypatch.setattr(subprocess, "run", start)
    plan, record = small_plan(tmp_path), tmp_path / "record.csv"
    words = ["open", str(plan), "--record", str(record), "--port", "9001", "--no-browser"]
    assert main(words) == 0
    assert started[0][:3] == [sys.executable, "-m", "dashboard"]
    options = ["--port", "9001", "--record", str(record), "--no-browser"]
    assert started[0][3:] == [str(plan), *options]


@pytest.mark.parametrize("missing", ["plan", "record"])
def test_open_when_a_file_is_missing_then_it_is_refused_before_anything_starts(
    missing: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No page opens on a file that is not there."""

    def start(*_: object) -> None:
        raise AssertionError("the dashboard was started")

    monkeypatch.setattr(os, "execv", start)
    nowhere = str(tmp_path / "nowhere")
    words = [nowhere] if missing == "plan" else [str(small_plan(tmp_path)), "--record", nowhere]
    assert main(["open", *words]) == 2
    assert f'{missing} "{nowhere}": there is no such file' in capsys.readouterr().err


def test_module_when_run_as_a_program_then_it_is_the_command(tmp_path: Path) -> None:
    """`python -m model` does what `seasons` does, and gives its exit status."""
    out = tmp_path / "ledger.csv"
    words = ["replay", str(CONTRACT / "plan.toml"), "--from", "1990-07", "--out", str(out), "--to"]
    root = Path(__file__).parent.parent
    for last, status in (("1990-12", 0), ("1990-01", 2)):
        done = subprocess.run(
            [sys.executable, "-m", "model", *words, last],
            cwd=root,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == status
        assert "Traceback" not in done.stderr
    assert len(rows_of(out)) == 6


def test_help_when_asked_of_open_then_it_gives_an_example(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """As the other commands do."""
    with pytest.raises(SystemExit):
        main(["open", "--help"])
    assert "Example: seasons open" in " ".join(capsys.readouterr().out.split())


def test_evidence_when_columns_of_the_announced_are_named_wrongly_then_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the columns of a file may be called is said."""
    told = tmp_path / "told.csv"
    told.write_text("Season,AWD\n2000-01,0.5\n", encoding="utf-8")
    options = ["--announced", str(told), "--announced-columns", "year=Season"]
    assert main(["evidence", str(CONTRACT / "plan.toml"), "--out", str(tmp_path), *options]) == 2
    said = capsys.readouterr().err
    assert "--announced-columns" in said
    assert "announced" in said.split("names:")[1]
