"""Many farms together: what is joint stays joint, one alone is as ever, and nothing stops the rest.

The farm is the example farm on the contract's valley (both invented), with little in the bank.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from shutil import copy

import numpy as np
import pyarrow.parquet as pq
import pytest
import tomlkit
from pypdf import PdfReader

from model.book import book as book_module
from model.book import folder as folder_module
from model.book import hands
from model.book.book import UNFINISHED, Book, play_book
from model.book.folder import read_folder
from model.book.hands import by_itself, on_all_cores
from model.book.joint import Joint
from model.book.output import write_book
from model.book.part import Task
from model.cli import main
from model.decide.compare import Comparison, compare
from model.decide.risk import worst_mean
from model.decide.strategy import BOLD
from model.errors import InputError
from model.farm import training
from model.outlook.chances import Estimate
from model.say.numbers import money
from tests.farm_case import CONTRACT, contract_record, farm_plan, raw_plan

POOR = {"farm.money.bank_aud": -560_000.0, "sequences.count": 150, "sequences.seasons": 2}
CENT = 0.005
LIKE_LAST_YEAR = {"sequences__last_twelve_months_inflow_ml": 60_000.0}


def put(folder: Path, name: str, **changes: object) -> None:
    """Write a plan of the example farm and the record into a folder; `__` stands for a point."""
    folder.mkdir(parents=True, exist_ok=True)
    raw = raw_plan(POOR | {key.replace("__", "."): value for key, value in changes.items()})
    copy(CONTRACT / "record.csv", folder / raw["record"])
    (folder / f"{name}.toml").write_text(tomlkit.dumps(raw), encoding="utf-8")


def played(folder: Path, out: Path, joint: Joint | None = None) -> Book:
    """Play a folder in this program."""
    return play_book(read_folder(folder), out, by_itself, joint=joint)


def written(folder: Path, out: Path, joint: Joint | None = None) -> dict[str, bytes]:
    """Play a folder and write it; return the files by name."""
    return files_of(played(folder, out, joint), out)


def files_of(book: Book, out: Path) -> dict[str, bytes]:
    """Write a book; return the files by name."""
    write_book(book, out, {})
    assert not (out / UNFINISHED).exists()
    return {path.name: path.read_bytes() for path in sorted(out.iterdir())}


def rows_of(files: dict[str, bytes]) -> list[dict[str, str]]:
    """Read the table of farms."""
    return list(csv.DictReader(files["farms.csv"].decode().splitlines()))


@cache
def compared() -> Comparison:
    """Compare the farm's strategies as the command does for one plan."""
    return compare(farm_plan(POOR), contract_record())[0]


@pytest.fixture(scope="module", autouse=True)
def _quick() -> Iterator[None]:
    """Learn what water is worth from few sequences, in a book as alone: a test needs no more."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(training, "WORTH_SEQUENCES", 20)
        yield


@pytest.fixture(scope="module")
def forty(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Forty farms that are alike in all but their file's name."""
    folder = tmp_path_factory.mktemp("forty")
    for number in range(40):
        put(folder, f"farm_{number:02}")
    return play_book(read_folder(folder), folder / "out", on_all_cores)


def test_book_when_farms_are_alike_then_all_or_none_miss_a_payment(forty: Book) -> None:
    """Forty alike farms meet the same river: those missing in a season number 0 or 40 only."""
    assert forty.whole is not None
    seen = set()
    for pool, outcome in zip(forty.whole.pools, compared().outcomes, strict=True):
        for season, alone in zip(pool.seasons, outcome.seasons, strict=True):
            assert set(season.missing.distribution) <= {0, 40}
            seen |= set(season.missing.distribution)
            chance = alone.chances["payment_missed"].value
            assert season.missing.distribution.get(40, 0.0) == pytest.approx(chance, abs=1e-12)
            assert season.missing.chance_of_part[0.5].value == pytest.approx(chance, abs=1e-12)
    assert seen == {0, 40}


def test_book_when_farms_are_alike_then_its_loss_is_forty_times_one(forty: Book) -> None:
    """What forty alike farms owe in the worst tenth is forty times one farm's, to the cent."""
    assert forty.whole is not None
    rows = [row for rows in forty.rows() for row in rows]
    for at, pool in enumerate(forty.whole.pools):
        own = [row for row in rows if row["strategy"] == pool.strategy]
        alone = float(own[0]["owed_beyond_terms_aud_worst_tenth"])  # type: ignore[arg-type]
        assert alone > 1_000.0
        assert pool.owed_aud.worst_tenth.value == pytest.approx(40.0 * alone, abs=CENT)
        assert sum(float(row["in_worst_tenth_aud"]) for row in own) == pytest.approx(  # type: ignore[arg-type]
            pool.owed_aud.worst_tenth.value, abs=CENT
        )
        assert forty.drivers["", at].farms_of_half == 20


