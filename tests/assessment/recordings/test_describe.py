"""What was found in a recording, in sentences."""

from __future__ import annotations

import dataclasses

import numpy as np

from kit.assessment.recordings.describe import COUNTED, describe_recording, describe_recordings
from kit.assessment.results import RecordingResult
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment
from kit.basis.records import RecordingFile
from kit.basis.tables.measurements import SEGMENT_KINDS
from kit.calculations.recordings.bad_spots import BadSpot
from kit.calculations.recordings.trials import Trial
from tests.assessment.builders import records
from tests.assessment.made import NOTHING, hold, loss, reduction, rest, service, step, still_recording, stroke, track
from tests.assessment.with_recordings import with_recordings


def test_what_was_found_is_told_in_sentences(healthy: bytes) -> None:
    lines = describe_recordings(with_recordings(healthy))
    assert lines[0].startswith("logs/T/1.as_left.0.csv: ")
    assert "2 opening strokes, 2 closing strokes" in lines[1]
    assert "1 loss of signal, 1 restoration" in lines[1]
    assert all(line.endswith(".") for line in lines)


def told(recording=None, **parts):
    result = RecordingResult("a.csv", "", parts.pop("start", ""), reduction(recording, **parts))
    return describe_recording(result)


def test_a_recording_of_which_nothing_can_be_used():
    assert describe_recording(RecordingResult("a.csv", "", "", None, why_not="Empty.")) == [
        "a.csv: nothing can be used. Empty."
    ]


def test_length_rate_and_start():
    assert told()[0] == "a.csv: 10.0 min at 1 Hz, 601 samples."
    assert told(start="2026-03-10T08:00Z")[0] == "a.csv: 10.0 min at 1 Hz, 601 samples, from 2026-03-10T08:00Z."
    bare = still_recording(120.0, travel_is_feedback=True, position_pct=None)
    assert told(bare)[0] == (
        "a.csv: 2.0 min at 1 Hz, 121 samples. The feedback stands for the travel: there is no position column."
    )
    lone = Recording(np.zeros(1), np.zeros(1), np.zeros(1))
    assert told(lone)[0] == "a.csv: 0.0 min at 0 Hz, 1 samples."


def test_what_is_in_it_is_counted_in_words():
    segments = tuple(Segment(what, 0.0, 1.0) for what in ("hold", "step", "hold", "gap"))
    assert told(segments=segments)[1] == "Found: 2 holds, 1 step, 1 gap."
    assert told(segments=segments[1:2], readings=(hold(0.0, 0.0), hold(1.0, 1.0)))[1] == (
        "Found: 1 step. 2 of the holds and rests are static readings."
    )
    assert told()[1] == "Found: no test."
    by_hand = RecordingResult("a.csv", "", "", reduction(segments=segments), segments_set=True)
    assert describe_recording(by_hand)[1] == "Set by a person: 2 holds, 1 step, 1 gap."
    assert set(COUNTED) == set(SEGMENT_KINDS)


def test_strokes_are_averaged_each_way():
    strokes = (
        stroke(Quantity(20.0)),
        stroke(Quantity(21.0)),
        stroke(NOTHING),
        stroke(Quantity(50.0), opens=False, duty=Quantity(38.0), pauses=4),
        stroke(Quantity(51.0), opens=False, duty=Quantity(42.0), pauses=4),
        stroke(Quantity(52.0), opens=False, duty=Quantity(90.0), pauses=1),
    )
    assert told(strokes=strokes)[2:] == ["Opening takes 20.50 s.", "Closing takes 51.00 s, pulsed at 40 %."]
    assert told(strokes=(stroke(Quantity(None, "it did not come to rest")),))[2:] == [
        "Opening: it did not come to rest."
    ]


def test_strokes_that_no_step_began_say_where_their_time_starts():
    by_hand = dataclasses.replace(stroke(Quantity(20.0)), without_step="the command was turned over 9 s")
    followed = dataclasses.replace(stroke(Quantity(None, "turned")), without_step="the command was turned over 12 s")
    assert told(strokes=(stroke(Quantity(21.0)), by_hand, followed))[2:] == [
        "Opening takes 21.00 s.",
        "Opening takes 20.00 s from where the travel left its end (the command was turned over 9 s).",
    ]
    assert told(strokes=(followed,))[2:] == ["Opening: turned."]


