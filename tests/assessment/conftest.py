"""What the tests of the assessment share."""

from __future__ import annotations

import pytest

from tests.assessment.with_recordings import recorded


@pytest.fixture(scope="session")
def healthy() -> bytes:
    """The recording of a valve without a fault."""
    return recorded()
