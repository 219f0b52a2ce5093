"""What a reviewer should know of recordings and no check says."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.assessment.recordings.recording_remarks import recording_remarks
from kit.assessment.results import RecordingResult
from kit.basis.quantity import Quantity
from kit.calculations.recordings.bad_spots import BadSpot
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.left_out import LeftOut
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.spikes import Spikes
from tests.assessment.made import NOTHING, hold, loss, reduction, rest, service, still_recording, stroke, track


def said(recording=None, *, segments_set=False, **parts):
    made = RecordingResult("a.csv", "", "", reduction(recording, **parts), segments_set)
    return recording_remarks([made])


def test_a_quiet_recording_needs_no_remark():
    assert said() == []


def test_a_recording_that_could_not_be_used_is_told_and_the_next_one_is_looked_at():
    useless = RecordingResult("b.csv", "", "", None, why_not="no sample")
    by_hand = RecordingResult("a.csv", "", "", reduction(), segments_set=True)
    assert recording_remarks([useless, by_hand]) == [
        "b.csv could not be used: no sample",
        "What is in a.csv was set by a person, in the table segments.",
    ]


def test_travel_taken_from_the_feedback_is_told():
    assert said(still_recording(travel_is_feedback=True, position_pct=None)) == [
        "a.csv: there is no position column, so that the travel is taken from the feedback; the feedback element "
        "itself is not verified. Times, hunting and starts are judged from it; where the valve stood is not."
    ]


def test_bad_samples_are_told_with_their_channel_number_first_time_and_depth():
    one = Spikes("travel", np.array([30.2]), 40.0)
    many = Spikes("supply", np.array([1.0, 7.5]), 12.25, left_out=False)
    assert said(spikes=(one, many)) == [
        "a.csv: the travel has 1 bad sample, at 30.2 s, off by up to 40 %: left out. Look at its wiring and screen "
        "where they come again.",
        "a.csv: the supply has 2 bad samples, the first at 1 s, off by up to 12.2 V: so many that nothing was left "
        "out. Put its wiring and screen right and record again.",
    ]


def test_hum_and_wander_of_more_than_two_hundredths_of_a_percent_are_told():
    small, loud = (
        Noise(0.01, 0.0, wander=0.02, hum=0.02, hum_period_s=50.0),
        Noise(0.01, 0.0, hum=0.11, hum_period_s=50),
    )
    wide = Noise(0.01, 0.0, wander=0.035)
    made = reduction()
    told = [
        recording_remarks([RecordingResult("a.csv", "", "", dataclasses.replace(made, channels=each))])
        for each in (Channels(small, small, small), Channels(loud, loud, loud), Channels(small, wide, small, small))
    ]
    assert told == [
        [],
        [
            "a.csv: hum of the mains beats with the sampling every 50 s and moves command by ±0.11 %, travel by ±0.11 "
            "%: means are uncertain by that, and no swing below it is seen. Screen the wires, or record ten times as "
            "fast."
        ],
        [
            "a.csv: over minutes at rest wander travel by 0.035 % (standard deviation), by the recorder or the valve: "
            "means are uncertain by that. Let the recorder warm up, and record for longer to tell it from noise."
        ],
    ]


def test_a_missing_command_is_told():
    made = still_recording()
    bare = dataclasses.replace(made, command_pct=np.full(len(made), np.nan))
    (remark,) = said(bare)
    assert "no column of the command" in remark


def test_what_a_file_shares_with_another_is_told():
    shares = RecordingResult(
        "a.csv", "", "", reduction(), note="its 30 s that b.csv holds as well are read there alone."
    )
    assert recording_remarks([shares]) == ["a.csv: its 30 s that b.csv holds as well are read there alone."]


def test_what_no_figure_is_made_of_is_told_by_its_reason():
    holds = [LeftOut("hold", 10.0 * number, 10.0 * number + 4.0, "come to by a small step") for number in range(7)]
    left_out = (*holds, LeftOut("hold", 90.0, 93.0, "not at rest"), LeftOut("stretch", 100.0, 112.0, "jogged"))
    assert said(left_out=left_out) == [
        "a.csv: 7 holds give no static reading (0 to 4 s, 10 to 14 s, 20 to 24 s, 30 to 34 s, 40 to 44 s and 2 more): "
        "come to by a small step.",
        "a.csv: 1 hold gives no static reading (90 to 93 s): not at rest.",
        "a.csv: 12 s belong to no test (100 to 112 s): jogged.",
    ]


@pytest.mark.parametrize(
    ("drift", "deviation", "creeps"),
    [
        (0.5, 0.0, False),
        (0.51, 0.0, True),
        (-0.51, 0.0, True),
        (0.6, 0.1, False),
        (0.61, 0.1, True),
        (-0.4, 0.0, False),
    ],
)
def test_a_hold_creeps_beyond_half_a_percent_a_minute_and_its_noise(drift, deviation, creeps):
    assert bool(said(readings=(hold(0.0, 0.0, drift_pct_per_min=drift, drift_deviation=deviation),))) == creeps


def test_the_greatest_creep_is_named():
    holds = [
        hold(0.0, 0.0, drift_pct_per_min=drift, at_s=at_s) for drift, at_s in ((0.8, 60.0), (-1.2, 90.0), (0.1, 9.0))
    ]
    assert said(readings=tuple(holds)) == ["a.csv: the travel drifts in 2 holds, most by -1.2 % a minute before 90 s."]


def test_a_drift_at_rest_is_told_and_hunting_is_not():
    assert said(rests=(rest("hunting", Quantity(1.0)), rest("drift", NOTHING))) == [
        "a.csv: the travel drifts at rest from 100 s on."
    ]


def test_travel_ahead_of_its_command_is_told():
    assert said(no_clock="the travel was first (1 of 2 steps, the first at 5 s)") == [
        "a.csv: nothing is timed from the command: the travel was first (1 of 2 steps, the first at 5 s)."
    ]


def test_commands_turned_by_hand_are_told_with_what_to_do():
    why = "the command was turned over 12 s"
    own = dataclasses.replace(stroke(Quantity(30.0)), without_step=why)
    followed = dataclasses.replace(stroke(Quantity(None, f"{why}, and the valve followed it")), without_step=why)
    free = dataclasses.replace(stroke(Quantity(20.0)), without_step="no command was recorded")
    assert said(strokes=(stroke(Quantity(20.0)), own, followed, free)) == [
        f"a.csv: at 5 s {why}, more quickly than the valve runs: the time is without the dead time and passes nothing; "
        "step the command to measure the stroke.",
        f"a.csv: at 5 s {why}, and the valve followed it.",
    ]


def test_odd_switches_are_told():
    still = still_recording(60.0)
    made = np.zeros(61)
    made[20:31] = 1.0
    both = dataclasses.replace(still, closed_switch=made, open_switch=np.ones(61))
    assert said(both) == ["a.csv: both switches are made from 20 to 30 s: wiring, cam or sense."]
    for travel_pct, end in ((1.0, "closed"), (99.0, "open")):
        silent = dataclasses.replace(
            still, travel_pct=np.full(61, travel_pct), closed_switch=np.zeros(61), open_switch=np.zeros(61)
        )
        assert said(silent) == [f"a.csv: the {end} switch never makes although the travel comes to its end."]


def test_at_most_five_places_seen_one_way_only_are_named():
    spots = [BadSpot(10.0 * number, 1.0, 2.0, True, number == 3) for number in range(1, 9)]
    assert said(track=track(Quantity(1.0), *spots)) == [
        "a.csv: the feedback leaves its line at 10.0 %, 20.0 %, 40.0 %, 50.0 %, 60.0 % of travel one way only: "
        "a loose contact, or noise."
    ]
    assert said(track=track(Quantity(1.0), spots[2])) == []


def test_losses_that_prove_nothing_or_have_no_known_cause_are_told():
    seen = loss(Quantity(0.0), before=Quantity(50.0))
    assert said(losses=(seen,)) == []
    bounced = dataclasses.replace(seen, position=Quantity(50.0), lasted_s=0.5)
    unknown = dataclasses.replace(seen, causes=("signal_open", "signal_short", "both_off"))
    first, second = said(losses=(bounced, unknown))
    assert first.startswith("a.csv: at 100 s the loss lasted 0.5 s and moved the valve to no other place")
    assert second.startswith("a.csv: whether the supply went with the signal was not recorded")


def test_a_valve_in_service_and_a_beat_are_told():
    assert said(service=service()) == [
        "a.csv: the command never rested: a valve in service shows its lag and its error, and no test. Who made a test "
        "in it names it in the table segments, or records it in a file of its own."
    ]
    assert said(rests=(rest("beat", Quantity(None, "it swings with the command")),)) == [
        "a.csv: at rest from 100 s on it swings with the command."
    ]
