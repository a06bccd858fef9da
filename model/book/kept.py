"""What does a book say that was written before?

`portfolio.json` is read back into what it was written from, as far as a page needs it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from model.book.book import Driver, Drivers
from model.book.pool import Counted, Pool, PoolSeason, Scope
from model.errors import Fault, InputError
from model.files import check_run, read_bytes
from model.outlook.chances import Estimate

DOCUMENT: Final = "portfolio.json"


@dataclass(frozen=True, slots=True)
class KeptAmount:
    """Mean and worst tenth of an amount, with both errors."""

    mean: Estimate
    worst_tenth: Estimate


@dataclass(frozen=True, slots=True)
class KeptScope:
    """Farms that were looked at together."""

    scope: Scope
    drivers: tuple[Drivers, ...]  # by pool


@dataclass(frozen=True, slots=True)
class KeptBook:
    """A book that was written."""

    name: str
    farms: int
    farms_with_faults: int
    joint: str | None
    invented: bool
    scopes: tuple[KeptScope, ...]  # the whole book first, where valleys are added up


def read_book(folder: Path) -> KeptBook:
    """Read a book that `seasons portfolio` wrote.

    Parameters
    ----------
    folder
        That it was written to.

    Raises
    ------
    InputError
        It holds no book, or files of another run stand beside it.
    """
    path = folder / DOCUMENT
    try:
        document = json.loads(read_bytes(path, "portfolio"))
        check_run(path, document)
        return _book(document)
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        fault = Fault("portfolio", str(path), "it is not a book", "what `seasons portfolio` wrote")
        raise InputError(DOCUMENT, [fault]) from error


def _book(document: Mapping[str, Any]) -> KeptBook:
    """Read a whole document."""
    valleys = document["valleys"]
    scopes = [_scope(each["valley"], each) for each in valleys]
    if document["whole_book"] is not None:
        whole = _scope("", document["whole_book"])
        scopes = [whole, *(scopes if len(scopes) > 1 else [])]
    return KeptBook(
        name=document["folder"],
        farms=document["farms"],
        farms_with_faults=document["farms_with_faults"],
        joint=document["joint"],
        invented=any(each["invented"] for each in valleys),
        scopes=tuple(scopes),
    )


def _scope(name: str, found: Mapping[str, Any]) -> KeptScope:
    """Read farms that were looked at together."""
    pools = tuple(map(_pool, found["strategies"]))
    drivers = tuple(_drivers(each["drivers"]) for each in found["strategies"])
    return KeptScope(Scope(name, (name,), found["farms"], pools), drivers)


def _pool(found: Mapping[str, Any]) -> Pool:
    """Read farms under one strategy."""
    worst, whole = found["worst_season"], found["whole_run"]
    return Pool(
        strategy=found["strategy"],
        seasons=tuple(
            PoolSeason(
                water_year=season["water_year"],
                missing=_counted(season["farms_missing"]),
                past_limit=_counted(season["farms_past_limit"]),
                owed_aud=_amount(season["owed_beyond_terms_aud"]),
            )
            for season in found["seasons"]
        ),
        missing=_counted(worst["farms_missing"]),
        past_limit=_counted(worst["farms_past_limit"]),
        owed_aud=_amount(whole["owed_beyond_terms_aud"]),
        standing_aud=_amount(whole["standing_aud"]),
        margin_aud=_amount(whole["margin_aud"]),
        worst={},
    )


def _counted(found: Mapping[str, Any]) -> Counted:
    """Read how many farms there are at once."""
    return Counted(
        farms=_amount(found),
        chance_any=_estimate(found["chance_any"]),
        chance_of_part={float(p): _estimate(e) for p, e in found["chance_of_part"].items()},
        distribution={int(farms): frac for farms, frac in found["distribution"].items()},
    )


def _amount(found: Mapping[str, Any]) -> KeptAmount:
    """Read mean and worst tenth."""
    return KeptAmount(
        _estimate({"value": found["mean"], **found["mean_errors"]}),
        _estimate({"value": found["worst_tenth"], **found["worst_tenth_errors"]}),
    )


def _estimate(found: Mapping[str, Any]) -> Estimate:
    """Read a value with both errors."""
    return Estimate(
        found["value"], found["low"], found["high"], found["record_low"], found["record_high"]
    )


def _drivers(found: Mapping[str, Any]) -> Drivers:
    """Read which farms the worst tenth comes from."""
    return Drivers(tuple(Driver(**each) for each in found["most"]), found["farms_of_half"])