def test_dead_times_go_from_the_least_to_the_greatest():
    steps = tuple(step(dead_time=each) for each in (Quantity(0.4), Quantity(0.9), Quantity(0.2), NOTHING))
    assert told(steps=steps)[2:] == ["Dead time 0.20 to 0.90 s over 4 step responses."]
    assert told(steps=(step(),))[2:] == []


def test_smallest_commands():
    band, resolution = Trial("dead_band", "ramp", 0.4, 0.6, 1.0, 50.0), Trial("resolution", "ramp", 0.1, 0.2, 1.0, 50.0)
    assert told(trials=(band, resolution))[2:] == ["Dead band 0.50 % of command, resolution 0.15 % of command."]
    assert told(trials=(resolution,))[2:] == ["Resolution 0.15 % of command."]


def test_what_the_valve_does_at_rest():
    rests = (
        rest("hunting", Quantity(0.9), Quantity(6.0)),
        rest("hunting", Quantity(0.9)),
        rest("stick_slip", NOTHING),
        rest("drift", NOTHING),
        rest("noise", NOTHING),
        rest("at_rest", Quantity(0.0)),
    )
    assert told(rests=rests)[2:] == [
        "It hunts from 100 s on: 0.90 % peak to peak every 6.00 s.",
        "It hunts from 100 s on: 0.90 % peak to peak every ? s.",
        "It swings irregularly at rest from 100 s on.",
        "It drifts at rest from 100 s on.",
    ]


def test_losses_of_signal():
    losses = (
        loss(Quantity(0.4), before=Quantity(50.0), time=Quantity(12.34)),
        loss(Quantity(0.4), lost_s=300.0),
        loss(Quantity(None, "it did not come to rest"), lost_s=500.0),
    )
    assert told(losses=losses)[2:] == [
        "Signal lost at 100 s: the valve rests at 0.4 % from 50.0 % after 12.3 s.",
        "Signal lost at 300 s: the valve rests at 0.4 %.",
        "Signal lost at 500 s: it did not come to rest.",
    ]


def test_devices():
    spots = (BadSpot(43.0, 1.0, 2.0, True, True), BadSpot(60.0, 1.0, 2.0, True, False))
    assert told(track=track(Quantity(1.0), *spots), supply_dip_pct=Quantity(4.56))[2:] == [
        "The feedback drops out at 43.0 % of travel, both ways.",
        "The supply falls by 4.6 % while the motor runs.",
    ]


def test_recordings_are_told_oldest_visit_first_and_as_found_before_as_left():
    names = [("10", "as_left"), ("9", "as_left"), ("9", "as_found")]
    files = tuple(RecordingFile(f"{v}.{s}", "T", v, s, "", "", why_not="Empty.") for v, s in names)
    made = dataclasses.replace(records({}), recordings=files)
    assert [line.split(":")[0] for line in describe_recordings(made)] == ["9.as_found", "9.as_left", "10.as_left"]


def test_a_valve_in_service_is_told_with_its_lag_and_error_and_no_test():
    assert told(service=service())[1:] == [
        "Found: no test.",
        "In service: the command moves from 39 to 79 % and turns 500 times an hour, the travel 400 times.",
        "The travel lags by 3.2 s; after that its error is 0.40 % on the mean, 0.80 % at most for 95 % of the time.",
    ]
    assert told(service=service(Quantity(None, "the travel does not follow")))[3:] == ["The travel does not follow."]


def test_hunting_in_a_part_of_a_rest_is_told_with_its_extent():
    spell = dataclasses.replace(rest("hunting", Quantity(0.9), Quantity(6.0)), turn_s=np.array([110.0, 150.0]))
    assert told(rests=(spell,))[2:] == ["It hunts between 110 and 150 s: 0.90 % peak to peak every 6.00 s."]
    beat = rest("beat", Quantity(None, "it swings with the command"))
    assert told(rests=(beat,))[2:] == ["It swings at rest from 100 s on: it swings with the command."]
