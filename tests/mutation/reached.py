"""Which tests run which lines of some files, and how long does each test take? A pytest plugin."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Generator
from pathlib import Path
from types import FrameType
from typing import Any

import pytest


class Reached:
    """Notes, test by test, the lines of the watched files that it runs."""

    def __init__(self, root: Path, files: list[str], out: Path) -> None:
        self._names = {str(root / file): file for file in files}
        self._out = out
        self._now: set[tuple[str, int]] = set()
        self._tests: dict[str, dict[str, Any]] = {}

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, None, None]:
        """Watch a test with all that it prepares."""
        self._now = set()
        began = time.perf_counter()
        sys.settrace(self._enter)
        yield
        sys.settrace(None)
        took_s = time.perf_counter() - began
        lines = [f"{file}:{line}" for file, line in self._now]
        self._tests[item.nodeid] = {"seconds": took_s, "lines": lines}

    def pytest_sessionfinish(self) -> None:
        """Write what was noted."""
        self._out.write_text(json.dumps(self._tests))

    def _enter(self, frame: FrameType, event: str, argument: object) -> Any:
        file = self._names.get(frame.f_code.co_filename)
        if file is None:
            return None
        note, seen = self._now, frame.f_code.co_firstlineno
        note.add((file, seen))

        def line(frame: FrameType, event: str, argument: object) -> Any:
            if event == "line":
                note.add((file, frame.f_lineno))
            return line

        return line
