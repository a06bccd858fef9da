"""Do a plan and its record go to a partner as one file, and come back as they were?"""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from model.errors import InputError
from model.keeping.parcel import pack, unpack
from model.keeping.plans import bring_in
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan, read_plan

PLAN = demonstration_plan()
RECORD = PLAN.with_name("demonstration_record.csv").read_bytes()


def packed(text: str = PLAN.read_text("utf-8")) -> bytes:
    """Pack the demonstration."""
    return pack("home", text, "demonstration_record.csv", RECORD)


def archive(**members: bytes) -> bytes:
    """Write an archive; two underscores stand for a dot."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as written:
        for name, data in members.items():
            written.writestr(name.replace("__", "."), data)
    return file.getvalue()


def test_parcel_when_read_back_then_plan_and_record_are_as_they_were(tmp_path: Path) -> None:
    """A partner opens what was packed: the same plan on the same bytes of record."""
    both = unpack(packed(), "home.zip")
    assert both.record == RECORD
    assert both.plan_name == "home"
    kept = bring_in(tmp_path, both.plan_name, both.plan, both.record)
    opened = read_plan(kept.path)
    assert (tmp_path / opened.record).read_bytes() == RECORD
    assert opened.model_copy(update={"record": "x"}) == read_plan(PLAN).model_copy(
        update={"record": "x"}
    )


def test_parcel_when_packed_twice_then_its_bytes_are_the_same() -> None:
    """No clock is in it; another figure makes another file."""
    assert packed() == packed()
    other = edit_plan(PLAN.read_text("utf-8"), {"opening.storage_ml": 1.0})
    assert packed(other) != packed()


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"month,inflow_ml\n", "cannot be unpacked"),
        (packed()[:-30], "cannot be unpacked"),
        (archive(plan__toml=b""), "0 files that may be the record"),
        (archive(record__csv=b""), "0 files that may be the plan"),
        (archive(plan__toml=b"", a__csv=b"", b__csv=b""), "2 files that may be the record"),
    ],
)
def test_parcel_when_it_is_something_else_then_said_for_what_it_is(
    data: bytes, problem: str
) -> None:
    """Nothing is opened of a file that does not hold one plan and one record."""
    with pytest.raises(InputError, match=problem):
        unpack(data, "theirs.zip")


def test_parcel_when_a_member_is_huge_then_it_is_not_unpacked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A small file may hold a large one."""
    monkeypatch.setattr("model.keeping.parcel.MOST_BYTES", 1_000)
    with pytest.raises(InputError, match="larger than any"):
        unpack(packed(), "home.zip")


def test_parcel_when_a_member_has_a_path_then_its_name_alone_counts(tmp_path: Path) -> None:
    """Nothing is written where an archive says."""
    data = archive(**{"../../plan__toml": PLAN.read_bytes(), "/etc/record__csv": RECORD})
    both = unpack(data, "theirs.zip")
    assert bring_in(tmp_path, both.plan_name, both.plan, both.record).path.parent == tmp_path
