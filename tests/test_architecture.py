"""Whether the house keeps its plan: rooms, arrows, public names, a light start."""

from __future__ import annotations

import ast
import inspect
import json
import re
import subprocess
import sys
from collections.abc import Iterable, Iterator, Mapping
from importlib import import_module
from pathlib import Path

import pytest

import model
from model.plan.shipped import demonstration_plan

ROOT = Path(__file__).parent.parent
MODULES = sorted((ROOT / "model").rglob("*.py"))
PAGES = sorted((ROOT / "dashboard").rglob("*.py"))
FLOORS = (
    ("errors", "streams", "water_year", "units"),
    ("files",),
    ("record",),
    ("plan", "sequences"),
    ("valley",),
    ("outlook",),
    ("farm",),
    ("decide", "evidence", "keeping"),
    ("book",),
    ("say",),
    ("brief",),
    ("commands", "dashboard"),
    ("cli",),
)
"""The rooms of the house from the ground up: one imports from floors below its own alone.

Rooms of one floor may lean on each other one way. A room is a file of `model/` or one of its
packages; the dashboard, which stands beside them, is one.
"""
MOST_ROOMS = 20
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
    """Return names of random modules, numpy's and the standard library's, that a module uses."""
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


def room_of(name: str) -> str | None:
    """Name the room of a module, by its full name; None where it is of no room of this house."""
    top, *rest = name.split(".")
    if top == "dashboard":
        return top
    return rest[0] if top == "model" and rest else None


def arrows_of(modules: Mapping[str, ast.AST]) -> dict[tuple[str, str], set[str]]:
    """Gather which room imports from which, and by what, wherever in a module it does so."""
    arrows: dict[tuple[str, str], set[str]] = {}
    for name, tree in modules.items():
        room = room_of(name)
        for other in imported(tree):
            to = room_of(other)
            if room is not None and to is not None and to != room:
                arrows.setdefault((room, to), set()).add(f"{name}: {other}")
    return arrows


def house() -> dict[str, ast.AST]:
    """Read the modules of model and dashboard, by full name; the facade and `-m` are no rooms."""
    modules = {}
    for path in (*MODULES, *PAGES):
        parts = path.relative_to(ROOT).with_suffix("").parts
        if parts not in {("model", "__init__"), ("model", "__main__")}:
            modules[".".join(parts)] = ast.parse(path.read_text(encoding="utf-8"))
    return modules


def circles(arrows: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """List the pairs of rooms that can be reached from one another."""
    beyond: dict[str, set[str]] = {}
    for room, other in arrows:
        beyond.setdefault(room, set()).add(other)
    for through in list(beyond):
        for reached in beyond.values():
            if through in reached:
                reached |= beyond[through]
    return sorted(
        (a, b) for a, others in beyond.items() for b in others if a < b and a in beyond.get(b, ())
    )


def test_house_when_drawn_from_its_imports_then_it_has_no_circle_and_few_rooms() -> None:
    """Every room can be understood by those below it alone."""
    modules = house()
    rooms = {room_of(name) for name in modules} - {None}
    assert rooms == {room for floor in FLOORS for room in floor}
    assert len(rooms) <= MOST_ROOMS
    assert circles(arrows_of(modules)) == []


def test_house_when_a_room_imports_then_from_its_own_floor_or_below() -> None:
    """The arrows go one way: from what is shown down to what was observed."""
    height = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
    upward = {
        arrow: by for arrow, by in arrows_of(house()).items() if height[arrow[0]] < height[arrow[1]]
    }
    assert upward == {}


def test_house_when_two_rooms_lean_on_each_other_then_it_is_seen() -> None:
    """The walk does find a circle, also one of three and one made inside a function."""
    one = {
        "model.a.x": ast.parse("from model.b import y"),
        "model.b": ast.parse("def f():\n    from model import c"),
        "model.c.z": ast.parse("import model.a.x"),
    }
    assert circles(arrows_of(one)) == [("a", "b"), ("a", "c"), ("b", "c")]
    assert circles([("a", "b"), ("b", "c")]) == []


SUMS = (ast.Add, ast.Div, ast.Sub, ast.Mult, ast.FloorDiv, ast.Mod, ast.Pow, ast.MatMult)


def sums_in(tree: ast.AST) -> list[str]:
    """List what a module works out itself; joining words and paths is no sum."""
    return [
        ast.unparse(node)
        for node in ast.walk(tree)
        if isinstance(node, ast.BinOp) and isinstance(node.op, SUMS) and not _joins(node)
    ]


def _joins(node: ast.BinOp) -> bool:
    """Return whether an operation joins text, or a path and a name."""
    ends = (node.left, node.right)
    if isinstance(node.op, ast.Add | ast.Div):
        return any(
            isinstance(end, ast.JoinedStr)
            or (isinstance(end, ast.Constant) and isinstance(end.value, str))
            for end in ends
        )
    return False


@pytest.mark.parametrize(
    "path", [path for path in PAGES if "views" in path.parts], ids=lambda path: path.stem
)
def test_view_when_read_then_it_works_nothing_out(path: Path) -> None:
    """A page shows what the model worked out: sums on a page are tested by nobody."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert sums_in(tree) == []
    assert "numpy" not in set(imported(tree))


def test_walk_when_a_page_works_something_out_then_it_is_seen() -> None:
    """Sums are found; words and paths that are joined are none."""
    for line in ("a - 1", "2 * a", "a / b", "a + 1", "a // 2", "a % 2", "a**2"):
        assert sums_in(ast.parse(line)) == [line.replace("a**2", "a ** 2")]
    assert sums_in(ast.parse("'a' + b; f'{a}' + b; HERE / 'icon.png'; a | b")) == []


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


A_TRIAL_EACH = {"diagnose", "fit_settings", "gather_evidence", "hindcast", "judge", "verdict_of"}
"""Public functions that take longer than an example may; `tests/evidence` runs them."""


def test_public_names_when_read_then_each_says_what_it_is_and_functions_show_it() -> None:
    """Whoever scripts the model finds a docstring at every name, and an example at a function."""
    for name in model.__all__:
        said = inspect.getdoc(getattr(model, name)) or ""
        assert len(said) >= 12, name
        if inspect.isfunction(getattr(model, name)) and name != "hold_against":
            assert (">>>" in said) != (name in A_TRIAL_EACH), name
    assert "held_of" in (inspect.getdoc(model.hold_against) or "")


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
