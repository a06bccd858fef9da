"""What all tests share: no network, and how hypothesis looks for counterexamples.

The same examples on every machine and in every run, with no clock: a failure is never a matter of
luck, and a new one comes from a change of code. To search further by hand, name the other profile:
`HYPOTHESIS_PROFILE=search pytest tests/valley/test_properties.py`.
"""

from __future__ import annotations

import os

from hypothesis import settings

from tests.cut_network import sitecustomize

CUT = sitecustomize  # imported, it cuts the network for this program

settings.register_profile(
    "fixed", derandomize=True, deadline=None, max_examples=80, database=None, print_blob=True
)
settings.register_profile("search", deadline=None, max_examples=500, database=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "fixed"))
