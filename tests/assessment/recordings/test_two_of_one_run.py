"""Two files of one run: one recording is made of them, and told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.assessment.recordings.one_after_another import read_once
from kit.assessment.recordings.two_of_one_run import one_of_two
from kit.basis.recording import Recording, Segment
from kit.basis.records import RecordingFile
from tests.calculations.recordings.made import noisy, walked


def recorded(number: int, interval_s: float = 0.1, *, by_s: float = 0.0, **further: object) -> RecordingFile:
    """The walk by a recorder of its own noise and clock."""
    walk = walked(interval_s, 0.0)
    travel = noisy(walk.travel_pct, 0.02, number)
    own = Recording(walk.time_s + by_s, noisy(walk.command_pct, 0.02, number + 10), travel, position_pct=travel)
    name = f"{number}"
    return RecordingFile(f"logs/T/{name}.csv", "T", "1", "as_left", name, name, recording=replace(own, **further))


def with_columns(source: RecordingFile, by_s: float = 0.0, **columns: object) -> RecordingFile:
    """A copy of its samples with other columns and another clock."""
    one = source.recording
    return replace(source, file="logs/T/copy.csv", recording=replace(one, time_s=one.time_s + by_s, **columns))


def test_a_copy_with_a_column_more_is_the_one_that_is_read() -> None:
    source = recorded(1)
    supply = np.full(len(source.recording), 24.0)
    (gone, note), (kept, _) = read_once([source, with_columns(source, 1234.5, supply_v=supply)])
    assert (gone.recording, gone.why_not) == (None, "another recording holds the same.")
    assert "logs/T/copy.csv" in note
    assert "the same run" in note
    assert (kept.recording.supply_v == 24.0).all()


def test_channels_of_both_are_brought_together_sample_by_sample() -> None:
    """The first has the feedback, the second supply and a switch and no position: what the first lacks comes to it."""
    source = recorded(1)
    one = source.recording
    source = replace(source, recording=replace(one, feedback_pct=one.travel_pct + 0.2))
    supply = 24.0 + 0.01 * np.arange(len(one))
    switch = (one.travel_pct < 1.0).astype(float)
    second = with_columns(
        source, -500.0, supply_v=supply, closed_switch=switch, position_pct=None, travel_is_feedback=True
    )
    (kept, told), (gone, _) = read_once([source, second])
    assert gone.recording is None
    assert told == "its closed_switch, supply_v come from logs/T/copy.csv, which is of the same run."
    np.testing.assert_array_equal(kept.recording.supply_v, supply)
    np.testing.assert_array_equal(kept.recording.closed_switch, switch)
    assert kept.recording.time_resolution_s == 0.0


def test_another_recorder_by_another_clock_counts_once_and_its_time_is_known_to_its_interval() -> None:
    supply = np.full(len(walked(0.25, 0.0)), 24.0)
    (kept, told), (gone, note) = read_once([recorded(1), recorded(2, 0.25, by_s=40.0, supply_v=supply)])
    assert gone.recording is None
    assert "from change to change" in note
    assert "supply_v come from logs/T/2.csv" in told
    assert kept.recording.time_resolution_s == 0.25
    assert np.nanmin(kept.recording.supply_v) == 24.0


def test_a_command_is_taken_from_a_copy_and_never_from_another_recorder() -> None:
    source = recorded(1)
    one = source.recording
    bare = replace(source, recording=replace(one, command_pct=np.full(len(one), np.nan)))
    other = with_columns(source, 3.0, position_pct=None, feedback_pct=one.travel_pct, travel_is_feedback=True)
    bare = replace(bare, recording=replace(bare.recording, feedback_pct=one.travel_pct))
    (kept, told), (gone, _) = one_of_two(bare, other)
    assert gone.recording is None
    np.testing.assert_array_equal(kept.recording.command_pct, one.command_pct)
    assert told.startswith("its command come from logs/T/copy.csv")
    second = recorded(2, 0.25)
    no_position = {"position_pct": None, "feedback_pct": second.recording.travel_pct, "travel_is_feedback": True}
    assert one_of_two(bare, replace(second, recording=replace(second.recording, **no_position))) is None


def test_one_recorder_may_have_recorded_a_programme_twice_and_both_are_used() -> None:
    (one, _), (two, note) = read_once([recorded(1), recorded(2, by_s=1000.0)])
    assert one.recording is not None
    assert two.recording is not None
    assert "remove one of the two" in note
    dated = [replace(each, start=f"2026-03-10T0{hour}:00:00Z") for hour, each in enumerate((one, two))]
    assert [note for _, note in read_once(dated)] == ["", ""]


def test_segments_that_a_person_set_are_kept() -> None:
    source = recorded(1)
    by_hand = replace(with_columns(source, 9.0), segments=(Segment("hold", 10.0, 30.0),))
    (gone, _), (kept, _) = read_once([source, by_hand])
    assert gone.recording is None
    assert kept.segments == by_hand.segments


@pytest.mark.parametrize(("longer_s", "is_read"), [(20, True), (5, False)])
def test_what_a_longer_copy_holds_beyond_is_read_or_told(longer_s: int, is_read: bool) -> None:
    source = recorded(1)
    one = source.recording
    length = len(one) - 10 * longer_s
    place = slice(0, length)
    cut = {name: getattr(one, name)[place] for name in ("time_s", "command_pct", "travel_pct", "position_pct")}
    short = replace(source, file="logs/T/short.csv", recording=Recording(**cut, supply_v=np.full(length, 24.0)))
    _, (rest, note) = read_once([short, source])
    assert note.endswith(f"Its last {longer_s} s are {'a recording of their own' if is_read else 'not read'}.")
    assert (rest.recording is not None) is is_read
    if rest.recording is not None:
        assert rest.recording.time_s.tolist() == one.time_s[length:].tolist()
