"""A report's document number, by the unit's pattern."""

from __future__ import annotations

import pytest

from kit.views.report.front import document_number
from tests.views import made


@pytest.mark.parametrize(
    ("pattern", "tag", "expected"),
    [
        ("{unit}-{tag}", "FV-1", "north-FV-1"),
        ("D-{tag}/{tag}", "FV-1", "D-FV-1/FV-1"),
        ("D-100", "FV-1", "D-100"),
        ("{tag}-{unit}", "{unit}", "{unit}-north"),
    ],
)
def test_the_pattern_takes_the_tag_and_the_unit_once_each(pattern: str, tag: str, expected: str) -> None:
    assert document_number(made.settings(unit="north", document=pattern), tag) == expected
