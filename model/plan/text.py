"""How a plan is read from TOML, checked as a whole, and edited without losing its comments.

All faults are reported at once, in the reader's words: key, value, what is the matter, what is
allowed. Relations between tables (the opening water must fit the dam and the account rules) are
checked on the values as written, so that they too are reported beside other faults.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import tomlkit
from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from tomlkit.items import AoT

from model.errors import Fault, PlanError
from model.files import read_bytes
from model.plan.agreement import faults_between_tables
from model.plan.first_edition import (
    in_todays_words,
    is_first_edition,
    under_the_files_keys,
)
from model.plan.plan import Plan
from model.plan.valley_agreement import faults_between_rules
from model.water_year import MONTHS_IN_YEAR

_ALLOWED_BY_TYPE = {
    "float_type": "a number",
    "int_type": "a whole number",
    "string_type": 'text in quotes, such as "2025-09"',
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "float_parsing": "a number",
    "int_parsing": "a whole number",
    "tuple_type": "a list in square brackets",
    "model_type": "a table",
    "finite_number": "a finite number",
    "missing": "this key",
}
_NUMBER_WORDS = {
    "greater_than_equal": ("ge", "{} or more"),
    "greater_than": ("gt", "more than {}"),
    "less_than_equal": ("le", "{} or less"),
    "less_than": ("lt", "less than {}"),
}


DEEPEST: Final = 12
"""Tables within tables; a plan has half as many."""


def read_plan(path: Path, record: str | None = None) -> Plan:
    """Read and check a plan file.

    Parameters
    ----------
    path
        Of the file.
    record
        What stands for the record in a plan that names none.

    Raises
    ------
    PlanError
        With every fault found.
    InputError
        There is no such file.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> read_plan(demonstration_plan()).valley.name
    'Sandlark valley (invented)'
    """
    return parse_plan(read_bytes(path, "plan"), path.name, record)


def parse_plan(data: bytes, name: str, record: str | None = None) -> Plan:
    """Read and check the bytes of a plan file; see `read_plan`.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> parse_plan(demonstration_plan().read_bytes(), "ours.toml").sequences.seasons
    3
    """
    raw = load_toml(data, name)
    if record is not None:
        raw.setdefault("record", record)
    return check_plan(raw, name)


def load_toml(data: bytes, name: str) -> dict[str, Any]:
    """Read the bytes of a plan file as nested tables, unchecked.

    Raises
    ------
    PlanError
        They are not TOML, or hold what no plan does.
    """
    lines = 'lines such as key = "value"'
    try:
        raw = tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n"))
    except UnicodeDecodeError as error:
        problem = f"byte {error.start + 1:,} is not text in UTF-8"
        raise PlanError(name, [Fault("the file", "", problem, "UTF-8")]) from error
    except tomllib.TOMLDecodeError as error:
        problem = f"it is not TOML ({error})"
        raise PlanError(name, [Fault("the file", "", problem, lines)]) from error
    except ValueError as error:  # more digits than the language turns into a number
        problem = "a number has thousands of digits"
        raise PlanError(name, [Fault("the file", "", problem, "numbers of a plan")]) from error
    except RecursionError:
        raw = None
    if raw is None or _is_deeper(raw, DEEPEST):
        problem = "its lists or tables are nested too deeply"
        raise PlanError(name, [Fault("the file", "", problem, f"at most {DEEPEST} levels")])
    return raw


def _is_deeper(table: Mapping[str, Any], deepest: int) -> bool:
    """Return whether tables and lists lie within one another more than some times."""
    level: list[Any] = [table]
    for _ in range(deepest):
        level = [
            inner
            for outer in level
            for inner in (outer.values() if isinstance(outer, Mapping) else outer)
            if isinstance(inner, Mapping | list)
        ]
    return bool(level)


def check_plan(raw: Mapping[str, Any], name: str) -> Plan:
    """Check a plan given as nested tables.

    Raises
    ------
    PlanError
        With every fault found.

    Examples
    --------
    >>> check_plan({"title": "Ours"}, "ours.toml")  # doctest: +IGNORE_EXCEPTION_DETAIL
    Traceback (most recent call last):
    model.errors.PlanError: ...
    """
    faults: list[Fault] = []
    plan, translated = None, in_todays_words(raw)
    try:
        plan = Plan.model_validate(translated.raw)
    except ValidationError as error:
        details = error.errors(include_url=False)
        faults += [_as_fault(detail) for detail in details if not _is_echo(detail)]
    faults += faults_between_tables(translated.raw)
    faults += faults_between_rules(translated.raw)
    if plan is None or faults:
        raise PlanError(name, under_the_files_keys(faults, translated.names))
    return plan.with_notes(translated.notes) if translated.notes else plan


def edit_plan(text: str, changes: Mapping[str, Any]) -> str:
    r"""Change some values of a plan's text; comments and layout stay as they are.

    Parameters
    ----------
    text
        The plan file's text.
    changes
        New values by dotted key, such as ``{"opening.storage_ml": 90_000.0}``; None takes a key
        out. In a list of tables a number names the place, from 1, such as
        ``farm.money.loans.1.balance_aud``.

    Raises
    ------
    PlanError
        A list has no such place.

    Examples
    --------
    >>> edit_plan("[opening]  # today\nstorage_ml = 1.0  # gauge\n", {"opening.storage_ml": 2.0})
    '[opening]  # today\nstorage_ml = 2.0  # gauge\n'
    """
    windows = "\r\n" in text
    document = tomlkit.parse(text.replace("\r\n", "\n"))
    if changes and is_first_edition(document):
        _put_into(document, in_todays_words(document.unwrap()).raw)
    for dotted, value in changes.items():
        *tables, key = dotted.split(".")
        table: Any = document
        for name in tables:
            table = inner_table(table, name, dotted, tomlkit.table)
        if value is None:
            _take_out(document, tables, key)
        elif isinstance(value, Mapping) and isinstance(table.get(key), Mapping):
            _put_into(table[key], value)
        elif isinstance(value, Sequence) and value and isinstance(table.get(key), AoT):
            _put_rows(table[key], value)
        elif key not in table or table[key] != value:
            table[key] = _laid_out(value)
    edited = tomlkit.dumps(document)
    return edited.replace("\n", "\r\n") if windows else edited


def _take_out(document: Any, tables: Sequence[str], key: str) -> None:
    """Take a key out, and any table that it leaves empty."""
    path = [document]
    for name in tables:
        path.append(path[-1][int(name) - 1 if isinstance(path[-1], list) else name])
    path[-1].pop(key, None)
    for name, parent, table in zip(tables[::-1], path[-2::-1], path[::-1], strict=False):
        if len(table) == 0 and not isinstance(parent, list):
            parent.pop(name)


def _put_into(table: Any, values: Mapping[str, Any]) -> None:
    """Make a table hold these values and no others; what stays keeps its comments."""
    for key in [key for key in table if values.get(key) is None]:
        table.pop(key)
    for key, value in values.items():
        if isinstance(value, Mapping) and isinstance(table.get(key), Mapping):
            _put_into(table[key], value)
        elif isinstance(value, Sequence) and value and isinstance(table.get(key), AoT):
            _put_rows(table[key], value)
        elif value is not None and table.get(key) != value:
            table[key] = _laid_out(value)


def _put_rows(tables: AoT, rows: Sequence[Mapping[str, Any]]) -> None:
    """Make a list of tables hold these and no others; what stays keeps its comments.

    Where there are fewer than before, the first that differ are those taken out.
    """
    while len(tables) > len(rows):
        same = [table.unwrap() == row for table, row in zip(tables, rows, strict=False)]
        del tables[same.index(False) if False in same else len(rows)]
    for table, row in zip(tables, rows, strict=False):
        _put_into(table, row)
    for row in rows[len(tables) :]:
        tables.append(_laid_out(row))


def inner_table(table: Any, name: str, dotted: str, empty: Callable[[], Any]) -> Any:
    """Step into a table of a table, begun where it is missing, or into a place of a list.

    Parameters
    ----------
    table
        A table, or a list of tables.
    name
        Of the inner table; in a list the place, from 1.
    dotted
        The whole key, for the fault.
    empty
        Makes a table.

    Raises
    ------
    PlanError
        The list has no such place.
    """
    if not isinstance(table, list):
        return table.setdefault(name, empty())
    if name.isdecimal() and 1 <= int(name) <= len(table):
        return table[int(name) - 1]
    problem = "the plan's list has no such place"
    raise PlanError("plan", [Fault(dotted, name, problem, f"1 to {len(table)}")])


def _laid_out(value: Any) -> Any:
    """Return a value the form in which it is written: lists in brackets, a line after a table."""
    if isinstance(value, Mapping):
        table = tomlkit.table()
        for key, inner in value.items():
            if inner is not None:
                table[key] = _laid_out(inner)
        table.add(tomlkit.nl())
        return table
    if isinstance(value, list | tuple) and value and all(isinstance(v, Mapping) for v in value):
        tables = tomlkit.aot()
        for inner in value:
            tables.append(_laid_out(inner))
        return tables
    return list(value) if isinstance(value, tuple) else value


def meaning_of(dotted: str) -> str:
    """Return the meaning and unit of a key of a plan, such as ``opening.storage_ml``.

    Examples
    --------
    >>> meaning_of("opening.storage_ml")
    'water in the dam, ML'
    """
    return _description(tuple(dotted.split(".")))


def _as_fault(detail: ErrorDetails) -> Fault:
    """Return one finding of the schema in the reader's words."""
    where = _dotted(detail["loc"])
    kind, context = detail["type"], detail.get("ctx", {})
    value = "" if kind == "missing" or detail["input"] is None else _shown(detail["input"])
    if kind == "extra_forbidden":
        return Fault(where, value, "there is no such key", _nearest_keys(detail["loc"]))
    if kind == "missing":
        return Fault(where, value, "it is missing", _description(detail["loc"]) or "this key")
    if kind == "value_error":
        problem, _, allowed = str(context["error"]).partition("|")
        return Fault(where, value, problem, allowed)
    if kind in _NUMBER_WORDS:
        bound_name, words = _NUMBER_WORDS[kind]
        bound = _bound_words(context[bound_name])
        return Fault(where, value, "it is out of range", words.format(bound))
    if kind in ("too_short", "too_long"):
        length = len(detail["input"])
        return Fault(where, "", f"the list has {length} values", _list_words(kind, context))
    if kind in ("string_too_short", "string_too_long"):
        problem = "it is empty" if kind == "string_too_short" else "it is too long"
        most = context.get("max_length")
        letters = f", {most} letters at most" if most else ""
        return Fault(where, value, problem, f"text in quotes{letters}")
    if kind == "literal_error":
        return Fault(where, value, "it is none of the choices", str(context["expected"]))
    if kind == "string_pattern_mismatch":
        if where.endswith(".date"):
            return Fault(where, value, "it is not a date", "YYYY-MM-DD, such as 2025-09-01")
        return Fault(where, value, "it is not a month", "YYYY-MM, such as 2025-09")
    return Fault(where, value, "it is of the wrong kind", _ALLOWED_BY_TYPE.get(kind, detail["msg"]))


