"""Dead band and resolution by ramps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, integers

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.ramp_trials import ramp_trials
from kit.calculations.recordings.ramps import Delays
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.segments import cut_recording
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.trials import Trial
from tests.calculations.recordings.made import later, mirrored, noisy, same, with_play


def ramps_of(recording: Recording, delays: Delays) -> tuple[Trial, ...]:
    channels = channels_of(recording)
    segments = cut_recording(recording, same, channels)
    return ramp_trials(recording, segments, channels, motion_of(recording, channels.travel), delays, same)


@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
def test_a_ramp_up_and_down_gives_the_dead_band_of_play(noise_pct: float) -> None:
    time = np.arange(0.0, 160.0, 0.1)
    command = np.interp(time, [0, 20, 70, 120, 160], [40, 40, 50, 40, 40])
    travel = noisy(with_play(command, 0.8), noise_pct)
    found = reduce_recording(Recording(time, noisy(command, noise_pct, 6), travel), same)
    figure = smallest_command(found.trials, "dead_band")
    assert abs(figure.value - 0.8) <= 2.0 * figure.standard_uncertainty + 0.02


def stick(dead_band_pct: float, jump_pct: float) -> Recording:
    """Ramps of 0.25 % a second, up and back, that the travel follows in jumps, after standing still at the turn."""
    time = np.arange(0.0, 144.0, 0.125)
    command = np.interp(time, [0, 20, 70, 124, 144], [40, 40, 52.5, 39, 39])
    travel = np.empty_like(time)
    stands, heading = 40.0, 1.0
    for place, asked in enumerate(command.tolist()):
        asks = 1.0 if asked >= stands else -1.0
        least = jump_pct if asks == heading else dead_band_pct
        if abs(asked - stands) >= least:
            stands, heading = asked, asks
        travel[place] = stands
    return Recording(time, command, noisy(travel, 0.002))


@settings(max_examples=10)
@given(by_s=integers(0, 10**6), mirrors=booleans())
def test_a_valve_that_follows_a_ramp_in_jumps_shows_resolution_and_dead_band(by_s: int, mirrors: bool) -> None:
    """Jumps every 1.5 %, the last on the way up at 52 %; the reversal takes 2.5 % from there."""
    made = stick(2.5, 1.5)
    found = ramps_of(later(mirrored(made) if mirrors else made, by_s), Delays(0.0, 0.0))
    resolutions = [each for each in found if each.what == "resolution"]
    assert len(resolutions) == 7 + 7
    assert all(each.means == "ramp" for each in found)
    assert np.mean([each.middle_pct for each in resolutions]) == pytest.approx(1.5, abs=0.05)
    (dead_band,) = [each for each in found if each.what == "dead_band"]
    assert dead_band.middle_pct == pytest.approx(2.5, abs=0.06)
    # window and interval of 0.125 s, half of each, and a jump that takes an interval
    assert dead_band.high_pct - dead_band.low_pct == pytest.approx(2 * 0.25 * 0.25)
    assert dead_band.command_pct == pytest.approx(100.0 - 49.5 if mirrors else 49.5, abs=0.06)
    assert dead_band.at_s - by_s == pytest.approx(82.0, abs=0.3)


@pytest.mark.parametrize(
    ("delays", "middle_pct", "loose_s"),
    [(Delays(1.0, 1.0), 2.59, 0.75), (Delays(), 2.47, 2.25), (Delays(1.0, 4.0), 2.34, 1.75)],
)
def test_a_jump_is_late_by_the_dead_time_and_no_more_than_a_second_beyond(
    delays: Delays, middle_pct: float, loose_s: float
) -> None:
    """Late by 1 s. Whether the last jump ended late as well nobody knows: half of the delay, known to as much."""
    made = stick(2.5, 1.5)
    late = replace(made, travel_pct=np.interp(made.time_s - 1.0, made.time_s, made.travel_pct))
    (found,) = [each for each in ramps_of(late, delays) if each.what == "dead_band"]
    assert found.middle_pct == pytest.approx(middle_pct, abs=0.02)
    assert found.half_width_pct == pytest.approx(0.25 * loose_s)
    assert found.low_pct < 2.5 < found.high_pct


def test_two_ramps_with_a_step_between_are_no_reversal() -> None:
    time = np.arange(0.0, 160.0, 0.125)
    command = np.interp(time, [0, 20, 60, 70, 70.1, 80, 120, 160], [40, 40, 50, 50, 60, 60, 50, 50])
    assert ramps_of(Recording(time, command, with_play(command, 0.8)), Delays(0.0, 0.0)) == ()
    held = np.interp(time, [0, 20, 60, 80, 120, 160], [40, 40, 50, 50, 40, 40])
    (found,) = ramps_of(Recording(time, held, with_play(held, 0.8)), Delays(0.0, 0.0))
    assert found.middle_pct == pytest.approx(0.8, abs=0.05)


def test_a_valve_that_never_moves_on_a_ramp_tells_nothing() -> None:
    made = stick(2.0, 1.0)
    assert ramps_of(replace(made, travel_pct=np.full(len(made), 45.0)), Delays()) == ()
    assert ramps_of(replace(made, travel_pct=np.full(len(made), np.nan)), Delays()) == ()


def test_a_valve_that_does_not_come_back_shows_no_dead_band() -> None:
    made = stick(2.5, 1.5)
    stays = np.where(made.time_s > 75.0, made.travel_pct[round(75.0 / 0.125)], made.travel_pct)
    found = ramps_of(replace(made, travel_pct=stays), Delays(0.0, 0.0))
    assert {each.what for each in found} == {"resolution"}
    assert len(found) == 7


def test_jumps_between_which_one_was_missed_tell_no_resolution() -> None:
    """The travel goes by 1.5 % where the command went by 3: what moved it between was not seen."""
    made = stick(2.5, 1.5)
    whole = [each for each in ramps_of(made, Delays(0.0, 0.0)) if each.what == "resolution"]
    slow = np.where((made.time_s > 37.0) & (made.time_s < 43.0), np.interp(made.time_s, [37, 43], [43, 44.5]), 0.0)
    hides = replace(made, travel_pct=np.where(slow > 0.0, slow, made.travel_pct))
    found = [each for each in ramps_of(hides, Delays(0.0, 0.0)) if each.what == "resolution"]
    assert 0 < len(found) < len(whole)
    assert max(each.middle_pct for each in found) < 1.6


def test_a_hold_that_was_cut_too_long_does_not_move_the_command_of_a_jump() -> None:
    """The command just before and after a turn is what was recorded there."""
    time = np.arange(0.0, 160.0, 0.125)
    command = np.interp(time, [0, 20, 70, 78, 132, 160], [40, 40, 52.5, 52.5, 39, 39])
    travel, stands, heading = np.empty_like(time), 40.0, 1.0
    for place, asked in enumerate(command.tolist()):
        asks = 1.0 if asked >= stands else -1.0
        if abs(asked - stands) >= (1.5 if asks == heading else 2.5):
            stands, heading = asked, asks
        travel[place] = stands
    made = Recording(time, noisy(command, 0.002, 6), noisy(travel, 0.002))
    channels = channels_of(made)
    cut = cut_recording(made, same, channels)
    short = [
        replace(each, from_s=each.from_s + 5.0, to_s=each.to_s - 5.0) if each.what in ("ramp_up", "ramp_down") else each
        for each in cut
    ]
    wide = [replace(each, from_s=each.from_s - 5.0) if each.what == "hold" else each for each in short]
    trials = ramp_trials(made, wide, channels, motion_of(made, channels.travel), Delays(0.0, 0.0), same)
    (found,) = [each for each in trials if each.what == "dead_band"]
    assert found.middle_pct == pytest.approx(2.5, abs=0.1)


def test_a_ramp_back_that_is_shorter_than_the_dead_band_tells_nothing() -> None:
    time = np.arange(0.0, 160.0, 0.125)
    command = np.interp(time, [0, 20, 120, 126, 160], [40, 40, 50, 49.4, 49.4])
    assert (
        ramps_of(Recording(time, noisy(command, 0.002), noisy(with_play(command, 0.8), 0.005)), Delays(0.3, 0.5)) == ()
    )


def test_a_fast_ramp_of_an_unknown_delay_tells_nothing() -> None:
    """2 % a second, late by up to 2 s either way: 8 % of command, for a play of 0.5."""
    time = np.arange(0.0, 60.0, 0.05)
    command = np.interp(time, [0, 20, 30, 40, 40.1, 60], [40, 40, 60, 40, 30, 30])
    assert ramps_of(Recording(time, noisy(command, 0.002), noisy(with_play(command, 0.5), 0.005)), Delays()) == ()


@pytest.mark.parametrize(("rate_pct_s", "told"), [(1.5, True), (2.5, False)])
def test_a_ramp_faster_than_a_valve_follows_tells_nothing(rate_pct_s: float, told: bool) -> None:
    time = np.arange(0.0, 100.0, 0.02)
    took = 25.0 / rate_pct_s
    command = np.interp(time, [0, 20, 20 + took, 40 + took, 40 + 2 * took], [40, 40, 65, 65, 40])
    made = Recording(time, noisy(command, 0.002), noisy(with_play(command, 0.8), 0.005))
    assert bool(ramps_of(made, Delays(0.0, 0.0))) is told


def test_a_first_jump_back_that_play_shortens_leaves_a_jump_open() -> None:
    """It is 0.3 % where 1.5 % is usual: the next reversal may take a jump more, or less."""
    made = stick(2.5, 1.5)
    back = np.where(made.time_s > 81.9, made.travel_pct + 2.2, made.travel_pct)
    (found,) = [each for each in ramps_of(replace(made, travel_pct=back), Delays(0.0, 0.0)) if each.what == "dead_band"]
    assert found.jump_pct == pytest.approx(1.5, abs=0.02)
    (whole,) = [each for each in ramps_of(made, Delays(0.0, 0.0)) if each.what == "dead_band"]
    assert whole.jump_pct == pytest.approx(1.5 / 2**0.5, abs=0.02)


def test_a_first_motion_back_that_is_hardly_seen_leaves_a_jump_open() -> None:
    """A step of 0.02 % in the stand, 6 s before the jump that is seen."""
    made = stick(2.5, 1.5)
    back = np.where((made.time_s > 76.0) & (made.time_s < 81.9), made.travel_pct - 0.02, made.travel_pct)
    (found,) = [each for each in ramps_of(replace(made, travel_pct=back), Delays(0.0, 0.0)) if each.what == "dead_band"]
    assert found.jump_pct == pytest.approx(1.5, abs=0.01)


def test_what_the_travel_does_on_a_ramp_is_held_against_the_characteristic() -> None:
    """Half of what is asked for, in jumps and evenly."""
    made = stick(2.5, 1.5)
    halved = replace(made, travel_pct=20.0 + 0.5 * made.travel_pct)
    (found,) = [each for each in ramps_of(halved, Delays(0.0, 0.0)) if each.what == "dead_band"]
    assert found.gain == pytest.approx(0.5, abs=0.01)
    time = np.arange(0.0, 160.0, 0.1)
    command = np.interp(time, [0, 20, 70, 120, 160], [40, 40, 50, 40, 40])
    (even,) = ramps_of(Recording(time, command, 20.0 + 0.5 * with_play(command, 0.8)), Delays(0.0, 0.0))
    assert even.gain == pytest.approx(0.5, abs=0.01)
    assert even.middle_pct == pytest.approx(0.8, abs=0.02)
