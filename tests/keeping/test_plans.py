"""Plans are kept whole, never overwritten unseen, and compared key by key.

Checks against something outside the project: the hash in a record's name against hashlib's SHA-256
of the file; the folders of each system are common practice, no source.
"""

from __future__ import annotations

import hashlib
import threading
import tomllib
from pathlib import Path

import pytest

from model.errors import InputError, PlanError
from model.keeping.compare import differences
from model.keeping.folder import data_folder
from model.keeping.plans import (
    ChangedElsewhere,
    Kept,
    bring_in,
    keep_record,
    list_plans,
    plan_path,
    read_kept,
    rename,
    save,
    save_new,
    with_changes,
)
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan, parse_plan

TEXT = demonstration_plan().read_text()
RECORD = demonstration_plan().with_name("demonstration_record.csv").read_bytes()


@pytest.fixture
def kept(tmp_path: Path) -> Kept:
    """Return a saved copy of the demonstration."""
    return save_new(tmp_path, "home block", TEXT, RECORD)


@pytest.mark.parametrize(
    ("platform", "environment", "folder"),
    [
        ("linux", {}, "home/.local/share/seasons-in-hand"),
        ("linux", {"XDG_DATA_HOME": "/x"}, "/x/seasons-in-hand"),
        ("darwin", {}, "home/Library/Application Support/seasons-in-hand"),
        ("win32", {}, "home/AppData/Local/seasons-in-hand"),
        ("win32", {"LOCALAPPDATA": "/local"}, "/local/seasons-in-hand"),
        ("win32", {"LOCALAPPDATA": "/local", "SEASONS_DATA": "/mine"}, "/mine"),
    ],
)
def test_data_folder_when_on_a_system_then_its_usual_place(
    platform: str, environment: dict[str, str], folder: str
) -> None:
    """The data folder is where each system keeps a program's data, or where the person says."""
    assert data_folder(environment, platform, Path("home")) == Path(folder)


def test_save_new_when_a_plan_is_kept_then_its_record_stands_beside_it_named_by_hash(
    kept: Kept,
) -> None:
    """A kept plan names a copy of its record whose name carries the file's SHA-256."""
    named = tomllib.loads(kept.text)["record"]
    copy = kept.path.with_name(named)
    assert copy.read_bytes() == RECORD
    assert named == f"demonstration_record-{hashlib.sha256(RECORD).hexdigest()[:12]}.csv"
    assert kept.sha256 == hashlib.sha256(kept.path.read_bytes()).hexdigest()


def test_save_new_when_kept_again_then_the_hash_stands_once_in_the_record_name(
    kept: Kept, tmp_path: Path
) -> None:
    """A duplicate shares the copy of the record."""
    twin = save_new(tmp_path, "twin", kept.text, RECORD)
    assert tomllib.loads(twin.text)["record"] == tomllib.loads(kept.text)["record"]
    assert len(list(tmp_path.glob("*.csv"))) == 1


def test_save_new_when_asked_twice_then_it_is_kept_once_and_another_is_never_written_over(
    kept: Kept, tmp_path: Path
) -> None:
    """The same plan under its own name is no fault unless a new file is asked for; others are."""
    before = kept.path.read_bytes()
    for text in (
        TEXT,
        kept.text,
    ):  # the first press cut off once it had written, and come to its end
        again = save_new(tmp_path, "home block", text, RECORD)
        assert again == kept
    with pytest.raises(InputError, match="there is a plan of this name"):
        save_new(tmp_path, "home block", TEXT, RECORD, anew=True)
    changed = {"opening.storage_ml": 1_234.0}
    with pytest.raises(InputError, match="there is a plan of this name"):
        save_new(tmp_path, "home block", TEXT, RECORD, changed)
    assert kept.path.read_bytes() == before


def test_bring_in_when_the_record_is_kept_under_its_hashed_name_then_that_copy_is_used(
    kept: Kept, tmp_path: Path
) -> None:
    """A plan names its record as it was called; the one copy of it is found, and none is added."""
    named = tomllib.loads(TEXT)["record"]
    assert not (tmp_path / named).exists()
    brought = bring_in(tmp_path, "theirs", TEXT.encode(), None)
    assert tomllib.loads(brought.text)["record"] == tomllib.loads(kept.text)["record"]
    assert len(list(tmp_path.glob("*.csv"))) == 1


def test_bring_in_when_no_copy_or_two_that_differ_are_kept_then_the_record_is_asked_for(
    kept: Kept, tmp_path: Path
) -> None:
    """Which of two is meant cannot be known; a name with another hash is another record."""
    other = edit_plan(TEXT, {"record": f"demonstration_record-{'0' * 12}.csv"}).encode()
    with pytest.raises(InputError, match="it is not here"):
        bring_in(tmp_path, "theirs", other, None)
    keep_record(tmp_path, "demonstration_record.csv", RECORD + b"\n")
    with pytest.raises(InputError, match="2 that differ are kept of this name"):
        bring_in(tmp_path, "theirs", TEXT.encode(), None)
    assert list_plans(tmp_path) == [kept.path]


def test_save_when_a_figure_changed_then_comments_stay(kept: Kept) -> None:
    """The person's own comments outlive a save, and the file holds the new figure."""
    save(kept, edit_plan(kept.text, {"opening.storage_ml": 45_000.0}))
    text = kept.path.read_text()
    assert "# 30 % of full supply" in text
    assert parse_plan(text.encode(), "plan").opening.storage_ml == 45_000.0


