"""What the command line says to bad input: status 2, a kind message, and no file touched.

Every case spoils one thing of a plan, a record or the words of a command that are otherwise good.
"""

from __future__ import annotations

import errno
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from model.cli import main
from tests.sample_files import changed, daily_csv, monthly_csv, plan_text, with_row

Spoil = Callable[[str], str | bytes | None]  # None: no such file

REPLAY = ("replay", "plan.toml", "--from", "1990-07", "--to", "1991-06", "--out", "ledger.csv")
OUTLOOK = ("outlook", "plan.toml", "--count", "20", "--seasons", "1", "--out", "odds")
STANDING = "what an earlier run wrote\n"


def as_it_is(text: str) -> str:
    """Spoil nothing."""
    return text


@dataclass(frozen=True)
class Bad:
    """One kind of bad input, and what the message must name."""

    kind: str
    said: tuple[str, ...]  # place, value and what is allowed
    words: tuple[str, ...] = REPLAY
    plan: Spoil = as_it_is
    record: Spoil = as_it_is
    by_argparse: bool = False


def no_file(_: str) -> None:
    """Return no file."""


def put(old: str, new: str) -> Spoil:
    """Put one text in place of another."""
    return lambda text: changed(text, old, new)


def row(number: int, *lines: str) -> Spoil:
    """Put other lines in place of a row."""
    return lambda text: with_row(text, number, *lines)


def daily(frac: float, *left_out: str) -> tuple[Spoil, Spoil]:
    """Return a plan with a share of missing days, and a record of days."""
    share = put('"record.csv"', f'"record.csv"\nrecord_missing_days_frac = {frac}')
    return share, lambda _: daily_csv(leave_out=left_out)


def replay(**options: str) -> tuple[str, ...]:
    """Return the words of a replay with other options."""
    words = list(REPLAY)
    for name, value in options.items():
        words[words.index(f"--{name.rstrip('_')}") + 1] = value
    return tuple(words)


SURFACE = "surface_area_ha = [0.0, 220.0, 1_000.0, 2_300.0, 4_200.0]"
HIGH_SECURITY = "pattern = [0.04, 0.05, 0.08, 0.10, 0.12, 0.14, 0.14, 0.12, 0.09, 0.05, 0.04, 0.03]"
THREE_DAYS = ("1991-04-02", "1991-04-17", "1991-04-30")

