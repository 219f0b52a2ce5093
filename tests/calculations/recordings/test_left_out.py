"""What of a recording no figure is made of."""

from __future__ import annotations

import numpy as np

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.left_out import UNSETTLED
from kit.calculations.recordings.reduce import reduce_recording
from tests.calculations.recordings.made import noisy, programme, same


def told(recording: Recording, segments: list[Segment] | None = None) -> list[tuple[str, int, int, str]]:
    found = reduce_recording(recording, same, segments=segments).left_out
    return [(each.what, round(each.from_s), round(each.to_s), each.why.partition(":")[0]) for each in found]


def followed(parts: list[tuple[float, float]], speed_pct_s: float = 10.0) -> Recording:
    time, command = programme(parts)
    travel = np.empty_like(command)
    stands = command[0]
    for place, asked in enumerate(command.tolist()):
        stands += float(np.clip(asked - stands, -0.1 * speed_pct_s, 0.1 * speed_pct_s))
        travel[place] = stands
    return Recording(time, noisy(command, 0.005), noisy(travel, 0.005, 3))


def test_a_plain_walk_leaves_nothing_out() -> None:
    assert told(followed([(0.0, 20.0), (50.0, 20.0), (100.0, 20.0), (50.0, 20.0)])) == []


def test_jogs_and_excursions_are_told_with_their_seconds() -> None:
    jogs = [(50.0 + 2.0 * number, 1.0) for number in range(1, 11)]
    recording = followed([(0.0, 20.0), (50.0, 20.0), *jogs, (80.0, 20.0), (30.0, 1.0), (80.0, 20.0)])
    assert told(recording) == [
        ("stretch", 40, 50, "the command went in small steps too quick for a level each"),
        ("stretch", 70, 71, "the command was elsewhere and came back before it rested"),
    ]


def test_a_level_that_the_valve_does_not_reach_is_told() -> None:
    found = told(followed([(0.0, 20.0), (50.0, 3.0), (100.0, 60.0)], speed_pct_s=2.0))
    assert found == [("hold", 20, 23, UNSETTLED.partition(":")[0])]


def test_a_command_that_wanders_is_told() -> None:
    time = np.arange(0.0, 60.0, 0.1)
    command = np.interp(time, [0, 20, 25, 60], [50, 50, 50.8, 50.8])
    assert told(Recording(time, command, command.copy()))[1] == (
        "stretch",
        20,
        25,
        "the command neither rests, nor steps, nor ramps",
    )


def test_every_moving_second_that_the_segments_of_a_person_leave_out_is_told() -> None:
    """Strokes at 20, 60 and 100 s of 10 s each; the first and half of the second are in the table."""
    recording = followed([(0.0, 20.0), (100.0, 40.0), (0.0, 40.0), (100.0, 40.0)])
    segments = [Segment("stroke_open", 15.0, 59.0), Segment("stroke_close", 55.0, 65.0)]
    assert [each[:3] for each in told(recording, segments)] == [("stretch", 65, 70), ("stretch", 100, 110)]
