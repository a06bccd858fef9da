"""What kind of file is this, by its first bytes, and what is to be done with one that is no table?

A name may lie: a workbook called .csv is read as the workbook it is, a picture called .csv is said
to be a picture.
"""

from __future__ import annotations

import io
import zipfile
from typing import Final, Literal

Kind = Literal["text", "workbook"]

TABLE: Final = "a CSV file or an XLSX workbook"

_SAVE_AS: Final = "save it as an XLSX workbook or as CSV"
_COPY: Final = "copy its table into a spreadsheet and save that as CSV"

MOST_UNPACKED_BYTES: Final = 300_000_000
"""A workbook that unpacks to more holds no record of one river."""

_BY_FIRST_BYTES: Final[tuple[tuple[bytes, str, str], ...]] = (
    (b"%PDF", "it is a PDF", _COPY),
    (b"\x89PNG", "it is a picture", _COPY),
    (b"\xff\xd8\xff", "it is a picture", _COPY),
    (b"GIF8", "it is a picture", _COPY),
    (b"II*\x00", "it is a picture", _COPY),
    (b"MM\x00*", "it is a picture", _COPY),
    (b"RIFF", "it is a picture or a sound", _COPY),
    (b"{\\rtf", "it is a written document", _COPY),
    (b"\x1f\x8b", "it is a packed file", "unpack it first"),
    (b"7z\xbc\xaf", "it is a packed file", "unpack it first"),
    (b"Rar!", "it is a packed file", "unpack it first"),
    (b"SQLite format 3", "it is a database", _SAVE_AS),
)
_OLD_WORKBOOK: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_BY_CONTENT_OF_ZIP: Final[tuple[tuple[str, str, str], ...]] = (
    ("xl/workbook.bin", "it is a binary workbook (XLSB)", _SAVE_AS),
    ("word/", "it is a written document", _COPY),
    ("ppt/", "it is a set of slides", _COPY),
    ("Index/", "it is a workbook of another kind", _SAVE_AS),
    ("content.xml", "it is an OpenDocument file", _SAVE_AS),
)


def kind_of(data: bytes) -> tuple[Kind | None, str, str]:
    """Return how to read a file; or None, what it is instead and what to do.

    Examples
    --------
    >>> kind_of(b"month,inflow_ml")[0]
    'text'
    >>> kind_of(b"%PDF-1.7")[1:]
    ('it is a PDF', 'copy its table into a spreadsheet and save that as CSV')
    """
    for first, what, remedy in _BY_FIRST_BYTES:
        if data.startswith(first):
            return None, what, remedy
    if data.startswith(_OLD_WORKBOOK):
        if "EncryptedPackage".encode("utf-16-le") in data:
            return None, "it is protected by a password", "save it again without one"
        return None, "it is an Excel workbook of the older kind (XLS)", _SAVE_AS
    if data.startswith(b"PK\x03\x04"):
        return _kind_of_zip(data)
    start = data[:600].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith((b"<!doctype html", b"<html", b"<table", b"<meta")):
        return None, "it is a web page", f"open it in a spreadsheet and {_SAVE_AS}"
    if start.startswith(b"<?xml"):
        return None, "it is an XML file", f"open it in a spreadsheet and {_SAVE_AS}"
    return "text", "", ""


def _kind_of_zip(data: bytes) -> tuple[Kind | None, str, str]:
    """Return what a packed file holds."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return None, "it is a damaged workbook or packed file", _SAVE_AS
    names = [part.filename for part in parts]
    if any(name.lower() == "xl/workbook.xml" for name in names):
        if sum(part.file_size for part in parts) > MOST_UNPACKED_BYTES:
            return None, "it is a workbook too large to read", "save the one sheet as CSV"
        return "workbook", "", ""
    for start, what, remedy in _BY_CONTENT_OF_ZIP:
        if any(name.startswith(start) for name in names):
            return None, what, remedy
    return None, "it is a packed file", "unpack it first"