BAD = [
    # the plan as a file
    Bad("plan missing", ("nowhere.toml", "no such file"), ("replay", "nowhere.toml", *REPLAY[2:])),
    Bad("plan is a folder", ("plan", "a file that can be read"), ("replay", ".", *REPLAY[2:])),
    Bad("plan empty", ("valley", "missing", "title"), plan=lambda _: ""),
    Bad(
        "plan not UTF-8",
        ("plan.toml", "byte 3 is not text", "UTF-8"),
        plan=lambda text: b"# \xe9t\xe9\n" + text.encode(),
    ),
    Bad("plan not TOML", ("not TOML", "line 4", "key ="), plan=put("title =", "title")),
    Bad("plan is a CSV", ("plan.toml", "not TOML"), plan=lambda _: monthly_csv()),
    # the plan's keys and values
    Bad(
        "unknown key",
        ("valley.capacity", '"400000.0"', "no such key", "Allowed: capacity_ml"),
        plan=put("capacity_ml =", "capacity ="),
    ),
    Bad(
        "unknown table",
        ("valley.acount", "no such key", "Allowed: accounts"),
        plan=put("[valley.accounts]", "[valley.acount]"),
    ),
    Bad("key left out", ("opening.month", "missing"), plan=put('month = "2025-09"', "")),
    Bad(
        "text for a number",
        ("opening.storage_ml", '"full"', "a number"),
        plan=put("176_000.0", '"full"'),
    ),
    Bad(
        "number for text",
        ("opening.month", '"202509"', "text in quotes"),
        plan=put('"2025-09"', "202509"),
    ),
    Bad(
        "part of a year ahead",
        ("years_ahead", '"1.5"', "a whole number"),
        plan=put("years_ahead = 1 ", "years_ahead = 1.5 "),
    ),
    Bad(
        "eleven months",
        ("valley.base_flow_ml", "11 values", "12 values, July to June"),
        plan=put("base_flow_ml = [600, ", "base_flow_ml = ["),
    ),
    Bad(
        "not a number",
        ("valley.capacity_ml", '"nan"', "a finite number"),
        plan=put("400_000.0\ndead", "nan\ndead"),
    ),
    Bad(
        "no end to it",
        ("valley.capacity_ml", '"inf"', "a finite number"),
        plan=put("400_000.0\ndead", "inf\ndead"),
    ),
    Bad(
        "percent for a fraction",
        ("delivery_loss_frac", '"20"', "less than 1"),
        plan=put("delivery_loss_frac = 0.20", "delivery_loss_frac = 20"),
    ),
    Bad(
        "pattern not summing to 1",
        ("high_security.pattern", "sum to 0.97", "sum to 1"),
        plan=put(HIGH_SECURITY, HIGH_SECURITY.replace("0.03", "0.00")),
    ),
    Bad(
        "dead storage above capacity",
        ("dead_storage_ml", '"500000.0"', "below 400000 ML"),
        plan=put("dead_storage_ml = 8_000.0", "dead_storage_ml = 500_000.0"),
    ),
    Bad(
        "volumes fall",
        ("surface_storage_ml", "do not rise", "above the one before"),
        plan=put("8_000.0, 60_000.0,", "60_000.0, 8_000.0,"),
    ),
    Bad(
        "areas fall",
        ("surface_area_ha", "fall as the dam rises", "do not fall"),
        plan=put(SURFACE, SURFACE.replace("2_300.0", "900.0")),
    ),
    Bad(
        "an area too few",
        ("surface_area_ha", "it has 4 areas", "5 areas"),
        plan=put(SURFACE, SURFACE.replace("0.0, 220.0", "220.0")),
    ),
    Bad(
        "dam above capacity",
        ("opening.storage_ml", '"476000"', "at most 400000 ML"),
        plan=put("176_000.0", "476_000.0"),
    ),
    Bad(
        "carried above the account",
        ("opening.carried_ml_per_share", '"0.5"', "at most 0.42 ML per share"),
        plan=put("[opening]", "[opening]\ncarried_ml_per_share = 0.5"),
    ),
    Bad(
        "high security used above its shares",
        ("opening.high_security_used_ml", '"36000"', "at most 4000 ML"),
        plan=put("high_security_used_ml = 360.0", "high_security_used_ml = 36_000"),
    ),
    Bad(
        "bad month in the plan",
        ("opening.month", '"2025-13"', "YYYY-MM"),
        plan=put('"2025-09"', '"2025-13"'),
    ),
    Bad(
        "no such choice",
        ("spill_rule", '"some"', "'none', 'proportional'"),
        plan=put('spill_rule = "none"', 'spill_rule = "some"'),
    ),
    Bad(
        "percentile without its fraction",
        ("assured_percentile_frac", "missing", 'assured_inflow is "percentile"'),
        plan=put('"worst" ', '"percentile" '),
    ),
    Bad(
        "fixed with a percentile",
        ("assured_percentile_frac", '"0.1"', "not used", 'assured_inflow = "percentile"'),
        plan=put(
            '"worst" ', '"fixed"\nassured_percentile_frac = 0.1\nassured_fixed_ml_per_month=1 '
        ),
    ),
    Bad(
        "assured before the record",
        ("valley.assessment", "no whole run of", "later assured_before"),
        plan=put('"worst" ', '"worst"\nassured_before = "1990-07" '),
    ),
    Bad(
        "a number of 5,000 digits",
        ("plan.toml", "thousands of digits"),
        plan=put("400_000.0\ndead", f"{'9' * 5_000}\ndead"),
    ),
    Bad(
        "a number of 5,000 hexadecimal digits",
        ("valley.capacity_ml", "thousands of digits"),
        plan=put("400_000.0\ndead", f"0x{'f' * 5_000}\ndead"),
    ),
    Bad(
        "2,000 brackets within one another",
        ("plan.toml", "nested too deeply", "at most 12 levels"),
        plan=put("title =", f"deep = {'[' * 2_000}{']' * 2_000}\ntitle ="),
    ),
    Bad(
        "2,000 tables within one another",
        ("plan.toml", "nested too deeply"),
        plan=lambda text: f"{text}\n[{'.'.join(['deep'] * 2_000)}]\n",
    ),
    Bad(
        "a column that the record has not",
        ("--columns", '"Flow"', "no such column", "month, inflow_ml"),
        (*REPLAY, "--columns", "inflow=Flow"),
    ),
    Bad(
        "columns that name nothing",
        ("record_columns", "is not a name and a column", "such as month=Date"),
        (*REPLAY, "--columns", "gauge"),
    ),
    Bad(
        "an unknown unit",
        ("record_unit", '"buckets"', "acre_feet"),
        (*REPLAY, "--unit", "buckets"),
    ),
    Bad(
        "a catchment of 5,000 digits",
        ("record_unit", "not a known unit", "mm_over_1250_km2"),
        (*REPLAY, "--unit", f"mm over {'9' * 5_000} km2"),
    ),
    Bad(
        "a sheet of a text file",
        ("record.csv", "has no sheets"),
        (*REPLAY, "--sheet", "River"),
    ),
    Bad("no record at all", ("record", "missing"), plan=put('record = "record.csv"', "")),
    # the record as a file
    Bad("record missing", ("record.csv", "no such file"), record=no_file),
    Bad("record given is missing", ("rain.csv", "no such file"), (*REPLAY, "--record", "rain.csv")),
    Bad("record is a folder", ("record", "can be read"), (*REPLAY, "--record", ".")),
    Bad("record empty", ("record.csv", "empty", "a header and rows"), record=lambda _: ""),
    Bad(
        "record is a header alone",
        ("row 2", "no rows"),
        record=lambda text: text.splitlines()[0],
    ),
    Bad("record not UTF-8", ("the file", "byte 1 ", "UTF-8"), record=lambda _: b"\xff\xff\x20"),
    Bad(
        "bars",
        ("row 1", "month|inflow_ml", "it is one column", "commas, semicolons or tabs"),
        record=lambda text: text.replace(",", "|"),
    ),
    Bad(
        "a picture",
        ("record.csv", "it is a picture", "copy its table into a spreadsheet"),
        record=lambda _: b"\x89PNG\r\n",
    ),
    Bad(
        "column missing",
        ("the header", "month, flow", "the column inflow_ml is missing"),
        record=put("inflow_ml", "flow"),
    ),
    Bad(
        "column twice",
        ("row 1, column 3", "inflow_ml", "twice", "one column a name"),
        record=lambda text: text.replace("inflow_ml", "inflow_ml,inflow_ml").replace("00.0", "0,0"),
    ),
    Bad(
        "a cell too many",
        ("row 3", "3 cells and the header has 2", "2 cells"),
        record=row(3, "1990-08,1,2"),
    ),
    # the record's cells
    Bad(
        "negative flow",
        ("row 3, column inflow_ml", '"-4"', "negative", "0 or more, ML"),
        record=row(3, "1990-08,-4"),
    ),
    Bad(
        "text in a number",
        ("row 3, column inflow_ml", '"dry"', "text", "a number"),
        record=row(3, "1990-08,dry"),
    ),
    Bad(
        "a comma out of place",
        ("row 3, column inflow_ml", '"1,2041.5"', "text, not a number"),
        record=row(3, '1990-08,"1,2041.5"'),
    ),
    Bad(
        "an infinite flow",
        ("row 3, column inflow_ml", '"inf"', "finite"),
        record=row(3, "1990-08,inf"),
    ),
    Bad(
        "a bad month",
        ("row 3, column month", '"08/90"', "such as 1987-03"),
        record=row(3, "08/90,4"),
    ),
    Bad(
        "a month twice",
        ("row 4, column month", '"1990-08"', "first in row 3", "each month once"),
        record=row(4, "1990-08,4"),
    ),
    Bad(
        "months out of order",
        ("row 4, column month", '"1990-08"', "after 1990-09", "order of time"),
        record=row(3, "1990-09,1", "1990-08,1"),
    ),
    Bad("a gap", ("month 1990-08", "missing", "a named fill policy"), record=row(3)),
    Bad(
        "a blank cell",
        ("row 3, month 1990-08, column inflow_ml", "no value", "a named fill policy"),
        record=row(3, "1990-08,"),
    ),
    Bad(
        "a short record",
        ("1990-07 to 2009-06", "19 complete water years", "20 or more"),
        record=lambda _: monthly_csv(months=19 * 12),
    ),
    Bad(
        "days missing",
        ("month 1991-04", "no value", "a named fill policy"),
        plan=daily(0.09, *THREE_DAYS)[0],
        record=daily(0.09, *THREE_DAYS)[1],
    ),
    Bad(
        "a flow of 5,000 digits",
        ("row 3, column inflow_ml", "not a finite number"),
        record=row(3, f"1990-08,{'9' * 5_000}"),
    ),
    Bad(
        "a flow beyond any river",
        ("row 3, column inflow_ml", '"1e308"', "larger than anything", "0 or more, GL"),
        (*REPLAY, "--unit", "GL"),
        record=row(3, "1990-08,1e308"),
    ),
    Bad(
        "a negative day",
        ("row 3, column flow_ml_per_day", '"-1"', "0 or more"),
        record=lambda _: with_row(daily_csv(), 3, "1990-07-02,-1"),
    ),
    # the words of the command
    Bad(
        "from outside the record",
        ("--from", '"1980-01"', "1990-07 to 2012-06"),
        replay(from_="1980-01"),
    ),
    Bad("to outside the record", ("--to", '"2030-01"', "1990-07 to 2012-06"), replay(to="2030-01")),
    Bad(
        "to before from",
        ("--to", '"1990-07"', "before 1995-07"),
        replay(from_="1995-07", to="1990-07"),
    ),
    Bad("from no month", ("--from", '"July"', "YYYY-MM"), replay(from_="July")),
    Bad("from 5,000 digits", ("--from", '999..."', "YYYY-MM"), replay(from_="9" * 5_000)),
    Bad("nine seasons", ("sequences.seasons", '"9"', "3 or less"), (*OUTLOOK, "--seasons", "9")),
    Bad("no sequences", ("sequences.count", '"0"', "1 or more"), (*OUTLOOK, "--count", "0")),
    Bad(
        "unknown method",
        ("sequences.method", '"tarot"', "'blocks', 'present', 'neighbours' or 'regimes'"),
        (*OUTLOOK, "--method", "tarot"),
    ),
    Bad(
        "unknown kind of block",
        ("sequences.kind", '"lego"', "'stationary'"),
        (*OUTLOOK, "--kind", "lego"),
    ),
    Bad(
        "blocks longer than the record",
        ("block_years", '"30"', "longer than the record", "21 or less"),
        (*OUTLOOK, "--method", "blocks", "--kind", "moving", "--block-years", "30"),
    ),
    Bad(
        "no flow at all",
        ("flow_factor", '"0.0"', "more than 0"),
        (*OUTLOOK, "--flow-factor", "0"),
    ),
    Bad(
        "a flow that is no number",
        ("flow_factor", '"nan"', "finite"),
        (*OUTLOOK, "--flow-factor", "nan"),
    ),
    Bad("a negative seed", ("sequences.seed", '"-1"', "0 or more"), (*OUTLOOK, "--seed", "-1")),
    Bad(
        "an unknown command",
        ("argument COMMAND", "forecast", "outlook"),
        ("forecast",),
        by_argparse=True,
    ),
    Bad("no command", ("required", "COMMAND"), (), by_argparse=True),
    Bad("no place to write to", ("required", "--out"), REPLAY[:-2], by_argparse=True),
    Bad("an unknown option", ("--luck",), (*OUTLOOK, "--luck", "7"), by_argparse=True),
    Bad("a count in words", ("--count", "'many'"), (*OUTLOOK, "--count", "many"), by_argparse=True),
    Bad(
        "unknown fill policy",
        ("--fill", "'mean'", "calendar_month_median"),
        (*REPLAY, "--fill", "mean"),
        by_argparse=True,
    ),
    Bad(
        "no such port",
        ("--port", "70000", "1 to 65535"),
        ("open", "--port", "70000"),
        by_argparse=True,
    ),
    Bad("plan to open missing", ("nowhere.toml", "no such file"), ("open", "nowhere.toml")),
    # where the result shall stand
    Bad("out is a folder", ("--out", "a folder", "a place to write to"), replay(out="standing")),
    Bad(
        "out beneath a file",
        ("--out", "record.csv", "a place to write to"),
        replay(out="record.csv/l.csv"),
    ),
    Bad("out with too long a name", ("--out", "cannot be written"), replay(out="x" * 300)),
    Bad("out of the odds is a file", ("--out", "record.csv"), (*OUTLOOK, "--out", "record.csv")),
]


