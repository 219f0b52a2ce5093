"""Suspicions: plain slips are seen, and neither a healthy valve nor a plain fault raises one. Data invented."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from kit.basis.records import UnitRecords

POINTS = [0, 10, 25, 40, 50, 60, 75, 90, 100]
RUNS = [("1", "up", POINTS), ("1", "down", POINTS[::-1]), ("2", "up", POINTS), ("2", "down", POINTS[::-1])]
TAGS = (
    "tag,travel,travel_unit,command_range,feedback_range,fail_action,action,characteristic\n"
    "FV-101,90,deg,4-20 mA,4-20 mA,closed,direct,linear\n"
    "FV-102,90,deg,4-20 mA,4-20 mA,closed,reverse,linear\n"
    "FV-103,90,deg,4-20 mA,4-20 mA,closed,direct,equal_percentage\n"
)
HEAD = "tag,visit,stage,cycle,direction,{command},{position},feedback_mA\n"

Row = list[str]
Curve = Callable[[np.ndarray, np.ndarray], np.ndarray]


def rows(
    curve: Curve, *, tag: str = "FV-101", start_number: int = 1, stage: str = "as_left", noise: float = 0.1
) -> list[Row]:
    """Readings of a made valve: position in % is ``curve`` of command in % and direction (1 up, -1 down)."""
    random = np.random.default_rng(start_number)
    found = []
    for cycle, direction, points in RUNS:
        command = np.array(points) + random.normal(0, 0.02, len(points))
        position = curve(command, np.full(len(points), 1.0 if direction == "up" else -1.0))
        position = np.clip(position + random.normal(0, noise, len(points)), 0, 100)
        feedback = 4 + 0.16 * position + random.normal(0, 0.005, len(points))
        for values in zip(command, position, feedback, strict=True):
            shown = (f"{4 + 0.16 * values[0]:.3f}", f"{values[1]:.1f}", f"{values[2]:.3f}")
            found.append([tag, "1", stage, cycle, direction, *shown])
    return found


def straight(command: np.ndarray, way: np.ndarray) -> np.ndarray:
    return command - 0.2 * way


FAULTS: dict[str, tuple[str, Curve]] = {
    "healthy": ("FV-101", straight),
    "zero shift": ("FV-101", lambda c, way: c + 3),
    "span error of 5 %": ("FV-101", lambda c, way: 0.95 * c),
    "span error of 8 %": ("FV-101", lambda c, way: 0.92 * c),
    "bow": ("FV-101", lambda c, way: c + 4 * np.sin(np.pi * c / 100)),
    "S": ("FV-101", lambda c, way: c + 3 * np.sin(2 * np.pi * c / 100)),
    "backlash": ("FV-101", lambda c, way: c - 2.5 * way),
    "plateau": ("FV-101", lambda c, way: np.minimum(c, 92)),
    "reversed by mistake": ("FV-101", lambda c, way: 100 - c),
    "wide live zero": ("FV-101", lambda c, way: 20 + 0.8 * c),
    "narrow live zero": ("FV-101", lambda c, way: 1.25 * c - 25),
    "half travel": ("FV-101", lambda c, way: 0.5 * c),
    "reverse acting": ("FV-102", lambda c, way: 100 - c - 0.4 * way),
    "equal percentage": ("FV-103", lambda c, way: 100 * 50 ** (c / 100 - 1) - 0.2 * way),
    "equal percentage left on": ("FV-101", lambda c, way: 100 * 50 ** (c / 100 - 1)),
}


def suspicions(
    read_files, readings: list[Row], *, command: str = "command_mA", position: str = "position_pct", **further: str
) -> list[tuple[str, str]]:
    """Column and text of every suspicion."""
    content = HEAD.format(command=command, position=position) + "".join(",".join(row) + "\n" for row in readings)
    files = {"tags.csv": TAGS, "records/readings.csv": content}
    files.update({f"records/{name}.csv": table for name, table in further.items()})
    unit: UnitRecords = read_files(files)
    assert all(count.set_aside == 0 for count in unit.counts)
    return [(p.column, p.problem) for p in unit.problems if p.problem.endswith("Nothing was changed.")]


@pytest.mark.parametrize("name", FAULTS)
@pytest.mark.parametrize("start_number", [1, 2, 3])
@pytest.mark.parametrize("noise", [0.05, 0.3])
def test_neither_a_healthy_valve_nor_a_plain_fault_is_suspected(
    read_files, name: str, start_number: int, noise: float
) -> None:
    tag, curve = FAULTS[name]
    assert suspicions(read_files, rows(curve, tag=tag, start_number=start_number, noise=noise)) == []


@pytest.mark.parametrize(
    "name", ["healthy", "span error of 5 %", "bow", "backlash", "reverse acting", "equal percentage"]
)
@pytest.mark.parametrize(
    ("slip", "words"),
    [
        (lambda t: t[1] + t[0] + t[2:], "two digits exchanged"),
        (lambda t: f"{float(t) / 10:g}", "decimal point slipped"),
    ],
)
def test_a_slip_of_the_keyboard_is_seen_with_what_was_meant(read_files, name: str, slip, words: str) -> None:
    tag, curve = FAULTS[name]
    readings = rows(curve, tag=tag)
    row = next(row for row in readings if float(row[6]) > 25 and row[6][0] != row[6][1])
    meant, row[6] = row[6], slip(row[6])
    ((column, problem),) = suspicions(read_files, readings)
    assert column == "position_pct"
    assert f"Was {float(meant):g} meant" in problem
    assert words in problem


def test_exchanged_digits_of_a_command_are_seen(read_files) -> None:
    readings = rows(straight)
    typed = readings[3][5]
    readings[3][5] = f"{typed[0]}{typed[3]}.{typed[1]}{typed[4:]}"  # 10.396 becomes 13.096
    assert [column for column, _ in suspicions(read_files, readings)] == ["command_mA"]


@pytest.mark.parametrize(("low", "span", "words"), [(4, 16, "4-20 mA"), (0, 10, "0-10 V"), (2, 8, "2-10 V")])
def test_a_signal_typed_as_percent_is_seen(read_files, low: float, span: float, words: str) -> None:
    readings = rows(straight)
    for row in readings:
        row[6] = f"{low + span * float(row[6]) / 100:.2f}"
    told = suspicions(read_files, readings)
    assert any(column == "position_pct" and words in problem for column, problem in told)


def test_degrees_typed_as_percent_are_seen_and_a_span_error_is_not_taken_for_them(read_files) -> None:
    """Feedback tells the two apart: it confirms the position of a valve that really stops at 90 %."""
    readings = rows(straight, noise=0.02)
    for row in readings:
        row[6] = f"{0.9 * float(row[6]):.1f}"
    assert any("degrees" in problem for _, problem in suspicions(read_files, readings))
    assert suspicions(read_files, rows(lambda c, way: 0.9 * c, noise=0.02)) == []


def test_volts_typed_as_milliamperes_are_seen(read_files) -> None:
    readings = rows(straight)
    for row in readings:
        row[5] = f"{(float(row[5]) - 4) * 10 / 16:.2f}"
        row[5] = row[5].replace("-", "")
    assert any("0-10 V" in problem for _, problem in suspicions(read_files, readings))


def test_up_and_down_exchanged_are_seen(read_files) -> None:
    told = suspicions(read_files, rows(lambda c, way: c + 1.0 * way))
    assert [column for column, _ in told] == ["direction"]


def test_command_and_position_exchanged_are_seen(read_files) -> None:
    random = np.random.default_rng(1)
    readings = rows(straight)
    for row in readings:
        row[6] = f"{round(float(row[6]) / 5) * 5}"
        row[5] = f"{float(row[6]) + random.uniform(0.8, 1.6):.1f}"
    told = suspicions(read_files, readings, command="command_pct")
    assert any("two columns exchanged" in problem for _, problem in told)


def test_a_record_copied_from_another_tag_is_seen(read_files) -> None:
    first = rows(straight)
    copy = [["FV-102", "2", *row[2:]] for row in first]
    problem, back = [one[1] for one in suspicions(read_files, first + copy) if "copied" in one[1]]
    assert "FV-102, visit 2" in problem
    assert "FV-101, visit 1, as_left" in back


def test_two_valves_of_the_same_round_readings_are_not_taken_for_copies(read_files) -> None:
    flat = [
        [*row[:5], f"{4 + 0.16 * point:.2f}", str(point), ""]
        for row, point in zip(rows(straight), POINTS, strict=False)
    ]
    assert suspicions(read_files, flat + [["FV-103", *row[1:]] for row in flat]) == []


def test_as_left_readings_equal_to_as_found_after_an_adjustment_are_seen(read_files) -> None:
    found = rows(straight, stage="as_found")
    left = [[*row[:2], "as_left", *row[3:]] for row in found]
    adjustments = "tag,visit,at,what\nFV-101,1,2026-03-04,end_points\n"
    ((_, problem),) = suspicions(read_files, found + left, adjustments=adjustments)
    assert "after an adjustment (end_points)" in problem


def test_a_setting_that_an_adjustment_left_as_it_was_is_seen(read_files) -> None:
    adjustments = "tag,visit,at,what\nFV-101,1,2026-03-04,dead_band\n"
    values = "".join(
        f"FV-101,1,{stage},{setting},1\n" for stage in ("as_found", "as_left") for setting in ("Dead band", "Speed")
    )
    told = suspicions(read_files, [], adjustments=adjustments, settings="tag,visit,stage,setting,value\n" + values)
    assert [column for column, _ in told] == ["value"]
    assert told[0][1].startswith("Dead band as left equals")
