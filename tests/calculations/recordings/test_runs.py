"""Strokes that no step of the command began: without a command column, and with a command turned by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.reduce import Reduction, reduce_recording
from tests.calculations.recordings.made import Array, mirrored, noisy, same


def there_and_back(
    took_s: float, *, interval_s: float = 0.1, offset: float = 0.0, noise_pct: float = 0.02, start_number: int = 1
) -> Recording:
    """Two strokes each way, at constant speed, with 15 s at either end, and no command."""
    one = [(0.0, 15.0), (100.0, took_s), (100.0, 15.0), (0.0, took_s)]
    ends = np.cumsum([0.0, *(seconds for _, seconds in one * 2), 15.0])
    heights = [0.0, *(height for height, _ in one * 2), 0.0]
    time = np.arange(0.0, ends[-1], interval_s) + offset * interval_s
    travel = noisy(np.interp(time, ends, heights), noise_pct, start_number)
    return Recording(time, np.full(time.size, np.nan), travel, position_pct=travel)


def covered(found: Reduction, true_s: float) -> list[bool]:
    return [
        each.time.value is not None and abs(each.time.value - true_s) <= 2.0 * each.time.standard_uncertainty
        for each in found.strokes
    ]


@pytest.mark.parametrize("rate_hz", [1.0, 2.0, 5.0, 10.0, 50.0])
def test_a_recording_without_a_command_gives_its_strokes_from_the_start_of_the_travel(rate_hz: float) -> None:
    """20 s at 5 % a second: 19.9 s to within 0.5 % of the end."""
    found = reduce_recording(there_and_back(20.0, interval_s=1.0 / rate_hz, offset=0.3), same)
    assert [each.opens for each in found.strokes] == [True, False, True, False]
    assert all(covered(found, 19.9))
    assert {each.without_step for each in found.strokes} == {"no command was recorded"}
    assert [each.what for each in found.segments if each.what.startswith("stroke")] == [
        *("stroke_open", "stroke_close", "stroke_open", "stroke_close")
    ]
    assert all(each.response.dead_time.value is None for each in found.strokes)
    assert max(2.0 * each.time.standard_uncertainty for each in found.strokes) < 1.6 / rate_hz + 0.1


@settings(max_examples=20, deadline=None)
@given(
    took_s=floats(8, 40),
    rate_hz=sampled_from([2.0, 5.0, 10.0, 20.0, 50.0]),
    offset=floats(0, 1),
    noise_pct=sampled_from([0.0, 0.02, 0.1]),
    mirrors=booleans(),
    start_number=integers(0, 100),
)
def test_strokes_without_a_command_are_covered(
    took_s: float, rate_hz: float, offset: float, noise_pct: float, mirrors: bool, start_number: int
) -> None:
    made = there_and_back(
        took_s, interval_s=1.0 / rate_hz, offset=offset, noise_pct=noise_pct, start_number=start_number
    )
    made = mirrored(made) if mirrors else made
    found = reduce_recording(made, same)
    assert [each.opens for each in found.strokes] == [not mirrors, mirrors] * 2
    assert np.count_nonzero(covered(found, took_s * 0.995)) >= 3


def test_a_run_begins_where_the_travel_last_stood_and_ends_where_it_stood_next() -> None:
    """From 6 % to 2 % and 8 s later to 100 % in 19.6 s; 8 s after that to 95 %: 19.5 s to within 0.5 %."""
    time = 0.1 * np.arange(1000)
    ends = [0.0, 20.0, 20.8, 28.8, 48.4, 56.4, 57.4, 100.0]
    travel = np.interp(time, ends, [6.0, 6.0, 2.0, 2.0, 100.0, 100.0, 95.0, 95.0])
    (stroke,) = reduce_recording(Recording(time, np.full(time.size, np.nan), noisy(travel, 0.01)), same).strokes
    assert (stroke.response.from_travel_pct, stroke.response.to_travel_pct) == pytest.approx((2.0, 100.0), abs=0.01)
    assert abs(stroke.time.value - 19.5) <= 2.0 * stroke.time.standard_uncertainty
    assert 2.0 * stroke.time.standard_uncertainty < 0.2


def test_a_part_of_the_way_or_a_way_from_no_rest_is_no_stroke_without_a_command() -> None:
    part = there_and_back(20.0)
    assert reduce_recording(replace(part, travel_pct=0.85 * part.travel_pct), same).strokes == ()
    time = np.arange(0.0, 100.0, 0.1)
    swings = 50.0 - 50.0 * np.cos(0.3 * time)
    never = Recording(time, np.full(time.size, np.nan), swings)
    assert reduce_recording(never, same).strokes == ()
    half_way = there_and_back(20.0)
    gap = replace(half_way, gaps=((20.0, 20.5),))
    assert len(reduce_recording(gap, same).strokes) == 3


def test_a_walk_from_end_to_end_is_no_stroke_and_pulses_are() -> None:
    time = np.arange(0.0, 120.0, 0.1)
    command = np.full(time.size, np.nan)
    walk = np.interp(time, [10, 15, 25, 30, 40, 50, 120], [0, 25, 25, 50, 50, 100, 100])
    assert reduce_recording(Recording(time, command, noisy(walk, 0.02)), same).strokes == ()
    on = (time >= 15.0) & (time % 1.5 < 0.6)
    pulses = np.minimum(np.cumsum(np.where(on, 0.5, 0.0)), 100.0)
    (stroke,) = reduce_recording(Recording(time, command, noisy(pulses, 0.02)), same).strokes
    assert stroke.is_pulsed


def test_segments_set_by_a_person_hold_the_strokes_that_count() -> None:
    own = (Segment("stroke_open", 10.0, 40.0),)
    found = reduce_recording(there_and_back(20.0), same, segments=own)
    assert [each.opens for each in found.strokes] == [True]
    assert found.segments == own


def turned(turn_s: float, run_s: float, *, follows: bool = False, interval_s: float = 0.1) -> Recording:
    """The command turned evenly from 0 to 100 % in ``turn_s``; the valve runs at its own speed, or follows."""
    time = np.arange(0.0, 30.0 + turn_s + run_s, interval_s)
    command = np.interp(time, [10.0, 10.0 + turn_s], [0.0, 100.0])
    own = np.interp(time, [10.8, 10.8 + run_s], [0.0, 100.0])
    travel = np.minimum(np.interp(time - 0.8, time, command), own) if follows else own
    return Recording(time, noisy(command, 0.01, 7), noisy(travel, 0.02))


@pytest.mark.parametrize("turn_s", [5.0, 8.0, 12.0])
def test_a_valve_slower_than_the_hand_keeps_the_time_of_its_own_run(turn_s: float) -> None:
    """30 s from end to end: 29.85 s to within 0.5 % of it, at its own speed from the start on."""
    found = reduce_recording(turned(turn_s, 30.0, follows=True), same)
    (stroke,) = found.strokes
    assert stroke.without_step == f"the command was turned over {turn_s:.2g} s"
    assert abs(stroke.time.value - 29.85) <= 2.0 * stroke.time.standard_uncertainty
    assert 2.0 * stroke.time.standard_uncertainty < 1.5


@pytest.mark.parametrize(("turn_s", "run_s"), [(12.0, 5.0), (20.0, 18.0), (28.0, 10.0)])
def test_a_valve_that_follows_the_hand_has_no_stroke_time(turn_s: float, run_s: float) -> None:
    (stroke,) = reduce_recording(turned(turn_s, run_s, follows=True), same).strokes
    assert stroke.time.value is None
    assert stroke.time.why_not == (
        f"the command was turned over {turn_s:.2g} s, and the valve followed it: step the command to measure the stroke"
    )


def test_a_ramp_of_a_minute_or_of_a_part_of_the_range_times_no_stroke() -> None:
    assert reduce_recording(turned(60.0, 20.0, follows=True), same).strokes == ()
    part = turned(12.0, 30.0)
    half = replace(part, command_pct=0.5 * part.command_pct, travel_pct=0.5 * part.travel_pct)
    assert reduce_recording(half, same).strokes == ()


def broken(made: Recording, places: Array, what: str) -> Recording:
    """A stroke with lost samples: rows that are missing, or cells."""
    if what == "rows":
        kept = np.ones(len(made), dtype=bool)
        kept[places] = False
        return replace(
            made, time_s=made.time_s[kept], command_pct=made.command_pct[kept], travel_pct=made.travel_pct[kept]
        )
    name = f"{what}_pct"
    values = getattr(made, name).copy()
    values[places] = np.nan
    return replace(made, **{name: values})


@pytest.mark.parametrize("what", ["rows", "travel", "command"])
def test_a_single_lost_sample_breaks_no_stroke(what: str) -> None:
    """20 s from a step at 10 s: 0.4 + 19.9 s, with a sample lost on the way, one near the end, one at the step."""
    time = np.arange(0.0, 60.0, 0.1)
    made = Recording(time, np.where(time > 9.95, 100.0, 0.0), noisy(np.clip(5.0 * (time - 10.4), 0.0, 100.0), 0.02))
    for places in ([150], [302], [100], [150, 220, 302]):
        found = reduce_recording(broken(made, np.array(places), what), same)
        (stroke,) = found.strokes
        assert abs(stroke.time.value - 20.35) <= 2.0 * stroke.time.standard_uncertainty
        assert not stroke.without_step
