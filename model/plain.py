"""How do results become what JSON holds, and results again?"""

from __future__ import annotations

import dataclasses
import math
import types
from collections.abc import Mapping
from typing import Any, Literal, get_args, get_origin, get_type_hints

import numpy as np


def plain(value: Any) -> Any:
    """Turn dataclasses, mappings, arrays and numbers into what JSON holds.

    Examples
    --------
    >>> plain({"shares": np.array([0.5, np.nan]), "years": (1, 2)})
    {'shares': [0.5, None], 'years': [1, 2]}
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, str | bool | int | None):
        return value
    if isinstance(value, np.ndarray | list | tuple):
        return [plain(item) for item in value]
    number = float(value)
    return number if math.isfinite(number) else None


def read_plain(kind: Any, value: Any) -> Any:
    """Turn what JSON holds back into a dataclass that `plain` wrote.

    Parameters
    ----------
    kind
        The dataclass, or the type of one of its fields.
    value
        What JSON holds.

    Raises
    ------
    ValueError
        The value is not of that kind.

    Examples
    --------
    >>> read_plain(tuple[float, ...], [0.5, None])
    (0.5, nan)
    """
    origin, parts = get_origin(kind), get_args(kind)
    if isinstance(kind, type) and dataclasses.is_dataclass(kind) and isinstance(value, Mapping):
        hints = get_type_hints(kind)
        names = [field.name for field in dataclasses.fields(kind)]
        if set(names) != set(value):
            raise ValueError(f"{kind} has {names}, not {list(value)}")
        return kind(**{name: read_plain(hints[name], value[name]) for name in names})
    if origin is tuple and isinstance(value, list):
        kinds = [parts[0]] * len(value) if parts[1:] == (...,) else parts
        return tuple(read_plain(k, v) for k, v in zip(kinds, value, strict=True))
    if origin is not None and _is_mapping(origin) and isinstance(value, Mapping):
        return {name: read_plain(parts[1], item) for name, item in value.items()}
    if origin is types.UnionType and value is not None:
        return read_plain(next(part for part in parts if part is not types.NoneType), value)
    if kind is float and not isinstance(value, str | bool):
        return math.nan if value is None else float(value)
    fits = value in parts if origin is Literal else origin is types.UnionType or type(value) is kind
    if not fits:
        raise ValueError(f"{value!r} is not {kind}")
    return value


def _is_mapping(kind: Any) -> bool:
    """Return whether a type is a mapping."""
    return isinstance(kind, type) and issubclass(kind, Mapping)
