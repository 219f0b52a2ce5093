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


@pytest.mark.parametrize(
    ("text", "possible"), [("0-24 mA", True), ("0-24.1 mA", False), ("0-15 V", True), ("0-15.1 V", False)]
)
def test_a_range_lies_within_what_there_is(text: str, possible: bool) -> None:
    if possible:
        assert parse_range(text).low == 0.0
    else:
        with pytest.raises(ValueError, match="lies outside 0 to"):
            parse_range(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("20-4 mA", "does not rise"),
        ("4-4 mA", "does not rise"),
        ("4 V-20 mA", "gives two units"),
        ("x", "is not a signal"),
    ],
)
def test_a_fault_of_a_range_is_told(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        parse_range(text)
