"""The page of many farms: what was written stands there; without a book there is no page."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from model.book.kept import read_book
from model.cli import main
from model.errors import InputError
from model.plan.shipped import demonstration_plan
from model.say.numbers import money
from tests.book.test_book import put
from tests.dashboard.window import APP, clean, figures, go, opened, said, sound, tables


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a book of two farms, one of which has less in the bank."""
    folder = tmp_path_factory.mktemp("book")
    put(folder / "plans", "a", farm__name="Near farm")
    put(folder / "plans", "b", farm__name="Far farm", farm__money__bank_aud=-640_000.0)
    words = ["portfolio", str(folder / "plans"), "--out", str(folder / "out"), "--count", "100"]
    assert main([*words, "--cores", "1"]) == 0
    return folder / "out"


def test_page_when_a_book_is_named_then_its_figures_stand_there(
    book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Title, chart and tables are those of the file; another strategy shows its own."""
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path))
    monkeypatch.setattr(
        sys, "argv", [str(APP), "--plan", str(demonstration_plan()), "--book", str(book)]
    )
    pools = json.loads((book / "portfolio.json").read_text())["whole_book"]["strategies"]
    window = clean(opened("many_farms"))
    for at in (0, 2):
        window.selectbox(key="many_farms_pool").set_value(at)
        sound(window.run())
        worst_aud = pools[at]["whole_run"]["owed_beyond_terms_aud"]["worst_tenth"]
        assert money(worst_aud) in said(window)
        (figure,) = figures(window)
        assert len(figure["data"]) == 2
        missing = pools[at]["seasons"][1]["farms_missing"]
        assert figure["data"][1]["y"][0] == pytest.approx(100.0 * missing["chance_any"]["value"])
        drivers = next(table for table in tables(window) if "Plan file" in table.columns)
        assert drivers.index[0] == "Far farm"


def test_dashboard_when_no_book_is_named_then_there_is_no_such_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A family sees no page that is not for it."""
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path))
    monkeypatch.setattr(sys, "argv", [str(APP), "--plan", str(demonstration_plan())])
    with pytest.raises(ValueError, match=r"many_farms\.py"):
        go(opened(), "many_farms")


def test_book_when_the_folder_holds_none_or_another_runs_table_then_refused(
    book: Path, tmp_path: Path
) -> None:
    """What is no book is said to be none; a changed table is seen."""
    with pytest.raises(InputError, match="no such file"):
        read_book(tmp_path)
    (tmp_path / "portfolio.json").write_text('{"valleys": 3}')
    with pytest.raises(InputError, match="not a book"):
        read_book(tmp_path)
    (tmp_path / "portfolio.json").write_bytes((book / "portfolio.json").read_bytes())
    (tmp_path / "farms.csv").write_text("another run's")
    with pytest.raises(InputError, match="not of the run"):
        read_book(tmp_path)
