"""What may be stated at each key of a plan: its kind, bounds, choices and usual value?

All of it is declared once, at the keys themselves (`types`, `farm`, `money`, `crops`, `strategy`
and so on). Whoever asks a person for figures reads it here, so that a new key is asked for without
a line written for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final, Literal

from model.plan.types import Table
from model.water_year import MONTHS_IN_YEAR

Kind = Literal[
    "number",
    "whole",
    "text",
    "yes_or_no",
    "choice",  # one of a few
    "choices",  # some of a few, in the order given
    "twelve",  # numbers, July to June
    "numbers",  # a few, or any number of them
    "table",
    "tables",  # a list of them
]

_SIMPLE: Final[Mapping[str, Kind]] = {
    "number": "number",
    "integer": "whole",
    "string": "text",
    "boolean": "yes_or_no",
}


@dataclass(frozen=True, slots=True)
class PlanField:
    """One key of a table of a plan."""

    name: str
    kind: Kind
    meaning: str  # with its unit, as the key itself is described
    lowest: float | None  # of a number, or of each in a list
    highest: float | None
    above: bool  # whether a number must be above `lowest`
    whole: bool  # whether the numbers of a list are whole
    fewest: int  # values of a list, or letters of a text
    most: int | None
    choices: tuple[str, ...]
    required: bool  # whether it has no usual value
    blank: bool  # whether it may be left out as a whole
    usual: Any  # what stands where it is left out
    inner: tuple[PlanField, ...]  # of a table, or of each in a list


@lru_cache(maxsize=64)
def fields_of(table: type[Table]) -> tuple[PlanField, ...]:
    """Return the keys of a table in the order in which they are declared.

    Examples
    --------
    >>> from model.plan.money import Machinery
    >>> [(field.name, field.kind, field.lowest) for field in fields_of(Machinery)]
    [('month', 'text', None), ('cost_aud', 'number', 0.0)]
    """
    schema = table.model_json_schema()
    return tuple(_fields(schema, schema.get("$defs", {})))


def chosen(
    fields: Iterable[PlanField], wanted: Callable[[PlanField], bool]
) -> tuple[PlanField, ...]:
    """Return the keys that are wanted, and the tables that hold any of them.

    Parameters
    ----------
    fields
        Of a table.
    wanted
        Whether a key that is no table is.
    """
    kept = []
    for field in fields:
        inner = chosen(field.inner, wanted)
        if inner or (not field.inner and wanted(field)):
            kept.append(replace(field, inner=inner))
    return tuple(kept)


def key_of(table: str, field: PlanField) -> str:
    """Return the dotted key of a field in a table; the plan itself is the empty table."""
    return f"{table}.{field.name}" if table else field.name


def holds(field: PlanField, key: str) -> bool:
    """Return whether a key within a field, dotted, is one of those that it declares.

    Examples
    --------
    >>> from model.plan.farm import Farm
    >>> crops = next(field for field in fields_of(Farm) if field.name == "crops")
    >>> holds(crops, "1.layouts.2.full_yield_units_per_ha"), holds(crops, "1.colour")
    (True, False)
    """
    for part in key.split("."):
        if part and not part.isdecimal():
            found = [inner for inner in field.inner if inner.name == part]
            if not found:
                return False
            field = found[0]
    return True


def _fields(schema: Mapping[str, Any], tables: Mapping[str, Any]) -> Iterator[PlanField]:
    """Yield the keys that the schema of a table declares."""
    for name, given in schema.get("properties", {}).items():
        yield _field(name, given, tables, required=name in schema.get("required", ()))


def _field(
    name: str, given: Mapping[str, Any], tables: Mapping[str, Any], *, required: bool
) -> PlanField:
    """Return one key from its schema."""
    options = given.get("anyOf", [given])
    stated = _resolved(next(each for each in options if each.get("type") != "null"), tables)
    items = _resolved(stated.get("items") or stated.get("prefixItems", [{}])[0], tables)
    kind = _kind(stated, items)
    bounds = items if kind in ("twelve", "numbers") else stated
    lengths = ("minItems", "maxItems") if stated.get("type") == "array" else _LETTERS
    table = items if kind == "tables" else stated
    return PlanField(
        name,
        kind,
        given.get("description") or stated.get("description", ""),
        bounds.get("minimum", bounds.get("exclusiveMinimum")),
        bounds.get("maximum", bounds.get("exclusiveMaximum")),
        "exclusiveMinimum" in bounds,
        items.get("type") == "integer",
        stated.get(lengths[0], 0),
        stated.get(lengths[1]),
        tuple(items.get("enum", ()) if kind == "choices" else stated.get("enum", ())),
        required,
        len(options) > 1,
        given.get("default"),
        tuple(_fields(table, tables)) if kind in ("table", "tables") else (),
    )


_LETTERS: Final = ("minLength", "maxLength")


def _kind(stated: Mapping[str, Any], items: Mapping[str, Any]) -> Kind:
    """Return what kind of value a schema asks for."""
    if stated["type"] == "object":
        return "table"
    if stated["type"] != "array":
        return "choice" if "enum" in stated else _SIMPLE[stated["type"]]
    if items["type"] == "object":
        return "tables"
    if "enum" in items:
        return "choices"
    year = stated.get("minItems") == stated.get("maxItems") == MONTHS_IN_YEAR
    return "twelve" if year else "numbers"


def _resolved(schema: Mapping[str, Any], tables: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a schema itself, or the table that it refers to; its own description stays."""
    if "$ref" not in schema:
        return schema
    table = tables[schema["$ref"].rpartition("/")[2]]
    return {**table, **{key: value for key, value in schema.items() if key != "$ref"}}
