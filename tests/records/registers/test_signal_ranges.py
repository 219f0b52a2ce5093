"""Signal ranges as people write them."""

from __future__ import annotations

import pytest

from kit.records.registers.signal_ranges import parse_range


@pytest.mark.parametrize(
    ("text", "low", "high", "unit"),
    [
        ("4-20 mA", 4, 20, "mA"),
        ("4 - 20mA", 4, 20, "mA"),
        ("4…20 mA", 4, 20, "mA"),
        ("4..20 mA", 4, 20, "mA"),
        ("0–10 V", 0, 10, "V"),
        ("4 to 20 ma", 4, 20, "mA"),
        ("12-20 mA", 12, 20, "mA"),
        ("4 mA - 20 mA", 4, 20, "mA"),
        ("0,5-4,5 V", 0.5, 4.5, "V"),
    ],
)
def test_a_signal_range_is_read_as_people_write_it(text: str, low: float, high: float, unit: str) -> None:
    found = parse_range(text)
    assert (found.low, found.high, found.unit, found.text) == (low, high, unit, text)


@pytest.mark.parametrize(
    "text", ["", "20-4 mA", "4-4 mA", "4-20", "4 V - 20 mA", "mA", "4-200 mA", "-4-20 mA", "0-24 V"]
)
def test_what_is_no_signal_range_is_an_error(text: str) -> None:
    with pytest.raises(ValueError, match=r"Write it like|lower signal first"):
        parse_range(text)
