"""What the tests of forked kernels share."""

from __future__ import annotations

import pytest

from kit.runs.forked.owner import available
from tests.small_unit import notebook, small_unit

__all__ = ["notebook", "small_unit"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Kernels are forked on Linux only."""
    for item in items:
        if not available() and "forked" in item.path.parts:
            item.add_marker(pytest.mark.skip(reason="kernels are not forked here"))
