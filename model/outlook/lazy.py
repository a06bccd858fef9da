"""Which results of many are asked for? Only those are worked out, each once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TypeVar

Name = TypeVar("Name")
Result = TypeVar("Result", covariant=True)


class LazyResults(Mapping[Name, Result]):
    """Results by name, each worked out when it is first asked for: a page asks for few of many.

    Examples
    --------
    >>> lengths = LazyResults(["dam", "account"], len)
    >>> lengths["dam"], dict(lengths)
    (3, {'dam': 3, 'account': 7})
    """

    def __init__(self, names: Iterable[Name], work: Callable[[Name], Result]) -> None:
        self._names, self._work = tuple(names), work
        self._found: dict[Name, Result] = {}

    def __getitem__(self, name: Name) -> Result:
        """Return one result."""
        if name not in self._found:
            if name not in self._names:
                raise KeyError(name)
            self._found[name] = self._work(name)
        return self._found[name]

    def __iter__(self) -> Iterator[Name]:
        """Go through the names in their order."""
        return iter(self._names)

    def __len__(self) -> int:
        """Count the names."""
        return len(self._names)