def _bound_words(bound: float) -> str:
    """Write a bound in full where it is a whole number."""
    return f"{bound:,}" if isinstance(bound, int) else f"{bound:g}"


def _list_words(kind: str, context: Mapping[str, Any]) -> str:
    """Return how many values a list takes."""
    if MONTHS_IN_YEAR in (context.get("min_length"), context.get("max_length")):
        return f"{MONTHS_IN_YEAR} values, July to June"
    if kind == "too_short":
        return f"{context['min_length']} or more values"
    return f"{context['max_length']} values or fewer"


def _is_echo(detail: ErrorDetails) -> bool:
    """Return whether a list is short only because some of its values are at fault themselves."""
    return detail["type"] == "too_short" and len(detail["input"]) >= detail["ctx"]["min_length"]


def _dotted(location: tuple[int | str, ...]) -> str:
    """Write a place in a plan as a dotted key; list places count from 1."""
    words = [f"value {part + 1}" if isinstance(part, int) else part for part in location]
    return ".".join(words).replace(".value", ", value") or "the file"


def _shown(value: object) -> str:
    """Show a value as it stands in a plan, cut short."""
    try:
        text = str(list(value)) if isinstance(value, tuple | list) else str(value)
    except ValueError:  # more digits than the language writes out
        return "a number of thousands of digits"
    return text if len(text) <= 60 else f"{text[:57]}..."


