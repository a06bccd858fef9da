"""Words are made once and late: every file's numbers are the same whatever the sentences say.

Every sentence of say/ is replaced by "x" while it is imported, in a process of its own. A command
then writes the same files: each number in each JSON and CSV stays to the byte, where it stood, and
each figure of a brief's headlines is still there.
"""

from __future__ import annotations

import ast
import csv
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from tests.farm_case import CONTRACT, raw_plan

ROOT = Path(__file__).parents[2]
SENTENCE = re.compile(r"[A-Za-z]{2,}[ ,.;:]+[A-Za-z(]|[a-z]{3,} $|^ [a-z]{3,}")
"""What of a text is prose: two words in a row, or one beside a space where a number stands."""

LAST_YEARS = 60
"""Of the record that the commands run on: what is asked of their files hangs on no more."""

FORMATTERS = "numbers.py"
"""The kinds of number are no sentences: their units stay."""


class NoSentences(ast.NodeTransformer):
    """Puts "x" in the place of every sentence; docstrings and annotations are left alone."""

    def visit_Expr(self, node: ast.Expr) -> ast.AST:
        """Leave docstrings as they are."""
        return node if isinstance(node.value, ast.Constant) else self.generic_visit(node)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        """Leave annotations as they are."""
        node.value = None if node.value is None else self.visit(node.value)
        return node

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        """Replace prose."""
        if isinstance(node.value, str) and SENTENCE.search(node.value):
            return ast.copy_location(ast.Constant("x"), node)
        return node


def without_sentences(source: str) -> ast.Module:
    """Return a module's tree with "x" for every sentence."""
    return ast.fix_missing_locations(NoSentences().visit(ast.parse(source)))


RUN = f"""
import importlib.abc, importlib.machinery, json, sys
sys.path.insert(0, {str(ROOT)!r})
from tests.say.test_words_apart import without_sentences, FORMATTERS

class Loader(importlib.machinery.SourceFileLoader):
    def get_code(self, fullname):
        return compile(without_sentences(self.get_source(fullname)), self.path, "exec")

class Finder(importlib.abc.MetaPathFinder):
    def find_spec(self, fullname, path, target=None):
        if not fullname.startswith("model.say."):
            return None
        spec = importlib.machinery.PathFinder.find_spec(fullname, path)
        if not spec.origin.endswith(FORMATTERS):
            spec.loader = Loader(fullname, spec.origin)
        return spec

if sys.argv[1] == "x":
    for name in [name for name in sys.modules if name.startswith("model.say")]:
        del sys.modules[name]
    sys.meta_path.insert(0, Finder())
from model.cli import main
for words in json.loads(sys.argv[2]):
    assert main(words) == 0, words
from model.brief.pages import parts_of
from model.decide.findings import findings_of
from model.plan.text import read_plan
from model.record.record import read_record
plan = read_plan(__import__("pathlib").Path(sys.argv[3]))
found = findings_of(plan, read_record(__import__("pathlib").Path(sys.argv[4])))
print("HEADLINES", json.dumps([part["headline"] for part in parts_of(found)]))
"""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, list[str], str]]:
    """Run every command twice, in words and in "x": where it wrote, headlines, what it printed."""
    folder = tmp_path_factory.mktemp("words")
    record = folder / "record.csv"
    header, *months = (CONTRACT / "record.csv").read_text("utf-8").splitlines()
    record.write_text("\n".join([header, *months[-12 * LAST_YEARS :]]) + "\n", "utf-8")
    raw = raw_plan({"sequences.count": 40, "sequences.seasons": 2, "record": str(record)})
    raw["title"] = "Plan"
    plan = folder / "plan.toml"
    plan.write_text(tomlkit.dumps(raw), encoding="utf-8")
    found = {}
    for kind in ("words", "x"):
        out = folder / kind
        base = raw["strategies"][0]["name"]
        years = ["--from", "1990-07", "--to", "1992-06"]
        commands = [
            ["outlook", str(plan), "--out", str(out)],
            ["compare", str(plan), "--out", str(out), "--frontier", base, "--seasons", "1"],
            ["evidence", str(plan), "--out", str(out), "--draws", "50", "--seasons", "1"],
            ["replay", str(plan), *years, "--out", str(out / "ledger.csv")],
        ]
        done = subprocess.run(
            [sys.executable, "-c", RUN, kind, json.dumps(commands), str(plan), str(record)],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        last = done.stdout.splitlines()[-1]
        found[kind] = out, json.loads(last.removeprefix("HEADLINES ")), done.stdout
    return found


def numbers_in(document: Any, place: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every number, truth and blank of a document with its place."""
    if isinstance(document, dict):
        for key, value in document.items():
            yield from numbers_in(value, f"{place}/{key}")
    elif isinstance(document, list):
        for at, value in enumerate(document):
            yield from numbers_in(value, f"{place}/{at}")
    elif not isinstance(document, str):
        yield place, document


def figures_of(text: str) -> list[str]:
    """Return the figures of a text."""
    return re.findall(r"[−]?\d[\d,.]*\d|\d", text)


def test_transformer_when_it_meets_a_sentence_then_x_and_else_nothing() -> None:
    """Prose goes, keys and units stay: the test itself can fail."""
    tree = without_sentences('"""A docstring of words."""\nA = "margin_aud"\nB = f"It is {1} ML"\n')
    said = ast.unparse(tree)
    assert "A docstring of words." in said
    assert "margin_aud" in said
    assert "It is" not in said


def test_files_when_every_sentence_is_x_then_each_number_stays_to_the_byte(
    written: dict[str, tuple[Path, list[str], str]],
) -> None:
    """JSON number by number, at its place; CSV to the byte."""
    (words, _, _), (x, _, _) = written["words"], written["x"]
    names = sorted(path.name for path in words.iterdir())
    assert names == sorted(path.name for path in x.iterdir())
    assert {"outlook.json", "compare.json", "evidence.json", "outcomes.csv", "hindcast.csv"} < {
        *names
    }
    for name in names:
        if name.endswith(".csv"):
            assert (words / name).read_bytes() == (x / name).read_bytes(), name
            assert len(list(csv.reader((words / name).read_text("utf-8").splitlines()))) > 1
        else:
            one, other = (
                [*numbers_in(json.loads((folder / name).read_text("utf-8")))]
                for folder in (words, x)
            )
            assert one == other, name
            assert len(one) > 50


def test_files_when_read_then_only_their_notes_hold_words(
    written: dict[str, tuple[Path, list[str], str]],
) -> None:
    """But for `notes` and the mark of them, the same to the byte: no figure depends on a word."""
    for name in ("outlook.json", "compare.json", "evidence.json"):
        one, other = (
            json.loads((written[kind][0] / name).read_text("utf-8")) for kind in ("words", "x")
        )
        assert one.pop("notes") != other.pop("notes"), name
        assert one.pop("run_mark") != other.pop("run_mark"), name  # of all the file, its notes too
        assert one == other, name


def test_headlines_when_every_sentence_is_x_then_their_figures_are_still_there(
    written: dict[str, tuple[Path, list[str], str]],
) -> None:
    """No headline of the brief loses a figure because a sentence reads otherwise."""
    (_, words, said), (_, x, _) = written["words"], written["x"]
    assert words != x
    for one, other in zip(words, x, strict=True):
        wanted = [figure for figure in figures_of(one) if figure not in ("90", "50", "10", "100")]
        assert set(wanted) <= set(figures_of(other)) | {"1.00"}, (one, other)
    assert "times in 100" in said
