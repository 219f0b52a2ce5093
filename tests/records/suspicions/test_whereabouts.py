"""Instruments and people in two places, and days too full."""

from __future__ import annotations

import pytest

from kit.records.suspicions.whereabouts import find_two_places
from tests.records.suspicions.frames import seen


def strokes(tag: str, *minutes: int):
    return [
        {"tag": tag, "direction": "open", "time_s": 30.0, "at": f"2026-03-04T{8 + each // 60:02}:{each % 60:02}"}
        for each in minutes
    ]


def told(first: range, second: range, **visit: str) -> list[tuple[str, str]]:
    visits = [{"tag": tag, "date": "2026-03-04", **visit} for tag in ("T", "U")]
    found = find_two_places(seen(visits=visits, strokes=strokes("T", *first) + strokes("U", *second)))
    assert all(each.scope is None and "It happens where" in each.problem for each in found)
    return [(each.tag, each.column) for each in found]


@pytest.mark.parametrize(
    ("second", "asked"), [(range(10, 30), True), (range(20, 40), False), (range(14, 30), False), (range(90, 99), False)]
)
def test_an_instrument_reads_one_valve_at_a_time(second, asked) -> None:
    found = told(range(20), second, position_instrument="IN-1")
    assert found == ([("T", "position_instrument"), ("U", "position_instrument")] if asked else [])


def test_a_person_is_at_one_valve_at_a_time() -> None:
    assert told(range(20), range(5, 25), technician="A. Smith") == [("T", "technician"), ("U", "technician")]
    assert told(range(20), range(5, 25)) == []


def test_a_pause_ends_a_stay() -> None:
    assert told([*range(5), *range(60, 65)], range(20, 50), technician="A. Smith") == []


@pytest.mark.parametrize(("count", "asked"), [(40, False), (41, True)])
def test_a_day_holds_so_many_valves(count, asked) -> None:
    visits = [{"tag": f"V{each}", "date": "2026-03-04", "technician": "A. Smith"} for each in range(count)]
    assert bool(find_two_places(seen(visits=visits))) == asked
