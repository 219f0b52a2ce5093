"""Rows against the order of their times, and cycles left out."""

from __future__ import annotations

import pytest

from kit.records.suspicions.orders import find_wrong_order
from tests.records.suspicions.frames import run, seen


def told(given) -> list[tuple[int | None, str]]:
    return [(each.row, each.column) for each in find_wrong_order(seen(readings=given))]


def walk(commands, way, times=(), cycle="1"):
    given = run(commands, commands, cycle=cycle)
    for row, at in zip(given, times or [""] * len(given), strict=True):
        row |= {"direction": way, "at": f"2026-03-04T{at}" if at else ""}
    return given


@pytest.mark.parametrize(
    ("commands", "way", "asked"),
    [
        ((0.0, 50.0, 100.0), "up", False),
        ((0.0, 50.0, 100.0), "down", True),
        ((100.0, 50.0, 0.0), "up", True),
        ((0.0, 100.0, 50.0), "down", False),
        ((0.0, 100.0), "down", False),
    ],
)
def test_by_their_times_rows_go_the_way_that_they_say(commands, way, asked) -> None:
    times = ("08:00", "08:01", "08:02")[: len(commands)]
    assert told(walk(commands, way, times)) == ([(2, "direction")] if asked else [])


def test_the_times_count_and_not_the_order_in_the_file() -> None:
    assert told(walk((100.0, 50.0, 0.0), "up", ("08:02", "08:01", "08:00"))) == []


def test_without_times_both_ways_must_stand_against_their_names() -> None:
    up, down = walk((100.0, 50.0, 0.0), "up"), walk((0.0, 50.0, 100.0), "down")
    assert told(up + down) == [(2, "direction")]
    assert told(up + walk((100.0, 50.0, 0.0), "down")) == []  # a file sorted by command
    assert told(walk((0.0, 50.0, 100.0), "up") + down) == []


@pytest.mark.parametrize(
    ("cycles", "asked"), [(("1", "2", "3"), False), (("1", "3"), True), (("2",), False), (("a", "c"), False)]
)
def test_a_cycle_between_two_others_is_missed(cycles, asked) -> None:
    given = [row for cycle in cycles for row in run([0.0, 100.0], [0.0, 100.0], cycle=cycle)]
    assert [column for _, column in told(given)] == (["cycle"] if asked else [])
