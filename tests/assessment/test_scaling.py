"""Readings brought to % by the tag's own ranges."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from tests.assessment.builders import check, records


def test_split_range_half_asks_for_its_own_range():
    """4-12 mA: 8 mA is 50 %, and 20 mA asks for fully open."""
    tag = Tag("T", command_range=SignalRange(4, 12, "mA", "4-12 mA"), limits="modulating")
    rows = [
        {"direction": "up", "command_mA": ma, "position_pct": at} for ma, at in ((4, 0), (8, 50), (12, 100), (20, 100))
    ]
    assert check(assess_tag(records({"readings": rows}, tag=tag)), "inaccuracy").value == pytest.approx(0)
