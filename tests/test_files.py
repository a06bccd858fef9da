"""Files reach the disk whole, with the files they belong to, or not at all.

Checks against something outside the project: marks against hashlib's SHA-256 of the files' bytes.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from model.errors import InputError
from model.files import check_run, clear_leftovers, run_mark, write_run, write_whole

DOCUMENT = '{"count": 2}'


def names(folder: Path) -> set[str]:
    """Return all names in a folder, hidden ones too."""
    return {path.name for path in folder.iterdir()}


def test_run_when_written_then_its_document_names_the_hash_of_each_table(tmp_path: Path) -> None:
    """The mark of the run is what anybody can work out from the files."""
    tables = {tmp_path / "a.csv": "x\n1\n", tmp_path / "b.csv": iter(["x\n", "2\n"])}
    write_run(tmp_path / "run.json", DOCUMENT, tables)
    marks = json.loads((tmp_path / "run.json").read_text())["files"]
    assert marks == {
        name: hashlib.sha256((tmp_path / name).read_bytes()).hexdigest()
        for name in ("a.csv", "b.csv")
    }
    assert (tmp_path / "b.csv").read_text() == "x\n2\n"
    assert names(tmp_path) == {"run.json", "a.csv", "b.csv"}


def test_run_when_marked_then_its_mark_is_of_its_content_alone(tmp_path: Path) -> None:
    """By hand: hashlib's SHA-256 of the fields in order, without release, files and the mark."""
    path = tmp_path / "run.json"
    write_run(path, '{"version": "1", "seed": 7, "count": 2}', {tmp_path / "a.csv": "1"})
    mark = json.loads(path.read_text())["run_mark"]
    assert mark == hashlib.sha256(b'{"count": 2, "seed": 7}').hexdigest()[:16]
    assert mark == run_mark(path.read_text())
    assert mark == run_mark('{"count": 2, "seed": 7, "version": "2"}')
    assert mark != run_mark('{"count": 2, "seed": 8}')


@pytest.mark.parametrize("after", [0, 1, 2, 3])
def test_run_when_stopped_between_files_then_no_document_stands_beside_anothers_tables(
    after: int, tmp_path: Path
) -> None:
    """Stopped dead after any rename: the old run whole, no document, or the new run whole."""
    write_run(tmp_path / "run.json", '{"run": 1}', {tmp_path / f"{n}.csv": "1" for n in "ab"})
    program = (
        "import os, sys; from pathlib import Path; from model.files import write_run\n"
        f"left = [{after}]\n"
        "real = Path.replace\n"
        "def replace(self, place):\n"
        "    left[0] or os._exit(9)\n"
        "    left[0] -= 1\n"
        "    return real(self, place)\n"
        "Path.replace = replace\n"
        f"folder = Path({str(tmp_path)!r})\n"
        "write_run(folder / 'run.json', '{\"run\": 2}', {folder / f'{n}.csv': '2' for n in 'ab'})"
    )
    stopped = subprocess.run([sys.executable, "-c", program], check=False)
    assert stopped.returncode == 9
    tables = [(tmp_path / f"{n}.csv").read_text() for n in "ab"]
    if after == 0:
        assert json.loads((tmp_path / "run.json").read_text())["run"] == 1
        assert tables == ["1", "1"]
    else:
        assert not (tmp_path / "run.json").exists()
    clear_leftovers(tmp_path)
    assert {name for name in names(tmp_path) if name.startswith(".")} == set()


def test_run_when_a_table_is_of_another_run_then_the_document_is_refused(tmp_path: Path) -> None:
    """Files that belong together are taken together or not at all."""
    path = tmp_path / "run.json"
    write_run(path, DOCUMENT, {tmp_path / "a.csv": "1"})
    check_run(path, json.loads(path.read_text()))
    (tmp_path / "a.csv").write_text("2")
    with pytest.raises(InputError, match=r"a\.csv.*not of the run that wrote run\.json"):
        check_run(path, json.loads(path.read_text()))


def test_write_when_the_place_is_a_link_then_the_file_that_it_names_is_changed(
    tmp_path: Path,
) -> None:
    """A plan kept elsewhere and linked to stays one plan."""
    (tmp_path / "there").mkdir()
    real, link = tmp_path / "there" / "plan.toml", tmp_path / "plan.toml"
    real.write_text("old")
    link.symlink_to(real)
    write_whole(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert names(tmp_path / "there") == {"plan.toml"}


@pytest.mark.skipif(os.name != "posix", reason="permissions of this kind are POSIX's")
def test_write_when_a_file_is_private_then_it_stays_so(tmp_path: Path) -> None:
    """Who may read the old file may read the new one; a new file is as any other program's."""
    path = tmp_path / "plan.toml"
    write_whole(path, "one")
    other = tmp_path / "other"
    other.touch()
    assert path.stat().st_mode == other.stat().st_mode
    path.chmod(0o600)
    write_whole(path, "two")
    assert path.stat().st_mode & 0o777 == 0o600


def test_leftovers_when_their_program_has_ended_then_they_are_cleared(tmp_path: Path) -> None:
    """Only what a dead process left goes; a living one's file stays."""
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    (tmp_path / f".a.csv.{ended.pid}-0123abcd.part").touch()
    (tmp_path / f".b.csv.{os.getpid()}-0123abcd.part").touch()
    (tmp_path / ".hidden.part").touch()
    write_whole(tmp_path / "c.csv", "3")
    assert names(tmp_path) == {f".b.csv.{os.getpid()}-0123abcd.part", ".hidden.part", "c.csv"}


def test_write_when_done_then_file_and_folder_are_given_to_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A power cut after a write finds the new file: its bytes and its name were synced."""
    synced = []
    monkeypatch.setattr("os.fsync", lambda handle: synced.append(os.fstat(handle).st_ino))
    write_whole(tmp_path / "a.csv", "1")
    assert synced == [(tmp_path / "a.csv").stat().st_ino, tmp_path.stat().st_ino]


def test_write_when_done_then_the_umask_of_the_process_was_never_touched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another thread's files would take on its permissions."""
    monkeypatch.setattr("os.umask", lambda _: pytest.fail("the umask was set"))
    write_whole(tmp_path / "a.csv", "1")
