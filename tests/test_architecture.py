"""Whether the layers keep apart, the public names are what they say, and start-up stays light."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

import model
from model.plan.shipped import demonstration_plan

ROOT = Path(__file__).parent.parent
MODULES = sorted((ROOT / "model").rglob("*.py"))
OUT_OF_BOUNDS = ("dashboard", "streamlit", "plotly", "tests")
SLOW_TO_IMPORT = ("statsmodels", "scipy.stats", "scipy.optimize", "pandas", "streamlit", "plotly")
GENERATORS = {"Generator", "SeedSequence", "default_rng"}  # the only names of np.random in use


def imported(tree: ast.AST) -> Iterator[str]:
    """Yield the full name of every module and name that a module imports, wherever it does so."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def dotted(node: ast.AST) -> str:
    """Write an attribute of an attribute as a dotted name."""
    if isinstance(node, ast.Attribute):
        return f"{dotted(node.value)}.{node.attr}"
    return node.id if isinstance(node, ast.Name) else ""


def random_names(tree: ast.AST) -> set[str]:
    """Give the names of numpy's random module that a module uses, and of the standard library's."""
    used = {dotted(node) for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    names = set(imported(tree))
    used |= names
    found = [re.fullmatch(r"(?:np|numpy)\.random\.(\w+)", name) for name in used]
    return {match[1] for match in found if match} | ({"random", "numpy.random"} & names)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_model_when_it_imports_then_nothing_of_the_dashboard(path: Path) -> None:
    """One direction, no way back: the model can be used without any page."""
    names = list(imported(ast.parse(path.read_text(encoding="utf-8"))))
    assert [name for name in names if name.split(".")[0] in OUT_OF_BOUNDS] == []


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_model_when_it_draws_then_from_a_generator_of_its_own(path: Path) -> None:
    """No number comes from a global generator, which nobody could seed apart."""
    assert random_names(ast.parse(path.read_text(encoding="utf-8"))) <= GENERATORS


def test_walk_when_code_breaks_the_rules_then_it_is_seen() -> None:
    """Both walks do notice: an import inside a function, and a draw from a global generator."""
    bad = ast.parse("def f():\n    import streamlit.web\n    from dashboard import app\n")
    assert {name.split(".")[0] for name in imported(bad)} >= {"streamlit", "dashboard"}
    for line in ("np.random.seed(1)", "from numpy import random", "import random"):
        assert not random_names(ast.parse(line)) <= GENERATORS
    assert random_names(ast.parse("np.random.default_rng(np.random.SeedSequence(1))")) <= GENERATORS


def test_public_names_when_listed_then_they_are_sorted_and_each_has_its_module() -> None:
    """The list, the modules and what is there agree."""
    assert model.__all__ == sorted(model.__all__)
    assert set(model.__all__) == set(model._MODULE_OF)
    for name in model.__all__:
        home = import_module(f"model.{model._MODULE_OF[name]}")
        assert getattr(model, name) is getattr(home, name)
        assert getattr(home, name).__module__ == home.__name__


def test_model_when_imported_then_neither_numbers_nor_statistics_are() -> None:
    """Names are fetched when asked for; holding a plan against history needs no statistics."""
    code = (
        "import json, sys\n"
        "import model\n"
        "at_once = sorted(sys.modules)\n"
        "model.hold_against\n"
        "print(json.dumps([at_once, sorted(sys.modules)]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    at_once, then = json.loads(done.stdout)
    assert [name for name in (*SLOW_TO_IMPORT, "numpy") if name in at_once] == []
    assert [name for name in SLOW_TO_IMPORT if name in then] == []
    assert "numpy" in then


def test_public_names_when_one_is_not_there_then_it_is_said() -> None:
    """A wrong name is an attribute error, as for any module."""
    with pytest.raises(AttributeError, match="no attribute 'forecast'"):
        _ = model.forecast  # type: ignore[attr-defined]


def test_public_names_when_type_checked_then_the_same_are_imported() -> None:
    """What a type checker sees is what there is."""
    tree = ast.parse(Path(model.__file__).read_text(encoding="utf-8"))
    checked = next(
        node
        for node in tree.body
        if isinstance(node, ast.If) and dotted(node.test) == "TYPE_CHECKING"
    )
    seen = {
        alias.name: str(statement.module)
        for statement in checked.body
        if isinstance(statement, ast.ImportFrom)
        for alias in statement.names
    }
    assert seen == {name: f"model.{home}" for name, home in model._MODULE_OF.items()}


def test_command_when_an_outlook_is_run_then_nothing_slow_is_imported(tmp_path: Path) -> None:
    """Whoever asks for odds on the command line does not wait for pages or for statistics."""
    code = (
        "import json, sys\n"
        "from model.cli import main\n"
        f"status = main(['outlook', {str(demonstration_plan())!r}, '--out', {str(tmp_path)!r},"
        " '--count', '50'])\n"
        "print(json.dumps([status, sorted(sys.modules)]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    status, modules = json.loads(done.stdout.splitlines()[-1])
    assert status == 0
    assert [name for name in SLOW_TO_IMPORT if name in modules] == []
    assert "numpy" in modules