def contents(folder: Path) -> dict[str, bytes | None]:
    """Return all that stands in a folder, hidden files too; None for a folder."""
    return {
        str(path.relative_to(folder)): None if path.is_dir() else path.read_bytes()
        for path in folder.rglob("*")
    }


def lay_out(folder: Path, plan: Spoil = as_it_is, record: Spoil = as_it_is) -> None:
    """Write plan and record, and what an earlier run wrote."""
    for name, text in (("plan.toml", plan(plan_text())), ("record.csv", record(monthly_csv()))):
        if text is not None:
            content = text.encode() if isinstance(text, str) else text
            (folder / name).write_bytes(content)
    (folder / "ledger.csv").write_text(STANDING, encoding="utf-8")
    (folder / "standing").mkdir()


def run(words: tuple[str, ...], *, by_argparse: bool = False) -> int | str | None:
    """Run a command as a user does, and give its exit status."""
    if not by_argparse:
        return main(words)
    with pytest.raises(SystemExit) as left:
        main(words)
    return left.value.code


@pytest.mark.parametrize("bad", BAD, ids=lambda bad: bad.kind)
def test_command_when_input_is_bad_then_it_says_so_and_writes_nothing(
    bad: Bad,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Status 2; a message with place, value and what is allowed; every file as it was."""
    lay_out(tmp_path, bad.plan, bad.record)
    before = contents(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert run(bad.words, by_argparse=bad.by_argparse) == 2
    printed = capsys.readouterr()
    for words in bad.said:
        assert words in printed.err
    assert max(map(len, printed.err.splitlines())) < 400
    assert "Traceback" not in printed.err
    assert "wrote" not in printed.out
    assert contents(tmp_path) == before


@pytest.mark.parametrize("words", [REPLAY, OUTLOOK], ids=["replay", "outlook"])
def test_command_when_input_is_good_then_it_writes(
    words: tuple[str, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The same files and words unspoiled do pass: the cases above fail for their own fault."""
    lay_out(tmp_path)
    before = contents(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert run(words) == 0
    assert "wrote" in capsys.readouterr().out
    after = contents(tmp_path)
    assert after != before
    assert not [name for name in after if Path(name).name.startswith(".")]


@pytest.mark.parametrize("fails_at", ["write", "rename"])
def test_command_when_the_disk_is_full_then_the_earlier_file_stands(
    fails_at: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A write that fails half way leaves the old file whole and no other file."""

    def no_space(*_: object) -> None:
        raise OSError(errno.ENOSPC, "no space left")

    lay_out(tmp_path)
    before = contents(tmp_path)
    monkeypatch.chdir(tmp_path)
    if fails_at == "write":
        monkeypatch.setattr("os.fsync", no_space)
    else:
        monkeypatch.setattr(Path, "replace", no_space)
    assert run(REPLAY) == 2
    message = capsys.readouterr().err
    assert "ledger.csv" in message
    assert "no space left" in message
    assert contents(tmp_path) == before


def test_table_when_counted_then_it_holds_many_kinds() -> None:
    """Each kind stands once."""
    kinds = [bad.kind for bad in BAD]
    assert len(set(kinds)) == len(kinds) >= 60


@pytest.mark.parametrize("key", ["capacity_ml = 400_000.0", "\nstorage_ml = 176_000.0"])
def test_command_when_a_number_is_too_long_then_status_is_2(
    key: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A whole number of 400 digits is no number of megalitres."""
    name = key.split(" = ")[0]
    lay_out(tmp_path, put(key, f"{name} = 1{'0' * 400}"))
    monkeypatch.chdir(tmp_path)
    assert run(REPLAY) == 2
    assert name.strip() in capsys.readouterr().err


def test_outlook_when_one_of_its_files_cannot_be_written_then_neither_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two files or none: odds without their table would pass for a whole result."""
    lay_out(tmp_path)
    (tmp_path / "odds" / "sequences.csv").mkdir(parents=True)
    before = contents(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert run(OUTLOOK) == 2
    assert contents(tmp_path) == before


def test_command_when_the_place_cannot_be_written_then_no_folder_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Folders made on the way to a file that cannot be written are taken away again."""
    lay_out(tmp_path)
    before = contents(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert run((*REPLAY[:-1], f"new/folder/{'x' * 300}")) == 2
    assert contents(tmp_path) == before
