"""Words and numbers are made in one place: nothing outside say/ formats a number for a person."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from model.say.measures import COMMITMENTS, EVENTS, MEASURES

ROOT = Path(__file__).parents[2]
SAY = ROOT / "model" / "say"
MODULES = sorted(
    path
    for folder in ("model", "dashboard")
    for path in (ROOT / folder).rglob("*.py")
    if SAY not in path.parents
)
SPEC = re.compile(r",|%$|\.\d+[efg]|\d*[efg]$")
"""A format that writes a number for a reader: thousands, percent, digits after the point."""

RAISED = {"Fault", "ValueError", "IndexError", "InputError", "RecordError", "PlanError"}
"""A message that quotes a user's own value back, or names what is allowed, may format it."""

NO_PERSON_READS = {
    "dashboard/frame.py": "the width of a level",
    "dashboard/charts/set_aside.py": "places in a drawing",
    "dashboard/charts/hectares.py": "places in a drawing",
    "dashboard/charts/drawing.py": "places in a drawing",
    "dashboard/charts/dots.py": "places in a drawing",
    "dashboard/charts/side_by_side.py": "places in a drawing",
    "dashboard/charts/dry_cases.py": "places in a drawing",
    "dashboard/charts/past_years.py": "places in a drawing",
    "model/brief/svg.py": "places in a drawing",
    "model/brief/workbook.py": "the names of quantiles in a header",
    "model/outlook/output.py": "the names of quantiles in a file",
    "model/decide/output.py": "the names of quantiles in a file",
    "model/book/output.py": "the names of parts of the farms in a file",
}
"""What else is formatted elsewhere, and why that is no number for a person."""

OF_THE_USERS_OWN_VALUES = {
    "model/errors.py": "how many more faults a message holds",
    "model/plan/announced.py": "what is allowed",
    "model/plan/cautions.py": "cautions that quote the plan's own figures",
    "model/plan/steps_agreement.py": "what is allowed",
    "model/plan/text.py": "what is allowed",
    "model/plan/valley_agreement.py": "what is allowed",
    "model/record/describe.py": "warnings about the record",
    "model/record/grid.py": "what is allowed",
    "model/record/record.py": "how many months are filled",
    "model/record/table.py": "what is allowed",
    "model/keeping/compare.py": "a plan's figures as the file has them",
    "model/keeping/diary.py": "what is allowed",
    "dashboard/controls.py": "a figure as it is typed",
    "model/decide/compare.py": "what is allowed",
    "model/book/book.py": "what is allowed",
    "model/decide/last_megalitre.py": "what is allowed",
    "model/farm/rules.py": "what is allowed",
}
"""Messages that quote what the user gave, worded where the fault is found."""

INPUTS = ("dashboard/views", "dashboard/frame.py", "model/plan")
"""These name a plan's figures, which may read like the measures made of them."""


def formats(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Yield each format of a number in an f-string, but for those in a message of a fault."""
    in_faults = {
        id(inner)
        for node in ast.walk(tree)
        if (isinstance(node, ast.Call) and called(node) in RAISED) or isinstance(node, ast.Raise)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if not isinstance(node, ast.FormattedValue) or node.format_spec is None:
            continue
        spec = "".join(str(getattr(part, "value", "")) for part in node.format_spec.values)  # type: ignore[attr-defined]
        if SPEC.search(spec) and id(node) not in in_faults:
            yield node.lineno, spec


def called(node: ast.Call) -> str:
    """Return the name of what is called."""
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_module_when_outside_say_then_it_formats_no_number_for_a_person(path: Path) -> None:
    """One formatter for each kind of number: a format elsewhere is a second house."""
    name = str(path.relative_to(ROOT))
    if name in {*NO_PERSON_READS, *OF_THE_USERS_OWN_VALUES}:
        return
    assert list(formats(ast.parse(path.read_text("utf-8")))) == []


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_module_when_outside_say_then_it_names_no_measure(path: Path) -> None:
    """A measure has its title in the table: nowhere is one of two words or more typed again."""
    name = str(path.relative_to(ROOT))
    if name.startswith(INPUTS):
        return
    tables = (MEASURES, EVENTS, COMMITMENTS)
    titles = {one.title for table in tables for one in table.values() if " " in one.title}
    typed = {
        node.value
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and node.value.split(",")[0] in titles
    }
    assert typed == set()


def test_exceptions_when_listed_then_each_is_needed() -> None:
    """The list of exceptions is short, and no longer than it must be."""
    for name in (*NO_PERSON_READS, *OF_THE_USERS_OWN_VALUES):
        tree = ast.parse((ROOT / name).read_text("utf-8"))
        assert list(formats(tree)), f"{name} formats nothing any more"


def test_walk_when_a_number_is_formatted_then_it_is_seen() -> None:
    """The walk does notice, and lets a fault quote a value."""
    bad = "a = f'{x:,.0f} ML'\nb = f'{y:.1%}'\nc = Fault('k', f'{z:g}', 'p', 'a')\nd = f'{t}'\n"
    assert list(formats(ast.parse(bad))) == [(1, ",.0f"), (2, ".1%")]
