"""How a logger writes the time: what a pattern may be, and which zones there are."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from kit.records.recordings.time_patterns import Pattern, fault_of_format, is_number_of_time, pattern_of, zone_of


@pytest.mark.parametrize(
    ("written", "fields"),
    [
        ("DD.MM.YYYY HH:MM:SS,fff", {"day", "month", "year", "hour", "minute", "second", "fraction"}),
        ("HH:MM", {"hour", "minute"}),
        ("MM:SS.f", {"minute", "second", "fraction"}),
        ("MM/DD/YY HH:MM AM", {"day", "month", "year", "hour", "minute", "half"}),
        ("YYYY-MM-DDTHH:MM:SSZ", {"day", "month", "year", "hour", "minute", "second"}),
        ("DD-MON-YYYY HH:MM:SS", {"day", "month_name", "year", "hour", "minute", "second"}),
    ],
)
def test_a_pattern_has_the_fields_that_stand_in_it(written: str, fields: set[str]) -> None:
    found = pattern_of(written)
    assert isinstance(found, Pattern)
    assert found.fields == fields
    assert found.has_date == ("day" in fields)


@pytest.mark.parametrize(
    ("written", "fault"),
    [
        ("dd.mm.yyyy", "'d' is no part of it"),
        ("DD.MM.YYYY", "it has no HH:MM"),
        ("DD HH:MM", "day, month and year"),
        ("HH:MM:SS HH", "the hour stands in it twice"),
        ("%Y-%m-%d", "'Y' is no part of it"),
    ],
)
def test_what_is_wrong_with_a_format_is_said(written: str, fault: str) -> None:
    assert fault in fault_of_format(written)


@pytest.mark.parametrize("written", ["s", "ms", "us", "min", "h", "d", "serial days", "ISO 8601", "HH:MM:SS"])
def test_units_and_patterns_are_formats(written: str) -> None:
    assert fault_of_format(written) == ""
    assert is_number_of_time(written) == (written not in ("ISO 8601", "HH:MM:SS"))


def test_a_fraction_after_a_blank_or_a_colon_is_counted_and_else_decimals() -> None:
    counted = {written: pattern_of(written) for written in ("HH:MM:SS fff", "HH:MM:SS:ff", "HH:MM:SS.fff")}
    assert [each.counted_digits for each in counted.values() if isinstance(each, Pattern)] == [3, 2, 0]


@pytest.mark.parametrize(
    ("name", "hours"), [("UTC", 0.0), ("z", 0.0), ("+05:30", 5.5), ("-0330", -3.5), ("Europe/Berlin", 1.0)]
)
def test_a_zone_is_utc_an_offset_or_a_name(name: str, hours: float) -> None:
    zone = zone_of(name)
    assert zone is not None
    assert datetime(2026, 1, 15, tzinfo=UTC).astimezone(zone).utcoffset() == timedelta(hours=hours)


@pytest.mark.parametrize("name", ["+29:00", "CETT", "../etc/passwd", "Europe"])
def test_what_is_no_zone_is_none(name: str) -> None:
    assert zone_of(name) is None
