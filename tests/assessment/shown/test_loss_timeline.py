"""A loss of signal as a timeline."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.assessment.shown.loss_timeline import expected_pct, first_motion_s, loss_timeline
from kit.basis.quantity import Quantity
from kit.basis.recording import Segment
from kit.calculations.recordings.motion import Motion
from tests.assessment.builders import TAG
from tests.assessment.made import NOTHING, loss, reduction, still_recording

LOSS = loss(Quantity(0.0), before=Quantity(50.0), time=Quantity(12.0))  # the signal goes at 100 s, until 160 s


def moved(*from_s):
    starts = np.array(from_s)
    return Motion(np.zeros(601, dtype=bool), starts, starts + 1.0, np.ones_like(starts), 1.0)


@pytest.mark.parametrize(
    ("action", "before", "expected"),
    [("closed", 50.0, 0.0), ("open", 50.0, 100.0), ("hold", 50.0, 50.0), ("hold", None, None), (None, 50.0, None)],
)
def test_where_the_fail_action_puts_the_valve(action, before, expected):
    made = loss(Quantity(0.0), before=Quantity(before))
    assert expected_pct(made, dataclasses.replace(TAG, fail_action=action)) == expected


@pytest.mark.parametrize(
    ("starts", "restored_s", "first_s"),
    [
        ((90.0, 104.0, 110.0), 150.0, 4.0),
        ((100.0,), 150.0, 0.0),
        ((150.0,), 150.0, None),
        ((159.0,), None, 59.0),
        ((160.0,), None, None),
        ((), None, None),
    ],
)
def test_the_first_motion_lies_between_loss_and_restoration(starts, restored_s, first_s):
    found = dataclasses.replace(reduction(), motion=moved(*starts))
    assert first_motion_s(dataclasses.replace(LOSS, restored_s=restored_s), found) == first_s


def test_events_stand_in_order_of_time():
    whole = dataclasses.replace(LOSS, restored_s=150.0)
    found = dataclasses.replace(reduction(), motion=moved(104.0))
    assert loss_timeline(whole, found, TAG).events == (
        ("signal lost", 0.0),
        ("first motion", 4.0),
        ("at rest", 12.0),
        ("signal restored", 50.0),
    )
    stayed = dataclasses.replace(LOSS, time=NOTHING)
    assert loss_timeline(stayed, reduction(), TAG).events == (("signal lost", 0.0),)


@pytest.mark.parametrize(
    ("restored_s", "segment_end_s", "until_s"),
    [
        (None, 900.0, 160.0),
        (150.0, 300.0, 200.0),  # as long as the loss lasted, 50 s
        (150.0, 170.0, 170.0),  # no longer than the segment
        (110.0, 300.0, 130.0),  # 20 s at least
    ],
)
def test_it_goes_on_for_as_long_after_the_restoration_as_the_loss_lasted(restored_s, segment_end_s, until_s):
    own = dataclasses.replace(LOSS.segment, to_s=160.0 if restored_s is None else restored_s)
    made = dataclasses.replace(LOSS, segment=own, restored_s=restored_s)
    after = (Segment("signal_restored", restored_s or 500.0, segment_end_s), Segment("signal_restored", 400.0, 590.0))
    timeline = loss_timeline(made, reduction(segments=after), TAG)
    assert (timeline.lost_s, timeline.time_s[0], timeline.time_s[-1]) == (100.0, 0.0, until_s - 100.0)
    assert timeline.travel_pct.tolist() == [50.0] * timeline.time_s.size
    assert timeline.expected_pct == 0.0


def test_gaps_count_from_the_loss():
    own = still_recording(gaps=((90.0, 95.0), (120.0, 130.0)))
    assert loss_timeline(LOSS, reduction(own), TAG).gaps == ((-10.0, -5.0), (20.0, 30.0))