def test_save_when_another_window_saved_first_then_nothing_is_written_and_both_are_offered(
    kept: Kept,
) -> None:
    """Of two windows the second to save is refused and gets the text of the first."""
    first = save(kept, edit_plan(kept.text, {"opening.storage_ml": 1_000.0}))
    with pytest.raises(ChangedElsewhere) as refused:
        save(kept, edit_plan(kept.text, {"opening.storage_ml": 2_000.0}))
    assert refused.value.current == first
    assert kept.path.read_text() == first.text
    mended = save(
        refused.value.current,
        edit_plan(refused.value.current.text, {"opening.account_ml_per_share": 0.5}),
    )
    assert parse_plan(mended.text.encode(), "plan").opening.storage_ml == 1_000.0


def test_save_when_many_windows_save_at_once_then_exactly_one_is_taken(kept: Kept) -> None:
    """The check and the write are one step: of eight saves at once one is written."""
    outcomes: list[str] = []
    start = threading.Barrier(8)

    def window(number: int) -> None:
        text = edit_plan(kept.text, {"opening.storage_ml": 1_000.0 + number})
        start.wait()
        try:
            outcomes.append(save(kept, text).sha256)
        except ChangedElsewhere:
            outcomes.append("refused")

    threads = [threading.Thread(target=window, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert outcomes.count("refused") == 7
    assert read_kept(kept.path).sha256 in outcomes


def test_save_when_the_text_is_no_plan_then_the_file_stays(kept: Kept) -> None:
    """A plan at fault is not written over a sound one."""
    with pytest.raises(PlanError, match=r"opening\.storage_ml"):
        save(kept, edit_plan(kept.text, {"opening.storage_ml": -1.0}))
    assert read_kept(kept.path) == kept


def test_save_when_the_file_was_removed_then_it_is_written_again(kept: Kept) -> None:
    """Nobody's work is undone by writing a file that is gone."""
    kept.path.unlink()
    assert save(kept, kept.text).text == read_kept(kept.path).text


def test_save_when_a_lock_was_left_behind_then_it_is_cleared_away(kept: Kept) -> None:
    """A file that a program of an earlier release left as its lock stops nobody, however young."""
    lock = kept.path.with_name(".saving")
    lock.touch()
    save(kept, kept.text)
    assert not lock.exists()


def test_rename_when_the_name_is_free_then_the_file_moves(kept: Kept, tmp_path: Path) -> None:
    """A renamed plan is the same file under another name."""
    moved = rename(kept, "river block")
    assert list_plans(tmp_path) == [moved.path] == [tmp_path / "river block.toml"]
    assert moved.sha256 == kept.sha256


def test_rename_when_the_name_is_taken_then_it_is_refused(kept: Kept, tmp_path: Path) -> None:
    """No plan takes the place of another."""
    save_new(tmp_path, "other", kept.text, RECORD)
    for attempt in (lambda: rename(kept, "other"), lambda: save_new(tmp_path, "other", TEXT, b"")):
        with pytest.raises(InputError, match="there is a plan of this name"):
            attempt()


@pytest.mark.parametrize("name", ["", "  ", "../up", "a/b", "a\\b", ".hidden", "CON", "x" * 81])
def test_plan_path_when_no_file_can_be_called_so_then_it_is_refused(name: str) -> None:
    """A name stays a name: it leads to no other folder."""
    with pytest.raises(InputError, match="name of the plan"):
        plan_path(Path("plans"), name)


def test_with_changes_when_figures_change_then_as_an_edit_of_the_text() -> None:
    """Changing the nested tables and editing the text give the same plan."""
    changes = {
        "opening.storage_ml": 12.5,
        "valley.access": None,
        "opening.sources.storage_ml": {"read_in": "storage page", "date": "2025-09-01"},
        "valley.essential_ml": [1.0] * 12,
    }
    assert with_changes(TEXT, changes) == tomllib.loads(edit_plan(TEXT, changes))


def test_sources_when_in_a_plan_then_read_and_checked() -> None:
    """Source and date of an announced figure are part of the plan; a wrong date is named."""
    source = {"read_in": "storage page", "date": "2025-09-01"}
    text = edit_plan(TEXT, {"opening.sources.storage_ml": source})
    plan = parse_plan(text.encode(), "plan")
    assert plan.opening.sources.storage_ml is not None
    assert plan.opening.sources.storage_ml.model_dump() == source
    wrong = edit_plan(TEXT, {"opening.sources.storage_ml": source | {"date": "1 September"}})
    with pytest.raises(PlanError, match=r"storage_ml\.date.*it is not a date"):
        parse_plan(wrong.encode(), "plan")
    nowhere = edit_plan(TEXT, {"opening.sources.storage": source})
    with pytest.raises(PlanError, match=r"there is no such key. Allowed: storage_ml"):
        parse_plan(nowhere.encode(), "plan")


def test_differences_when_plans_differ_then_key_by_key_with_units() -> None:
    """Each figure that differs is told with its unit; of a list only the months that differ."""
    river_loss = list(tomllib.loads(TEXT)["valley"]["river_loss_ml"])
    river_loss[2] = 600.0
    changes = {
        "opening.storage_ml": 45_000.0,
        "valley.river_loss_ml": river_loss,
        "valley.access": None,
    }
    before = parse_plan(TEXT.encode(), "before")
    after = parse_plan(edit_plan(TEXT, changes).encode(), "after")
    told = [(d.key, d.meaning, d.before, d.after) for d in differences(before, after)]
    assert told == [
        ("valley.river_loss_ml, September", "loss of running the river, ML a month", "540", "600"),
        (
            "valley.access.restriction_trigger_frac",
            "fraction of capacity at or below which the valley is restricted",
            "0.08",
            "not given",
        ),
        (
            "valley.access.restriction_access_frac",
            "fraction of an account that stays usable in a restriction",
            "0.5",
            "not given",
        ),
        ("opening.storage_ml", "water in the dam, ML", "90,000", "45,000"),
    ]
    assert differences(before, before) == ()
