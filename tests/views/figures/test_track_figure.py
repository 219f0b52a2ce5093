"""The feedback track over the position, and its bad spots."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.calculations.recordings.bad_spots import BadSpot
from kit.views.figures.track_figure import spot_words, track_figure
from tests.views import made, made_recordings
from tests.views.reader import trace

TAG = made.tag()
BOTH = [BadSpot(at, 1.0, -8.0, opening=True, closing=True) for at in (10.0, 20.0, 30.0, 40.0)]
ONE = BadSpot(80.0, 1.0, 3.0, opening=True, closing=False)


def test_a_bad_spot_is_marked_full_where_it_was_seen_both_ways():
    track = made_recordings.reduction("bad_spot").track
    assert track is not None
    figure = track_figure(track, TAG, "Feedback over the position")
    mark = next(each for each in figure.data if each["name"] == "Bad spot, both ways" and "marker" in each)
    assert mark["x"] == pytest.approx([62.0], abs=1.0)
    assert mark["y"][0] < -4.0
    assert not mark["marker"]["symbol"].endswith("-open")


def test_spots_in_words_tell_those_seen_both_ways_first():
    assert spot_words([]) == "no bad spot was seen"
    assert spot_words(BOTH[:1]) == "at 10.0 % the feedback is off by −8.0 % both ways"
    assert spot_words([ONE, *BOTH]).endswith(
        "at 30.0 % the feedback is off by −8.0 % both ways; 1 more such place; "
        "one place seen one way only, which may be a loose wire as well as the track"
    )
    assert spot_words([ONE, ONE]).startswith("2 places seen one way only")


def test_both_ways_stand_over_the_position_and_each_spot_at_its_place():
    track = made_recordings.reduction("healthy").track
    assert track is not None
    ramp = np.array([10.0, 50.0, 90.0])
    drawn = dataclasses.replace(
        track, position_pct=ramp, opening_pct=ramp + 1, closing_pct=np.array([9.0, np.nan, 89.0]), spots=(BOTH[0], ONE)
    )
    figure = track_figure(drawn, TAG, "Track")
    assert (trace(figure, "Opening")["x"], trace(figure, "Opening")["y"]) == ([10, 50, 90], [11, 51, 91])
    assert (trace(figure, "Closing")["x"], trace(figure, "Closing")["y"]) == ([10, 90], [9, 89])
    marks = {each["name"]: (each["x"], each["y"]) for each in figure.data if "marker" in each}
    assert marks == {"Bad spot, both ways": ([10], [-8]), "One way only": ([80], [3])}
