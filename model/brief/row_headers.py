"""How are the first cells of a table's rows tagged as headers?

The type-setter tags the headers of columns alone. A row's first cell says what the row is: here its
tag becomes that of a header with the scope of its row, as PDF/UA-1 has it (ISO 32000-1, tables
348 and 349). Nothing that is seen changes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject


def with_row_headers(pdf: bytes) -> bytes:
    """Return a tagged PDF with the first cell of each row of a table's body as a header."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf)))
    root: Any = writer.root_object["/StructTreeRoot"]
    for element in elements(root["/K"]):
        if element.get("/S") == "/TR":
            cells = _kids(element)
            if cells and all(str(cell["/S"]) == "/TD" for cell in cells):
                _make_header(cells[0])
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


def _make_header(cell: DictionaryObject) -> None:
    """Tag a cell as the header of its row."""
    cell[NameObject("/S")] = NameObject("/TH")
    scope = DictionaryObject(
        {NameObject("/O"): NameObject("/Table"), NameObject("/Scope"): NameObject("/Row")}
    )
    before = cell.get("/A")
    kept = [] if before is None else before if isinstance(before, ArrayObject) else [before]
    cell[NameObject("/A")] = ArrayObject([*kept, scope])


def elements(node: Any) -> Iterator[DictionaryObject]:
    """Yield the elements of a structure tree, each before what it holds."""
    node = node.get_object()
    if isinstance(node, ArrayObject):
        for item in node:
            yield from elements(item)
    elif isinstance(node, DictionaryObject) and "/S" in node:
        yield node
        if "/K" in node:
            yield from elements(node["/K"])


def _kids(element: DictionaryObject) -> list[DictionaryObject]:
    """Return the elements that stand directly in one."""
    held: Any = element.get("/K")
    items = held if isinstance(held, ArrayObject) else [] if held is None else [held]
    found = (item.get_object() for item in items)
    return [item for item in found if isinstance(item, DictionaryObject) and "/S" in item]