def test_farm_when_in_a_book_then_as_compared_alone(forty: Book) -> None:
    """A farm in a book has the numbers of `seasons compare`."""
    rows = {str(row["strategy"]): row for row in next(forty.rows())[:3]}
    for outcome in compared().outcomes:
        row = rows[outcome.strategy.name]
        for name in ("no_planting", "payment_missed", "past_overdraft_limit", "cover_below_1"):
            assert row[name] == pytest.approx(outcome.chances[name].value, abs=1e-12), name
        for name in ("standing_aud", "margin_aud", "peak_overdraft_aud"):
            amount = outcome.whole_run[name]
            assert row[f"{name}_mean"] == pytest.approx(amount.mean.value, abs=CENT), name
            worst = amount.worst_tenth.value
            assert row[f"{name}_worst_tenth"] == pytest.approx(worst, abs=CENT), name
        assert row["loan_payments_due"] == outcome.payments_due


def test_range_when_runs_are_counted_again_then_near_that_of_farms_played_again(
    forty: Book,
) -> None:
    """The record's range of a book is near that for which the farm is played on each record.

    That one carries the noise of 125 draws a record on top, so it is the wider of the two.
    """
    assert forty.whole is not None
    for pool, outcome in zip(forty.whole.pools[:2], compared().outcomes[:2], strict=True):
        row = next(row for row in next(forty.rows()) if row["strategy"] == pool.strategy)
        low, high = (float(row[f"standing_aud_mean_record_{end}"]) for end in ("low", "high"))  # type: ignore[arg-type]
        mean = outcome.whole_run["standing_aud"].mean
        assert 0.6 < (high - low) / width_of(mean) < 1.25
        missed = outcome.seasons[1].chances["payment_missed"]
        joint = width_of(pool.seasons[1].missing.chance_any)
        assert 0.6 < joint / width_of(missed) < 1.25


def width_of(estimate: Estimate) -> float:
    """Return how wide the range is that the record supports."""
    assert estimate.record_low is not None
    assert estimate.record_high is not None
    return estimate.record_high - estimate.record_low


def test_book_when_a_plan_is_damaged_then_the_others_are_as_without_it(tmp_path: Path) -> None:
    """A plan that is no TOML, one without a farm, one whose record is missing: told, not fatal."""
    for name in ("a", "b"):
        put(tmp_path / "whole", name)
        put(tmp_path / "hurt", name)
    (tmp_path / "hurt" / "broken.toml").write_text("title = ")
    no_farm = tomlkit.dumps({key: value for key, value in raw_plan().items() if key != "farm"})
    (tmp_path / "hurt" / "a_no_farm.toml").write_text(no_farm)
    put(tmp_path / "hurt" / "deeper", "lost")
    (tmp_path / "hurt" / "deeper" / raw_plan()["record"]).unlink()
    whole = written(tmp_path / "whole", tmp_path / "out_whole")
    hurt = written(tmp_path / "hurt", tmp_path / "out_hurt")
    assert hurt["farms.csv"] == whole["farms.csv"]
    assert hurt["farms.parquet"] == whole["farms.parquet"]
    faults = list(csv.DictReader(hurt["faults.csv"].decode().splitlines()))
    assert [fault["file"] for fault in faults] == [
        "a_no_farm.toml",
        "broken.toml",
        "deeper/lost.toml",
    ]
    assert json.loads(hurt["portfolio.json"])["farms_with_faults"] == 3


def test_book_when_a_farm_fails_while_played_then_the_others_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever goes wrong in one farm, its neighbours' numbers are there."""
    from model.book import part

    def failing(valley: object, plan: object, file: str) -> object:
        if file == "b.toml":
            raise ZeroDivisionError("of this farm alone")
        return play(valley, plan, file)  # type: ignore[arg-type]

    for name in ("a", "b", "c"):
        put(tmp_path / "plans", name)
    play = part.play_farm
    monkeypatch.setattr(part, "play_farm", failing)
    files = written(tmp_path / "plans", tmp_path / "out")
    assert {row["file"] for row in rows_of(files)} == {"a.toml", "c.toml"}
    assert "of this farm alone" in files["faults.csv"].decode()


