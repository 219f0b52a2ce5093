"""Prechecks."""

from __future__ import annotations

import pytest

from kit.calculations.prechecks import open_items


@pytest.mark.parametrize(
    ("results", "count"),
    [([], 0), (["yes"], 0), (["na"], 0), (["no"], 1), ([""], 1), (["yes", "no", "", "na", "no"], 3)],
)
def test_items_answered_no_or_not_answered_are_open(results, count):
    assert open_items(results) == count
