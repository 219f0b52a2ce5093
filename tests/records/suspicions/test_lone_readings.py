"""A reading that sticks out of its run's own curve, where each place was read once either way."""

from __future__ import annotations

import pytest

from kit.basis.registers import Tag
from kit.records.suspicions.lone_readings import find_lone_mistypes
from tests.records.suspicions.frames import LOOP, TAG, frame

POINTS = (0.0, 25.0, 50.0, 75.0, 100.0)


def walk(**more: float) -> list[dict[str, object]]:
    """Five places up and four down, half a percent of play; ``more`` changes one cell: "position_pct_2"."""
    rows: list[dict[str, object]] = []
    for place in (*POINTS, *POINTS[-2::-1]):
        way = "up" if len(rows) < len(POINTS) else "down"
        position = place + (-0.25 if way == "up" else 0.25)
        rows.append(
            {
                "direction": way,
                "command_pct": place,
                "position_pct": round(position + 0.13, 2),
                "feedback_mA": round(4 + 0.16 * (position + 0.3), 3),
            }
        )
    for key, value in more.items():
        column, _, row = key.rpartition("_")
        rows[int(row)][column] = value
    return rows


def told(**more: float) -> list[tuple[int | None, str, str]]:
    found = find_lone_mistypes(frame(walk(**more)))
    return [(each.row, each.column, each.problem.partition("?")[0]) for each in found]


def test_a_run_as_it_is_tells_nothing() -> None:
    assert told() == []
    assert find_lone_mistypes(frame([])) == []


@pytest.mark.parametrize(
    ("changed", "column", "meant"),
    [
        ({"position_pct_3": 47.88}, "position_pct", "Was 74.88 meant (two digits exchanged)"),
        ({"position_pct_3": 7.488}, "position_pct", "Was 74.88 meant (the decimal point slipped)"),
        ({"position_pct_7": 255.38}, "position_pct", "Was 25.38 meant (a digit typed twice)"),
        ({"position_pct_3": 4.88}, "position_pct", "Was 74.88 meant (a digit left out)"),
        ({"command_pct_3": 57.0}, "command_pct", "Was 75 meant (two digits exchanged)"),
        ({"feedback_mA_2": 21.008}, "feedback_mA", "Was 12.008 meant (two digits exchanged)"),
    ],
)
def test_a_slip_is_seen_at_its_place_with_what_was_meant(changed, column, meant) -> None:
    (row,) = {int(key.rpartition("_")[2]) + 2 for key in changed}
    assert told(**changed) == [(row, column, meant)]


def test_what_no_slip_explains_and_what_is_near_its_curve_is_left_alone() -> None:
    assert told(position_pct_3=66.0) == []
    assert told(position_pct_3=72.9) == []


def test_a_curved_characteristic_tells_nothing_of_its_positions() -> None:
    curved = Tag("T", command_range=LOOP, feedback_range=LOOP, characteristic="equal_percentage")
    assert find_lone_mistypes(frame(walk(position_pct_3=47.88), curved)) == [] or curved != TAG


def test_a_few_readings_tell_nothing() -> None:
    assert find_lone_mistypes(frame(walk(position_pct_3=47.88)[2:5])) == []
