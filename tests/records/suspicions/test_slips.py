"""What one slip of the keyboard makes of a number."""

from __future__ import annotations

import pytest

from kit.records.suspicions.slips import digit_slips, meant_by


@pytest.mark.parametrize(
    ("typed", "low", "high", "meant", "slip"),
    [
        (24.3, 42.0, 43.0, 42.3, "two digits exchanged"),
        (124.0, 12.3, 12.5, 12.4, "the decimal point slipped"),
        (122.04, 12.0, 12.1, 12.04, "a digit typed twice"),
        (5.3, 55.1, 55.9, 55.3, "a digit left out"),
        (-5.3, -55.9, -55.1, -55.3, "a digit left out"),
    ],
)
def test_a_slip_is_undone(typed, low, high, meant, slip) -> None:
    assert meant_by(typed, low, high) == (pytest.approx(meant), slip)


def test_what_two_slips_explain_alike_or_none_does_is_left_alone() -> None:
    assert meant_by(121.0, 100.0, 220.0) is None  # 112, 211
    assert meant_by(50.0, 61.0, 62.0) is None


def test_the_classic_slips_come_first() -> None:
    assert meant_by(12.48, 12.6, 13.0) == (12.84, "two digits exchanged")


def test_a_number_without_a_pair_has_no_digit_twice() -> None:
    assert not [each for each, slip in digit_slips(12.34) if slip == "a digit typed twice"]
