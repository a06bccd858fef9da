"""How do a plan and its record go to a partner as one file, and come back as they were?

A zip archive of two members: the plan's TOML, and the record under the name that the plan gives it.
What was announced is laid into the plan, so that nothing else is needed. A parcel is read member by
member by size; no path in it is followed.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Final

from model.errors import Fault, InputError
from model.keeping.plans import RECORD_SUFFIXES
from model.plan.text import edit_plan, parse_plan

MOST_BYTES: Final = 50_000_000
"""Of one member, unpacked: no record of months or days is near it."""

_SAME_DATE: Final = (1980, 1, 1, 0, 0, 0)
"""The earliest an archive can state: the same plan makes the same bytes."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """A plan and its record, as they came."""

    plan_name: str  # without its suffix
    plan: bytes
    record: bytes


def pack(plan_name: str, text: str, record_name: str, record: bytes) -> bytes:
    """Return a plan and its record as one file.

    Parameters
    ----------
    plan_name
        What the plan is called.
    text
        Its TOML, so that it can stand in any folder (`plans.alone`).
    record_name, record
        The record's file.

    Raises
    ------
    PlanError
        The text is no plan: nothing is packed.
    """
    inside = PurePosixPath(record_name.replace("\\", "/")).name
    packed = edit_plan(text, {"record": inside})
    parse_plan(packed.encode(), plan_name)
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in ((f"{plan_name}.toml", packed.encode()), (inside, record)):
            archive.writestr(zipfile.ZipInfo(name, _SAME_DATE), data, zipfile.ZIP_DEFLATED)
    return file.getvalue()


def unpack(data: bytes, name: str) -> Parcel:
    """Return the plan and the record of a parcel; neither is checked further.

    Raises
    ------
    InputError
        It is no archive, or does not hold one plan and one record.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = [each for each in archive.infolist() if not each.is_dir()]
            plan = _one(members, (".toml",), name, "plan")
            record = _one(members, RECORD_SUFFIXES, name, "record")
            return Parcel(
                PurePosixPath(plan.filename).stem, archive.read(plan), archive.read(record)
            )
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        fault = Fault("the file", "", "it cannot be unpacked", "a plan and its record in one file")
        raise InputError(name, [fault]) from error


def _one(
    members: list[zipfile.ZipInfo], suffixes: tuple[str, ...], name: str, what: str
) -> zipfile.ZipInfo:
    """Return the one member that is of a kind."""
    found = [each for each in members if PurePosixPath(each.filename).suffix.lower() in suffixes]
    if len(found) != 1:
        problem = f"it holds {len(found)} files that may be the {what}"
        raise InputError(name, [Fault("the file", "", problem, f"one {what}, {suffixes[0]}")])
    if found[0].file_size > MOST_BYTES:
        problem = f"its {what} is larger than any"
        raise InputError(name, [Fault("the file", "", problem, f"at most {MOST_BYTES:,} bytes")])
    return found[0]
