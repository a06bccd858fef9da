"""How do results become what JSON holds?"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

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
