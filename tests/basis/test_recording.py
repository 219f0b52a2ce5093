"""A recording and its parts."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, lists

from kit.basis.recording import Recording, RecordingError, Segment, extents


def recording(times, gaps=()):
    time = np.array(times, dtype=float)
    return Recording(time, time, time, gaps=gaps)


@pytest.mark.parametrize("times", [[0, 1, 1], [0, 2, 1]])
def test_time_must_rise_strictly(times):
    with pytest.raises(RecordingError, match=r"^time_s does not rise strictly; leave repeated and backward times out"):
        recording(times)


def test_the_interval_is_the_median_and_nothing_for_a_single_sample():
    assert recording([0, 1, 2, 9]).interval_s == 1.0
    assert recording([0, 3]).interval_s == 3.0
    assert (recording([5]).interval_s, recording([5]).duration_s, len(recording([5]))) == (0.0, 0.0, 1)
    assert recording([]).duration_s == 0.0


def test_gaps_are_no_recorded_time():
    """From 10 to 40 s, without 5 and 2.5 s."""
    assert recording([10, 20, 40], gaps=((12, 17), (20, 22.5))).duration_s == 22.5
    assert recording([10, 40]).duration_s == 30.0


def test_both_ends_of_a_stretch_belong_to_it():
    made = recording([0, 1, 2, 3, 4])
    assert made.time_s[made.place(1, 3)].tolist() == [1, 2, 3]
    assert made.time_s[made.place(1.1, 2.9)].tolist() == [2]
    assert made.time_s[made.place(-9, 9)].tolist() == [0, 1, 2, 3, 4]


@pytest.mark.parametrize(
    ("start", "end", "inside"),
    [(0, 10, False), (0, 10.1, True), (12, 13, True), (15, 20, False), (14.9, 20, True), (5, 30, True)],
)
def test_a_gap_touches_what_it_overlaps(start, end, inside):
    assert recording([0, 40], gaps=((10, 15),)).has_gap(start, end) == inside
    assert not recording([0, 40]).has_gap(start, end)


def test_a_segment_lasts_from_its_start_to_its_end():
    assert Segment("hold", 10.0, 12.5).duration_s == 2.5


@given(lists(booleans()))
def test_extents_hold_every_true_once(mask):
    found = extents(np.array(mask, dtype=bool))
    places = [place for first, last in found for place in range(first, last + 1)]
    assert places == [place for place, value in enumerate(mask) if value]
    assert all(second[0] - first[1] > 1 for first, second in pairwise(found))
