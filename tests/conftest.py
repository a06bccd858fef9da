"""What all tests share: no network, their order, and how hypothesis looks for counterexamples.

The same examples on every machine and in every run, with no clock: a failure is never a matter of
luck, and a new one comes from a change of code. To search further by hand, name the other profile:
`HYPOTHESIS_PROFILE=search pytest tests/valley/test_properties.py`.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.cut_network import sitecustomize
from tests.few_records import resample_few

CUT = sitecustomize  # imported, it cuts the network for this program

settings.register_profile(
    "fixed", derandomize=True, deadline=None, max_examples=80, database=None, print_blob=True
)
settings.register_profile("search", deadline=None, max_examples=500, database=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "fixed"))


@pytest.fixture(scope="module")
def few_records() -> Iterator[None]:
    """Resample the record a few times, for a module that asks what is said and not how surely."""
    with pytest.MonkeyPatch.context() as patch:
        resample_few(patch)
        yield


LONGEST = (
    "browser",
    "dashboard/test_pages.py",
    "valley/test_properties.py",
    "brief/test_pages.py",
    "evidence",
    "valley",
    "dashboard",
)
"""Files and folders of tests that take longest, the longest first."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes longest, so that workers end at about the same time."""
    items.sort(key=lambda item: _place(item.path))


def _place(path: Path) -> int:
    """Return the place of a file of tests in the order; what is not named comes last."""
    tests = Path(__file__).parent
    for place, name in enumerate(LONGEST):
        if path.is_relative_to(tests / name):
            return place
    return len(LONGEST)
