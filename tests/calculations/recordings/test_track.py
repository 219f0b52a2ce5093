"""The feedback over the measured position."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.recording import Recording
from kit.calculations.recordings.bad_spots import BadSpot, matched
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.lag import lagged
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.track import Track, track_of
from tests.calculations.recordings.made import later, mirrored, moved, noisy, resting, stroked


def track(recording: Recording, *, is_raw: bool = False) -> Track:
    found = track_of(recording, motion_of(recording, channels_of(recording).travel), is_raw=is_raw)
    assert found is not None
    return found


def both_ways(low_pct: float = 0.0, high_pct: float = 100.0) -> Recording:
    """4 % a second up and down, the feedback as the position."""
    took = (high_pct - low_pct) / 4.0
    times = [0, 10, 10 + took, 20 + took, 20 + 2 * took, 30 + 2 * took]
    made = moved(times, [low_pct, low_pct, high_pct, high_pct, low_pct, low_pct], length_s=times[-1], interval_s=0.0625)
    return replace(made, feedback_pct=made.travel_pct.copy())


def dented(recording: Recording, at_pct: float, depth_pct: float, *, up: bool = True, down: bool = True) -> Recording:
    """The feedback off by ``depth_pct`` within 0.6 % of travel of a place."""
    middle_s = float(recording.time_s[-1]) / 2.0
    way = ((recording.time_s < middle_s) & up) | ((recording.time_s >= middle_s) & down)
    near = np.abs(recording.position_pct - at_pct) < 0.6
    return replace(recording, feedback_pct=recording.feedback_pct + np.where(near & way, depth_pct, 0.0))


def test_a_bad_spot_seen_both_ways_is_a_dropout_and_one_seen_once_is_not() -> None:
    recording = stroked(0.02)
    feedback = recording.feedback_pct.copy()
    near = np.abs(recording.position_pct - 43.0) < 0.6
    feedback[near] -= 5.0
    once = (np.abs(recording.position_pct - 70.0) < 0.6) & (recording.time_s < 40.0)
    feedback[once] -= 5.0
    worn = Recording(
        recording.time_s,
        recording.command_pct,
        recording.travel_pct,
        feedback_pct=feedback,
        position_pct=recording.position_pct,
    )
    track = track_of(worn, motion_of(worn, channels_of(worn).travel), is_raw=False)
    assert track is not None
    assert track.dropouts.value == 1.0
    assert track.dropouts.beside["seen_one_way_only"] == 1.0
    (spot,) = [each for each in track.spots if each.is_confirmed]
    assert spot.position_pct == pytest.approx(43.0, abs=0.6)
    assert track.low_margin.value is None


def test_a_healthy_track_has_no_dropout_and_its_margins() -> None:
    recording = stroked(0.02)
    raw = 10.0 + 0.75 * recording.position_pct
    healthy = Recording(
        recording.time_s,
        recording.command_pct,
        recording.travel_pct,
        feedback_pct=raw,
        position_pct=recording.position_pct,
    )
    track = track_of(healthy, motion_of(healthy, channels_of(healthy).travel), is_raw=True)
    assert track is not None
    assert track.dropouts.value == 0.0
    assert track.low_margin.value == pytest.approx(10.0 - 0.375, abs=0.05)
    assert track.high_margin.value == pytest.approx(100.0 - 85.0, abs=0.05)
    assert track.linearity.value < 0.3


@settings(max_examples=20)
@given(at_pct=floats(8, 92), depth_pct=floats(2, 20), dips=booleans(), by_s=integers(0, 10**6), mirrors=booleans())
def test_a_bad_spot_is_found_where_and_as_deep_as_it_was_made(
    at_pct: float, depth_pct: float, dips: bool, by_s: int, mirrors: bool
) -> None:
    depth = -depth_pct if dips else depth_pct
    made = dented(both_ways(), at_pct, depth)
    found = track(later(mirrored(made) if mirrors else made, by_s))
    assert found.dropouts.value == 1.0
    (spot,) = found.spots
    assert spot.position_pct == pytest.approx(100.0 - at_pct if mirrors else at_pct, abs=0.6)
    assert spot.depth_pct == pytest.approx(-depth if mirrors else depth, abs=0.6)
    assert 0.5 <= spot.width_pct <= 2.5
    assert spot.is_confirmed


@pytest.mark.parametrize(("up", "down"), [(True, False), (False, True)])
def test_a_spot_seen_one_way_only_is_no_dropout(up: bool, down: bool) -> None:
    found = track(dented(both_ways(), 43.0, -5.0, up=up, down=down))
    (spot,) = found.spots
    assert (spot.opening, spot.closing, spot.is_confirmed) == (up, down, False)
    assert found.dropouts.value == 0.0
    assert found.dropouts.beside == {"seen_one_way_only": 1.0}
    assert spot.position_pct == pytest.approx(43.0, abs=0.6)
    assert spot.depth_pct == pytest.approx(-5.0, abs=0.5)


@pytest.mark.parametrize(("depth_pct", "count"), [(0.9, 0), (1.1, 1)])
def test_a_spot_leaves_its_neighbourhood_by_a_percent_of_range(depth_pct: float, count: int) -> None:
    assert len(track(dented(both_ways(), 43.25, depth_pct)).spots) == count


@pytest.mark.parametrize(("apart_pct", "count"), [(1.8, 1), (6.0, 2)])
def test_spots_two_percent_apart_are_one(apart_pct: float, count: int) -> None:
    made = dented(dented(both_ways(), 40.0, -5.0), 40.0 + apart_pct, -4.0)
    found = track(made)
    assert len(found.spots) == count
    assert found.dropouts.value == float(count)
    assert [each.position_pct for each in found.spots] == sorted(each.position_pct for each in found.spots)
    if count == 2:  # close to each other they are part of each other's neighbourhood
        assert [each.depth_pct for each in found.spots] == pytest.approx([-5.0, -4.0], abs=0.5)


def test_a_spot_at_two_places_on_the_two_ways_is_seen_once_each() -> None:
    made = dented(dented(both_ways(), 40.0, -5.0, down=False), 50.0, -5.0, up=False)
    found = track(made)
    assert [(each.opening, each.closing) for each in found.spots] == [(True, False), (False, True)]
    assert found.dropouts.beside == {"seen_one_way_only": 2.0}


def test_the_curves_of_the_two_ways_are_the_feedback_of_each() -> None:
    """2 % more on the way open: hysteresis of the feedback."""
    made = both_ways()
    middle_s = float(made.time_s[-1]) / 2.0
    made = replace(made, feedback_pct=made.travel_pct + np.where(made.time_s < middle_s, 2.0, 0.0))
    found = track(made)
    inner = (found.position_pct > 5.0) & (found.position_pct < 95.0)
    assert found.opening_pct[inner] == pytest.approx(found.position_pct[inner] + 2.0, abs=0.02)
    assert found.closing_pct[inner] == pytest.approx(found.position_pct[inner], abs=0.02)
    assert np.diff(found.position_pct) == pytest.approx(np.full(found.position_pct.size - 1, 0.5))


def test_a_bent_track_has_the_deviation_of_the_best_line() -> None:
    """A parabola of 2 % at its middle over 0 to 100 %; with the play taken up, 1 to 99 % are left: 2 x 0.98 squared.

    The best straight line leaves half of it.
    """
    made = both_ways()
    x = made.travel_pct / 100.0
    found = track(replace(made, feedback_pct=made.travel_pct + 2.0 * 4.0 * x * (1.0 - x)))
    assert abs(found.linearity.value) == pytest.approx(0.98**2, abs=0.015)
    assert min(abs(found.linearity.beside["at_pct"] - each) for each in (0.5, 50.0, 99.5)) < 2.5
    assert {each.name for each in found.linearity.components} == {
        "noise, feedback over the travel",
        "sampling, travel within a bin",
    }
    assert {each.value for each in found.linearity.components} == {0.25, 0.0}
    assert {each.unit for each in found.linearity.components} == {"% of feedback range"}
    assert found.spots == ()


@settings(max_examples=15)
@given(low=floats(2, 30), span=floats(40, 65), by_s=integers(0, 10**6), falls=booleans())
def test_margins_are_what_the_wiper_leaves_at_either_end(low: float, span: float, by_s: int, falls: bool) -> None:
    made = both_ways()
    raw = low + span * (100.0 - made.travel_pct if falls else made.travel_pct) / 100.0
    found = track(later(replace(made, feedback_pct=raw), by_s), is_raw=True)
    assert found.low_margin.value == pytest.approx(low)
    assert found.high_margin.value == pytest.approx(100.0 - low - span)
    assert found.low_margin.relies_on[0].sensitivity == 1.0
    assert found.high_margin.relies_on[0].sensitivity == -1.0
    assert found.high_margin.relies_on[0].reading == pytest.approx(low + span)
    assert {each.unit for each in (*found.low_margin.components, *found.high_margin.components)} == {"% of track"}


@pytest.mark.parametrize(("low_pct", "high_pct", "told"), [(1.9, 98.1, True), (2.1, 100.0, False), (0.0, 97.9, False)])
def test_margins_need_a_rest_within_two_percent_of_both_ends(low_pct: float, high_pct: float, told: bool) -> None:
    found = track(both_ways(low_pct, high_pct), is_raw=True)
    assert (found.low_margin.value is not None) is told
    assert (found.high_margin.value is not None) is told
    assert told or found.low_margin.why_not == "the valve did not rest within 2 % of both ends"


def test_a_scaled_feedback_shows_no_margin() -> None:
    found = track(both_ways())
    for figure in (found.low_margin, found.high_margin):
        assert figure.why_not == "the feedback is a scaled signal, which does not show the track's ends"


@pytest.mark.parametrize(("high_pct", "told"), [(48.0, False), (53.0, True)])
def test_less_than_half_of_the_travel_tells_nothing_of_the_track(high_pct: float, told: bool) -> None:
    made = both_ways(0.0, high_pct)
    found = track_of(made, motion_of(made, channels_of(made).travel), is_raw=False)
    assert (found is not None) is told


def test_a_track_passed_one_way_has_a_line_and_no_count() -> None:
    made = moved([0, 10, 35, 60], [0, 0, 100, 100], length_s=60.0, interval_s=0.0625)
    found = track(replace(made, feedback_pct=made.travel_pct + 1.0))
    assert found.dropouts.why_not == "less than half of the travel was passed both ways, so that a bad spot would show"
    assert abs(found.linearity.value) < 0.05
    assert np.isnan(found.closing_pct).all()
    assert np.isfinite(found.opening_pct).all()


def test_without_either_channel_there_is_no_track() -> None:
    made = both_ways()
    motion = motion_of(made, channels_of(made).travel)
    for absent in (
        replace(made, feedback_pct=None),
        replace(made, position_pct=None),
        replace(made, feedback_pct=np.where(np.arange(len(made)) < 9, made.feedback_pct, np.nan)),
    ):
        assert track_of(absent, motion, is_raw=False) is None


def test_short_passes_and_what_lies_within_their_play_do_not_count() -> None:
    """A valve that goes to 2 % and back, with feedback that is wrong on the way, and then passes once each way."""
    made = both_ways()
    shakes = moved([0, 5, 5.5, 10, 10.5, 15], [0, 0, 2, 2, 0, 0], length_s=15.0, interval_s=0.0625)
    wrong = np.where(np.abs(shakes.travel_pct - 1.0) < 0.99, shakes.travel_pct + 9.0, shakes.travel_pct)
    travel = np.concatenate((shakes.travel_pct, made.travel_pct))
    time = 0.0625 * np.arange(travel.size)
    both = Recording(time, np.full(time.size, 50.0), travel, np.concatenate((wrong, made.feedback_pct)), travel)
    assert track(both).spots == ()


def test_a_bend_wider_than_half_of_its_neighbourhood_is_the_shape_of_the_track() -> None:
    """Five bins and more of nine."""
    made = both_ways()
    bent = made.feedback_pct + np.where((made.position_pct >= 48.5) & (made.position_pct < 51.5), 5.0, 0.0)
    assert track(replace(made, feedback_pct=bent)).spots == ()
    narrow = made.feedback_pct + np.where((made.position_pct >= 49.0) & (made.position_pct < 51.0), 5.0, 0.0)
    assert len(track(replace(made, feedback_pct=narrow)).spots) == 1


def test_noise_is_no_bad_spot() -> None:
    made = both_ways()
    loud = replace(made, feedback_pct=noisy(made.feedback_pct, 0.3), position_pct=noisy(made.position_pct, 0.02, 8))
    assert track(loud).dropouts.value == 0.0
    assert isinstance(stroked().feedback_pct, np.ndarray)
    assert BadSpot(1.0, 1.0, 1.0, True, True).is_confirmed


@pytest.mark.parametrize(("opening", "closing"), [((9.0, 10.3), (10.0, 16.0)), ((14.0, 15.0), (10.0, 16.0))])
def test_a_narrow_spot_of_one_way_is_seen_in_a_wide_one_of_the_other(
    opening: tuple[float, float], closing: tuple[float, float]
) -> None:
    """They need to overlap somewhere; the spot is as wide as both together, and as deep as the deeper."""
    (spot,) = matched([(*opening, -2.0)], [(*closing, -3.0)])
    low, high = min(opening[0], closing[0]), max(opening[1], closing[1])
    assert (spot.position_pct, spot.width_pct, spot.depth_pct) == pytest.approx(((low + high) / 2.0, high - low, -3.0))
    assert spot.is_confirmed
    assert len(matched([(1.0, 2.0, -2.0)], [(*closing, -3.0)])) == 2


def quick(lag_s: float, at_pct: float | None = None, depth_pct: float = -8.0, *, interval_s: float = 0.04) -> Recording:
    """Steps and strokes at 20 % a second; the feedback behind a filter, with a bad spot before it."""
    levels = [0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0, 0.0, 100.0, 0.0, 100.0, 0.0]
    times, heights, at_s = [0.0], [0.0], 0.0
    for before, after in pairwise(levels):
        times += [at_s + 6.0, at_s + 6.0 + abs(after - before) / 20.0]
        heights += [before, after]
        at_s = times[-1]
    fine = moved([*times, at_s + 6.0], [*heights, 0.0], length_s=at_s + 6.0, interval_s=0.005)
    shown = fine.position_pct.copy()
    if at_pct is not None:
        shown[np.abs(shown - at_pct) < 0.75] += depth_pct
    every = round(interval_s / 0.005)
    position = noisy(fine.position_pct[::every], 0.02, 1)
    feedback = noisy(lagged(shown, 0.005, lag_s)[::every], 0.02, 2)
    return Recording(
        fine.time_s[::every], fine.command_pct[::every], position, position_pct=position, feedback_pct=feedback
    )


@pytest.mark.parametrize("lag_s", [0.0, 0.1, 0.4, 1.0])
def test_a_feedback_that_lags_has_no_bad_spots_of_its_own(lag_s: float) -> None:
    """Behind 0.4 s it is 8 % off in full motion, and less wherever a step begins."""
    found = track(quick(lag_s))
    assert found.dropouts.value == 0.0
    assert found.lag_s == pytest.approx(lag_s, abs=0.03)
    assert found.spots == ()


@pytest.mark.parametrize("lag_s", [0.0, 0.1, 0.4])
@pytest.mark.parametrize("at_pct", [13.0, 62.0])
def test_a_bad_spot_behind_a_filter_is_found_where_it_is(lag_s: float, at_pct: float) -> None:
    found = track(quick(lag_s, at_pct, -20.0))
    assert found.dropouts.value == 1.0
    assert next(each for each in found.spots if each.is_confirmed).position_pct == pytest.approx(at_pct, abs=1.5)


def test_a_track_that_was_not_seen_everywhere_says_where() -> None:
    """At 0.5 Hz a valve of 4 % a second is seen every 8 % of travel."""
    assert track(quick(0.0, interval_s=0.01)).unseen == ""
    assert "could not have been seen" in track(quick(0.1)).unseen
    assert track(both_ways()).unseen == ""
    slow = track(both_ways(0.0, 80.0))
    assert slow.unseen.startswith("over 20 % of the travel, as from 79 to 98 %")
    coarse = both_ways()
    fewer = slice(None, None, 32)
    coarse = Recording(
        coarse.time_s[fewer],
        coarse.command_pct[fewer],
        coarse.travel_pct[fewer],
        position_pct=coarse.travel_pct[fewer],
        feedback_pct=coarse.travel_pct[fewer],
    )
    found = track_of(coarse, motion_of(coarse, channels_of(coarse).travel), is_raw=False)
    assert found is None or "a bad spot could not have been seen" in found.unseen


@pytest.mark.parametrize("lead_s", [0.05, 0.2, 0.4])
@pytest.mark.parametrize("at_pct", [31.0, 62.4])
def test_a_bad_spot_that_one_sample_shows_is_found_though_the_position_lags(lead_s: float, at_pct: float) -> None:
    """0.8 % of travel at 5 % a second and 10 Hz; the position is behind the filter, and the feedback is not."""
    made = walked_again_and_again(lead_s, at_pct, 0.8)
    found = track(made)
    assert found.lag_s == pytest.approx(-lead_s, abs=0.03) or lead_s < 0.06
    assert found.dropouts.value == 1.0
    assert next(each for each in found.spots if each.is_confirmed).position_pct == pytest.approx(at_pct, abs=0.6)
    assert track(walked_again_and_again(lead_s, None)).spots == ()


def walked_again_and_again(lead_s: float, at_pct: float | None, width_pct: float = 0.0) -> Recording:
    """Eleven points up and down, twice, and a bad spot of 6 %, a triangle."""
    levels = [*range(0, 100, 10), *range(100, 0, -10)] * 2 + [0]
    times, heights, at_s = [0.0], [0.0], 0.0
    for before, after in pairwise(levels):
        times += [at_s + 4.03, at_s + 4.03 + abs(after - before) / 5.0]
        heights += [before, after]
        at_s = times[-1]
    fine = moved([*times, at_s + 6.0], [*heights, 0.0], length_s=at_s + 6.0, interval_s=0.005)
    shown = fine.position_pct.copy()
    if at_pct is not None:
        shown -= 6.0 * np.maximum(1.0 - np.abs(shown - at_pct) / (width_pct / 2.0), 0.0)
    position = noisy(lagged(fine.position_pct, 0.005, lead_s)[::20], 0.02, 1)
    feedback = noisy(shown[::20], 0.02, 2)
    return Recording(fine.time_s[::20], fine.command_pct[::20], position, position_pct=position, feedback_pct=feedback)


def test_a_bad_spot_may_lie_between_two_samples_of_a_pass() -> None:
    """4 % a second: at 8 Hz 0.5 % from sample to sample show it, at 4 Hz 1 % do not."""
    made = both_ways()
    assert track(thinned(made, 2)).unseen == ""
    assert "could not have been seen" in track(thinned(made, 4)).unseen


def thinned(made: Recording, every: int) -> Recording:
    kept = slice(None, None, every)
    position = made.position_pct[kept]
    return Recording(made.time_s[kept], made.command_pct[kept], position, made.feedback_pct[kept], position)


def test_noise_that_hides_a_bad_spot_leaves_the_track_unseen() -> None:
    made = both_ways()
    loud = replace(made, feedback_pct=noisy(made.feedback_pct, 1.0))
    assert track(loud).unseen.startswith("over 100 % of the travel")


def test_seconds_without_supply_are_no_bad_spot() -> None:
    made = both_ways()
    lost = (made.time_s >= 20.0) & (made.time_s < 23.0)
    lost |= (made.time_s >= 57.0) & (made.time_s < 60.0)
    feedback = np.where(lost, -25.0, made.feedback_pct)
    assert track(replace(made, feedback_pct=feedback)).dropouts.value > 0
    known = replace(made, feedback_pct=feedback, supply_v=np.where(lost, 0.0, 24.0))
    assert track(known).dropouts.value == 0


def slipping(lags_s: tuple[float, float], *, slip_s: float = 0.1, spot_pct: float = 0.0, every: int = 5) -> Recording:
    """A valve that sticks and slips 5 % every second, both ways, recorded at 0.01 s times ``every``."""
    fine = 0.01 * np.arange(6000)
    slips = np.clip((fine % 1.0) / slip_s, 0.0, 1.0) + np.floor(fine)
    height = 5.0 * np.clip(np.where(fine < 30.0, slips - 5.0, 55.0 - slips), 0.0, 20.0)
    worn = height - spot_pct * (np.abs(height - 43.0) < 0.6)
    position, feedback = lagged(height, 0.01, lags_s[0]), lagged(worn, 0.01, lags_s[1])
    made = resting(noisy(position[::every], 0.02, 1), 0.01 * every)
    return replace(made, feedback_pct=noisy(feedback[::every], 0.02, 2))


@pytest.mark.parametrize("lags_s", [(0.3, 0.0), (0.0, 0.3), (0.5, 0.0)])
@pytest.mark.parametrize("every", [2, 5])
def test_a_valve_that_slips_behind_a_filter_has_no_dropout(lags_s: tuple[float, float], every: int) -> None:
    assert not track(slipping(lags_s, slip_s=0.3, every=every)).dropouts.value


def often(interval_s: float, lag_s: float, spot_pct: float) -> Recording:
    """Thirty strokes each way at 20 % a second, so that a sample falls everywhere."""
    fine = 0.005 * np.arange(round(30 * 14.235 / 0.005))
    height = np.interp(fine % 14.235, [1.0, 6.0, 8.1, 13.1], [0.0, 100.0, 100.0, 0.0])
    worn = height - spot_pct * (np.abs(height - 43.0) < 0.5)
    every = slice(None, None, round(interval_s / 0.005))
    made = resting(noisy(height[every], 0.02, 1), interval_s)
    return replace(made, feedback_pct=noisy(lagged(worn, 0.005, lag_s)[every], 0.02, 2))


@pytest.mark.parametrize(("interval_s", "lag_s", "is_seen"), [(0.2, 0.0, True), (0.2, 0.4, False), (0.04, 0.1, True)])
def test_a_bad_spot_that_filter_and_sampling_leave_little_of_is_unseen(
    interval_s: float, lag_s: float, is_seen: bool
) -> None:
    """3 % of range over 1 % of travel, passed in 50 ms."""
    assert (track(often(interval_s, lag_s, 0.0)).unseen == "") == is_seen
    found = track(often(interval_s, lag_s, 3.0))
    assert found.dropouts.value == (1.0 if is_seen else 0.0)


def test_a_bad_spot_behind_a_filter_of_the_position_is_one_place() -> None:
    """The position is late on either way, by 1.6 % of travel."""
    recording = dented(both_ways(), 43.0, -5.0)
    late = replace(recording, position_pct=lagged(recording.position_pct, 0.0625, 0.4))
    found = track(late)
    assert found.lag_s == pytest.approx(-0.4, abs=0.05)
    (spot,) = found.spots
    assert (found.dropouts.value, spot.width_pct < 4.0) == (1.0, True)
    assert spot.position_pct == pytest.approx(43.0, abs=1.0)