def test_book_when_stopped_and_resumed_then_the_files_are_the_same_to_the_byte(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was played before the stop is not played again, and nothing tells that it stopped."""
    for number in range(3):
        put(tmp_path / "plans", f"farm_{number}", farm__money__bank_aud=-560_000.0 - number)
    monkeypatch.setattr(book_module, "FARMS_EACH", 1)
    straight = written(tmp_path / "plans", tmp_path / "straight")
    handed: list[str] = []

    def stopping(tasks: Iterable[Task]) -> Iterator[tuple[Task, bytes]]:
        for task, part in by_itself(tasks):
            if handed:
                raise KeyboardInterrupt
            handed.append(task.plans[0][0])
            yield task, part

    folder, out = read_folder(tmp_path / "plans"), tmp_path / "resumed"
    with pytest.raises(KeyboardInterrupt):
        play_book(folder, out, stopping)
    assert not (out / "portfolio.json").exists()
    assert len(list((out / UNFINISHED).iterdir())) == 1

    def counting(tasks: Iterable[Task]) -> Iterator[tuple[Task, bytes]]:
        for task, part in by_itself(tasks):
            handed.append(task.plans[0][0])
            yield task, part

    assert files_of(play_book(folder, out, counting), out) == straight
    assert handed == ["farm_0.toml", "farm_1.toml", "farm_2.toml"]


def test_book_when_shared_out_to_processes_then_the_same_to_the_byte(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One core and many give the same files."""
    monkeypatch.setattr(book_module, "FARMS_EACH", 1)
    for name in ("a", "b"):
        put(tmp_path / "plans", name)
    monkeypatch.setattr(folder_module, "FILES_EACH", 1)
    (tmp_path / "plans" / "c.toml").write_text("title = ")
    alone = written(tmp_path / "plans", tmp_path / "alone")
    folder = read_folder(tmp_path / "plans", cores=2)
    shared = play_book(folder, tmp_path / "shared", on_all_cores)
    assert files_of(shared, tmp_path / "shared") == alone


@pytest.fixture(scope="module")
def two_valleys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two farms alike, on two valleys that differ in their names alone."""
    folder = tmp_path_factory.mktemp("two")
    put(folder, "north", valley__name="North valley")
    put(folder, "south", valley__name="South valley")
    return folder


def test_valleys_when_nothing_is_stated_then_they_are_not_added_up(two_valleys: Path) -> None:
    """Each valley is told; the whole is not, since nothing says how they come together."""
    book = played(two_valleys, two_valleys / "alone")
    assert [scope.name for scope in book.by_valley] == ["North valley", "South valley"]
    assert book.whole is None


def test_valleys_when_they_meet_the_same_years_then_both_or_neither(two_valleys: Path) -> None:
    """Alike farms on alike valleys fare alike where the user states the same years."""
    book = played(two_valleys, two_valleys / "same", "same_years")
    assert book.whole is not None
    assert set(book.whole.pools[0].seasons[-1].missing.distribution) == {0, 2}
    for whole, one in zip(book.whole.pools, book.by_valley[0].pools, strict=True):
        missing = whole.seasons[-1].missing.distribution
        assert set(missing) <= {0, 2}
        assert missing[2] == one.seasons[-1].missing.distribution[1]
        twice = 2.0 * one.owed_aud.worst_tenth.value
        assert whole.owed_aud.worst_tenth.value == pytest.approx(twice, abs=CENT)


def test_valleys_when_independent_then_troubles_meet_by_chance(two_valleys: Path) -> None:
    """Both miss as often as two that know nothing of each other; the mean is that of the sum.

    Put side by side at random without putting back, the number of both is hypergeometric.
    """
    book = played(two_valleys, two_valleys / "apart", "independent")
    assert book.whole is not None
    for whole, north, south in zip(
        book.whole.pools, *(scope.pools for scope in book.by_valley), strict=True
    ):
        missing = whole.seasons[-1].missing
        p, q = (pool.seasons[-1].missing.distribution.get(1, 0.0) for pool in (north, south))
        error = np.sqrt(p * (1 - p) * q * (1 - q) / 149)
        assert missing.distribution.get(2, 0.0) == pytest.approx(p * q, abs=4.0 * error)
        assert missing.farms.mean.value == pytest.approx(p + q, abs=1e-12)
        apart_aud = north.owed_aud.worst_tenth.value + south.owed_aud.worst_tenth.value
        assert whole.owed_aud.worst_tenth.value <= apart_aud + CENT


def test_valleys_when_they_cannot_be_joint_then_it_is_said(tmp_path: Path) -> None:
    """Another season, or a method that draws more than years, cannot be the same in both."""
    put(tmp_path, "north", valley__name="North valley", sequences__seasons=1)
    put(
        tmp_path,
        "south",
        valley__name="South valley",
        sequences__method="neighbours",
        **LIKE_LAST_YEAR,
    )
    with pytest.raises(InputError) as refused:
        played(tmp_path, tmp_path / "out", "same_years")
    said = str(refused.value)
    assert "another valley's run differs" in said
    assert "it draws more than years" in said


def test_pools_when_strategies_have_other_names_then_each_farm_under_its_first(
    tmp_path: Path,
) -> None:
    """Farms that share no strategy are looked at under the first of each."""
    own = BOLD.model_dump(exclude_unset=True) | {"name": "Our way"}
    put(tmp_path, "a")
    put(tmp_path, "b", strategies=[own])
    book = played(tmp_path, tmp_path / "out")
    assert book.faults == ()
    assert book.whole is not None
    (pool,) = book.whole.pools
    assert pool.strategy is None
    rows = [row for rows in book.rows() for row in rows]
    adds = [row["in_worst_tenth_aud"] for row in rows]
    assert [add is None for add in adds] == [False, True, True, False]
    assert sum(float(add) for add in adds if add is not None) == pytest.approx(  # type: ignore[arg-type]
        pool.owed_aud.worst_tenth.value, abs=CENT
    )


def test_command_when_a_folder_is_played_then_files_and_words_agree(
    two_valleys: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command writes the files it names, of the run it tells of."""
    out = tmp_path / "book"
    words = ["portfolio", str(two_valleys), "--out", str(out), "--joint", "same_years"]
    words += ["--brief", str(tmp_path / "book.pdf"), "--date", "2026-01-02"]
    assert main([*words, "--cores", "1", "--count", "100"]) == 0
    said = capsys.readouterr().out
    document = json.loads((out / "portfolio.json").read_text())
    rows = rows_of({"farms.csv": (out / "farms.csv").read_bytes()})
    assert len(rows) == 6
    assert document["whole_book"]["farms"] == 2
    assert {row["sequences"] for row in rows} == {"100"}
    assert "The whole book: 2 farms" in said
    assert "meet the same years" in said
    for name in ("portfolio.json", "farms.csv", "farms.parquet", "faults.csv"):
        assert f"wrote {out / name}" in said
    pages = [page.extract_text() for page in PdfReader(tmp_path / "book.pdf").pages]
    assert len(pages) == 2
    worst_aud = document["whole_book"]["strategies"][0]["whole_run"]["owed_beyond_terms_aud"]
    assert money(worst_aud["worst_tenth"]) in " ".join(pages[1].split())
    assert "North valley" in pages[1]
    table = pq.read_table(out / "farms.parquet").to_pylist()
    assert [row["farm"] for row in table] == [row["farm"] for row in rows]
    assert table[0]["standing_aud_mean"] == float(rows[0]["standing_aud_mean"])


def test_command_when_stopped_then_it_says_that_nothing_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever stops a long run is told that the same command goes on."""

    def stopped(tasks: object, cores: int | None = None) -> object:
        raise KeyboardInterrupt

    monkeypatch.setattr(hands, "on_all_cores", stopped)
    put(tmp_path / "plans", "a")
    assert main(["portfolio", str(tmp_path / "plans"), "--out", str(tmp_path / "out")]) == 1
    told = capsys.readouterr()
    assert "the same command goes on" in told.out
    assert "Stopped." in told.err


def test_command_when_the_folder_holds_no_plan_then_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A wrong folder is an error of input."""
    assert main(["portfolio", str(tmp_path), "--out", str(tmp_path / "out")]) == 2
    assert "it holds no plan" in capsys.readouterr().err


def test_worst_tenth_when_weighted_then_the_mean_that_risk_gives() -> None:
    """The weights of the worst part give its mean, also where outcomes are equal."""
    from model.book.pool import worst_weights

    rng = np.random.default_rng(3)
    for count in (7, 40, 133):
        lost = np.maximum(0.0, rng.normal(0.0, 5.0, count)).round()
        weights = worst_weights(lost)
        assert weights.sum() == pytest.approx(1.0)
        assert weights @ lost == pytest.approx(-float(worst_mean(-lost)))
