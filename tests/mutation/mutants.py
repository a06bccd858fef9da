"""The small errors: which could be made in a module, and what the module is with one of them."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

SIGNS: dict[type[ast.operator], str] = {
    ast.Add: "-",
    ast.Sub: "+",
    ast.Mult: "/",
    ast.Div: "*",
    ast.FloorDiv: "*",
    ast.Mod: "*",
    ast.BitAnd: "|",
    ast.BitOr: "&",
}
COMPARED: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=",
    ast.LtE: "<",
    ast.Gt: ">=",
    ast.GtE: ">",
    ast.Eq: "!=",
    ast.NotEq: "==",
}
CALLED = {"minimum": "maximum", "maximum": "minimum", "min": "max", "max": "min"}


@dataclass(frozen=True)
class Mutant:
    """One small error.

    Attributes
    ----------
    file
        Path of the module from the project's root.
    where
        Name of the function or class that it is in; empty at the top.
    line
        Its first line, from 1.
    was, now
        The code in its place, as it is and as it would be.
    start, end
        Its place in the file, in bytes.
    """

    file: str
    where: str
    line: int
    was: str
    now: str
    start: int
    end: int

    def put_in(self, source: bytes) -> bytes:
        """Return the module with this error."""
        return source[: self.start] + self.now.encode() + source[self.end :]

    @property
    def name(self) -> str:
        """The error, as it is listed: on one line."""
        told = f"{self.file} {self.where}: {self.was} -> {self.now}"
        return " ".join(told.split())


def mutants_of(file: str, source: bytes) -> list[Mutant]:
    r"""List every small error that could be made in a module.

    Examples
    --------
    >>> code = b"def left_ml(dam, use):\n    return max(0.0, dam - use)\n"
    >>> [(m.was, m.now) for m in mutants_of("a.py", code)]
    [('max', 'min'), ('0.0', '1.0'), ('dam - use', 'dam + use')]
    """
    tree = ast.parse(source)
    places = _Places(source)
    found = []
    for where, node in _code_in(tree, ""):
        for part, now in _changes(node, places):
            start, end = places.of(part)
            was = source[start:end].decode()
            found.append(Mutant(file, where, part.lineno, was, now, start, end))
    return found


class _Places:
    """Where the nodes of a tree are in their file."""

    def __init__(self, source: bytes) -> None:
        self._source = source
        self._begins = [0]
        for line in source.splitlines(keepends=True):
            self._begins.append(self._begins[-1] + len(line))

    def of(self, node: ast.expr) -> tuple[int, int]:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        start = self._begins[node.lineno - 1] + node.col_offset
        return start, self._begins[node.end_lineno - 1] + node.end_col_offset

    def text(self, node: ast.expr) -> str:
        return self.text_of(*self.of(node))

    def text_of(self, start: int, end: int) -> str:
        return self._source[start:end].decode()


def _code_in(node: ast.AST, where: str) -> Iterator[tuple[str, ast.expr]]:
    """Walk through what is worked out: not through annotations, words, or what is raised."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or isinstance(
                child, ast.Raise | ast.Assert | ast.JoinedStr
            ):
                continue
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
                continue
            if isinstance(child, ast.expr):
                yield where, child
            inside = where
            if isinstance(child, ast.FunctionDef | ast.ClassDef):
                inside = f"{where}.{child.name}".lstrip(".")
            yield from _code_in(child, inside)


def _changes(node: ast.expr, places: _Places) -> Iterator[tuple[ast.expr, str]]:
    """Yield what could be wrong in one expression: the part, and what it would be."""
    match node:
        case ast.BinOp(left, op, right) if type(op) in SIGNS and not _of_words(node):
            yield node, _joined(node, left, SIGNS[type(op)], right, places)
        case ast.Compare(left, [op], [right]) if type(op) in COMPARED:
            yield node, _joined(node, left, COMPARED[type(op)], right, places)
        case ast.BoolOp(op, values):
            word = " or " if isinstance(op, ast.And) else " and "
            yield node, f"({word.join(f'({places.text(value)})' for value in values)})"
        case ast.UnaryOp(ast.Not() | ast.USub() | ast.Invert(), operand):
            yield node, f"({places.text(operand)})"
        case ast.Call(ast.Name(name) as called) if name in CALLED:
            yield called, CALLED[name]
        case ast.Call(ast.Attribute(value, name) as called) if name in CALLED:
            yield called, f"{places.text(value)}.{CALLED[name]}"
        case ast.Constant(bool(value)):
            yield node, str(not value)
        case ast.Constant(int(value)):
            yield node, str(value + 1)
        case ast.Constant(float(value)):
            yield node, "1.0" if value == 0.0 else repr(2.0 * value)
        case ast.IfExp(test):
            yield test, f"(not ({places.text(test)}))"


def _joined(node: ast.expr, left: ast.expr, sign: str, right: ast.expr, places: _Places) -> str:
    """Write two sides with another sign; brackets round them stay where they were."""
    (start, end), (_, left_end), (right_start, _) = map(places.of, (node, left, right))
    between = places.text_of(left_end, right_start)
    old = between.strip().strip("()").strip()
    return (
        places.text_of(start, left_end)
        + between.replace(old, sign, 1)
        + places.text_of(right_start, end)
    )


def _of_words(node: ast.BinOp) -> bool:
    """Return whether words or types are joined, not numbers."""
    ends = (node.left, node.right)
    return any(
        isinstance(end, ast.JoinedStr | ast.List | ast.Tuple)
        or (isinstance(end, ast.Constant) and (end.value is None or isinstance(end.value, str)))
        for end in ends
    )