def _table_class(location: tuple[int | str, ...]) -> type[BaseModel] | None:
    """Find the class of the table that a key belongs to."""
    table: type[BaseModel] = Plan
    for part in location[:-1]:
        if isinstance(part, int) or part.isdecimal():  # a place in a list of tables
            continue
        field = table.model_fields.get(str(part))
        classes = [] if field is None else _classes(field.annotation)
        if not classes:
            return None
        table = classes[0]
    return table


def _classes(annotation: Any) -> list[type[BaseModel]]:
    """List the table classes that an annotation names."""
    options = [annotation, *getattr(annotation, "__args__", ())]
    options += [inner for option in options[1:] for inner in getattr(option, "__args__", ())]
    return [kind for kind in options if isinstance(kind, type) and issubclass(kind, BaseModel)]


def _nearest_keys(location: tuple[int | str, ...]) -> str:
    """Offer the known keys most like a mistyped one."""
    table = _table_class(location)
    known = list(table.model_fields) if table else []
    near = difflib.get_close_matches(str(location[-1]), known, n=2, cutoff=0.5)
    return " or ".join(near) if near else ", ".join(known)


def _description(location: tuple[int | str, ...]) -> str:
    """Return the meaning and unit of a key."""
    table = _table_class(location)
    field = table.model_fields.get(str(location[-1])) if table else None
    return (field.description or "") if field else ""
