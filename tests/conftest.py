"""What holds for every test."""

from __future__ import annotations

from hypothesis import settings

# No clock decides a test, and the same examples are tried on every machine.
settings.register_profile("strokebook", deadline=None, derandomize=True)
settings.load_profile("strokebook")
