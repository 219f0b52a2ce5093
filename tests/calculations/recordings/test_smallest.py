"""Dead band and resolution, by small steps and by ramps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.quantity import Reliance
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.ramps import Delays
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.segments import cut_recording
from kit.calculations.recordings.smallest import ramp_trials, small_step_trials, smallest_command
from kit.calculations.recordings.trials import Found, Means, Trial
from kit.calculations.signal import ideal_position_pct, ideal_slope
from tests.calculations.recordings.made import later, mirrored, noisy, programme, same, with_play


def small_steps(dead_band_pct: float, step_pct: float = 0.1, noise_pct: float = 0.0) -> Recording:
    """Up from 50 % in small steps of 5 s each, and down again, with play."""
    up = [(50.0 + step_pct * number, 5.0) for number in range(12)]
    down = [(50.0 + step_pct * (11 - number), 5.0) for number in range(1, 20)]
    time, command = programme([(40.0, 20.0), *up, *down], interval_s=0.125)
    return Recording(time, command, noisy(with_play(command, dead_band_pct), noise_pct))


def steps_of(recording: Recording) -> tuple[Trial, ...]:
    return small_step_trials(recording, channels_of(recording), same)


def ramps_of(recording: Recording, delays: Delays) -> tuple[Trial, ...]:
    channels = channels_of(recording)
    segments = cut_recording(recording, same, channels)
    return ramp_trials(recording, segments, channels, motion_of(recording, channels.travel), delays)


@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
@pytest.mark.parametrize("dead_band_pct", [0.4, 0.9])
def test_small_steps_bracket_the_dead_band_of_play(noise_pct: float, dead_band_pct: float) -> None:
    up = [(50.0 + 0.1 * number, 5.0) for number in range(30)]
    down = [(52.9 - 0.1 * number, 5.0) for number in range(1, 40)]
    time, command = programme([(40.0, 20.0), *up, *down], interval_s=0.1)
    travel = noisy(with_play(command, dead_band_pct), noise_pct)
    found = reduce_recording(Recording(time, noisy(command, noise_pct, 6), travel), same)
    figure = smallest_command(found.trials, "dead_band")
    assert abs(figure.value - dead_band_pct) <= 0.1
    assert figure.standard_uncertainty >= 0.05 / 3**0.5 * 0.9


@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
def test_a_ramp_up_and_down_gives_the_dead_band_of_play(noise_pct: float) -> None:
    time = np.arange(0.0, 160.0, 0.1)
    command = np.interp(time, [0, 20, 70, 120, 160], [40, 40, 50, 40, 40])
    travel = noisy(with_play(command, 0.8), noise_pct)
    found = reduce_recording(Recording(time, noisy(command, noise_pct, 6), travel), same)
    figure = smallest_command(found.trials, "dead_band")
    assert abs(figure.value - 0.8) <= 2.0 * figure.standard_uncertainty + 0.02


def test_small_steps_by_hand() -> None:
    """Play of 0.45 %: up to 51.1 in steps of 0.1, then down: no answer at 50.7, an answer at 50.6.

    On the way down and up each further step is answered: nothing is not, 0.1 is.
    """
    trials = steps_of(small_steps(0.45))
    (dead_band,) = [each for each in trials if each.what == "dead_band"]
    assert (dead_band.low_pct, dead_band.high_pct) == (pytest.approx(0.4), pytest.approx(0.5))
    assert dead_band.command_pct == pytest.approx(50.6)
    assert dead_band.at_s == pytest.approx(20.0 + 12 * 5.0 + 4 * 5.0)
    assert dead_band.means == "small_steps"
    resolutions = [each for each in trials if each.what == "resolution"]
    assert len(resolutions) == 11 + 14
    assert {(round(each.low_pct, 9), round(each.high_pct, 9)) for each in resolutions} == {(0.0, 0.1)}


@settings(max_examples=20)
@given(dead_band_pct=floats(0.15, 0.9), by_s=integers(0, 10**6), mirrors=booleans(), offset=floats(-5, 5))
def test_small_steps_bracket_the_play_wherever_the_valve_stands(
    dead_band_pct: float, by_s: int, mirrors: bool, offset: float
) -> None:
    made = small_steps(dead_band_pct)
    made = replace(made, travel_pct=made.travel_pct + offset)
    one, other = steps_of(made), steps_of(later(mirrored(made) if mirrors else made, by_s))
    assert [(each.what, each.at_s + by_s) for each in one] == [(each.what, each.at_s) for each in other]
    assert [each.middle_pct for each in one] == pytest.approx([each.middle_pct for each in other], abs=1e-9)
    (dead_band,) = [each for each in one if each.what == "dead_band"]
    assert dead_band.low_pct - 1e-9 <= dead_band_pct + 0.03  # the valve must move by 0.03 % to be seen
    assert dead_band_pct <= dead_band.high_pct + 1e-9


def test_a_valve_that_answers_the_wrong_way_tells_nothing() -> None:
    made = small_steps(0.45)
    wrong = replace(made, travel_pct=100.0 - made.travel_pct)
    assert steps_of(wrong) == ()
    reverse = small_step_trials(wrong, channels_of(wrong), lambda command: 100.0 - command)
    assert len(reverse) == len(steps_of(made))


@pytest.mark.parametrize(("last_pct", "told"), [(0.95, True), (1.05, False)])
def test_a_bracket_wider_than_a_percent_says_too_little(last_pct: float, told: bool) -> None:
    time, command = programme([(40.0, 20.0), (50.0, 10.0), (50.0 - last_pct, 10.0), (30.0, 10.0)])
    trials = steps_of(Recording(time, command, command.copy()))
    assert (len(trials) == 1) is told


@pytest.mark.parametrize(("moves_pct", "answers"), [(0.028, False), (0.032, True)])
def test_a_move_of_three_hundredths_is_an_answer(moves_pct: float, answers: bool) -> None:
    time, command = programme([(50.0, 10.0), (50.4, 10.0), (50.8, 10.0), (51.2, 10.0)])
    travel = np.select([time < 10, time < 20, time < 30], [50.0, 51.0, 51.0 + moves_pct], 53.0)
    first = steps_of(Recording(time, command, travel))[0]
    assert first.high_pct == pytest.approx(0.4 if answers else 0.8)
    assert first.low_pct == pytest.approx(0.0 if answers else 0.4)


def test_a_ramp_or_a_restless_valve_parts_the_small_steps() -> None:
    """After either, nobody knows at which command the valve last moved."""
    made = small_steps(0.45)
    restless = np.where((made.time_s >= 80.0) & (made.time_s < 85.0), 45.0 + made.time_s % 2.5, made.travel_pct)
    assert [each for each in steps_of(replace(made, travel_pct=restless)) if each.what == "dead_band"] == []


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
    return Recording(time, command, travel)


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
    assert dead_band.high_pct - dead_band.low_pct == pytest.approx(2 * 0.25 * 0.0625)
    assert dead_band.command_pct == pytest.approx(100.0 - 49.5 if mirrors else 49.5, abs=0.06)
    assert dead_band.at_s - by_s == pytest.approx(82.0, abs=0.3)


def test_the_start_of_a_jump_is_late_by_the_dead_time() -> None:
    """Where the travel is late by 1 s, its jump answers a command of 1 s before, known to half of that."""
    made = stick(2.5, 1.5)
    late = replace(made, travel_pct=np.interp(made.time_s - 1.0, made.time_s, made.travel_pct))
    (found,) = [each for each in ramps_of(late, Delays(1.0, 1.0)) if each.what == "dead_band"]
    assert found.command_pct == pytest.approx(49.5, abs=0.06)
    assert found.high_pct - found.low_pct == pytest.approx(2 * 0.25 * (0.5 + 0.0625))
    (unknown,) = [each for each in ramps_of(late, Delays()) if each.what == "dead_band"]
    assert unknown.high_pct - unknown.low_pct == pytest.approx(2 * 0.25 * (1.0 + 0.0625))


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


def trial(
    low: float, high: float, what: Found = "dead_band", means: Means = "small_steps", deviation: float = 0.0
) -> Trial:
    return Trial(what, means, low, high, 12.0, 50.0, deviation)


def test_a_figure_of_several_brackets_by_hand() -> None:
    """Middles 0.5, 0.7 and 0.9: mean 0.7, deviation of the mean 0.2 / root of 3; half brackets 0.1, 0.1 and 0.2."""
    others = [trial(0.0, 9.0, "resolution"), trial(1, 3, means="ramp")]
    trials = [trial(0.4, 0.6), trial(0.6, 0.8), trial(0.7, 1.1), *others]
    found = smallest_command(trials, "dead_band")
    assert found.value == pytest.approx(0.7)
    assert found.beside == {
        "greatest": pytest.approx(0.9),
        "trials": 3.0,
        "by_small_steps": pytest.approx(0.7),
        "by_ramp": 2.0,
    }
    assert [each.value for each in found.components] == pytest.approx([0.4 / 3, 0.2 / 3**0.5])
    assert found.components[1].degrees_of_freedom == 2
    assert found.at_s == 12.0
    assert found.relies_on == (
        Reliance("command", 50.0, 1.0, 0),
        Reliance("command", pytest.approx(49.3), -1.0, 0),
    )


def test_noise_of_the_starts_is_averaged() -> None:
    """Root of the mean square over the root of their number: (0.3 squared + 0.4 squared) / 2 / 2."""
    trials = [trial(0.4, 0.6, means="ramp", deviation=each) for each in (0.3, 0.4)]
    found = smallest_command(trials, "dead_band")
    assert found.components[1].value == pytest.approx(0.25)
    assert found.components[1].name == "noise, start of the motion"
    assert found.beside["by_ramp"] == pytest.approx(0.5)


def test_one_bracket_has_no_scatter_and_none_has_a_reason() -> None:
    (component,) = smallest_command([trial(0.4, 0.6)], "dead_band").components
    assert component.value == pytest.approx(0.1)
    assert "after a reversal" in smallest_command([], "dead_band").why_not
    assert "answered twice" in smallest_command([trial(0.4, 0.6)], "resolution").why_not


def test_each_trial_is_converted_by_the_slope_at_its_own_place() -> None:
    """Middles 0.5 at slope 0.5 and 0.7 at slope 2: 0.25 and 1.4, mean 0.825; half brackets 0.05 and 0.2, mean 0.125."""
    trials = [
        Trial("dead_band", "ramp", 0.4, 0.6, 12.0, 20.5, 0.3, 20.0),
        Trial("dead_band", "ramp", 0.6, 0.8, 13.0, 80.7, 0.4, 80.0),
    ]
    found = smallest_command(trials, "dead_band", slope=lambda command: -0.5 if command < 50.0 else 2.0)
    assert found.value == pytest.approx(0.825)
    assert found.beside == {"greatest": pytest.approx(1.4), "trials": 2.0, "by_ramp": pytest.approx(0.825)}
    half, by_noise, scatter = (each.value for each in found.components)
    assert (half, by_noise) == (pytest.approx(0.125), pytest.approx(((0.15**2 + 0.8**2) / 2 / 2) ** 0.5))
    assert scatter == pytest.approx(1.15 / 2**0.5 / 2**0.5)
    assert {each.unit for each in found.components} == {"% of travel span"}
    assert [each.sensitivity for each in found.relies_on] == [0.5, -0.5]


def test_where_the_ideal_is_held_a_command_has_no_travel() -> None:
    outside = [Trial("dead_band", "ramp", 0.4, 0.6, 12.0, 101.0, 0.0, 100.5)]
    inside = [Trial("dead_band", "ramp", 0.4, 0.6, 12.0, 50.0, 0.0, 49.5)]

    def slope(command: float) -> float:
        return 1.0 if command <= 100.0 else 0.0

    held = smallest_command(outside, "dead_band", slope=slope)
    assert (held.value, held.why_not) == (
        None,
        "the ideal position is held where it was tried: the command there asks for no travel",
    )
    assert smallest_command(outside + inside, "dead_band", slope=slope).value == pytest.approx(0.5)


@given(
    travel_pct=floats(0.1, 1.0),
    at_pct=floats(30, 90),
    rangeability=sampled_from([None, 20.0, 50.0]),
    reverse=booleans(),
)
def test_a_dead_band_in_travel_is_the_same_whatever_the_characteristic(
    travel_pct: float, at_pct: float, rangeability: float | None, reverse: bool
) -> None:
    """The commands between which the ideal changes by it, to within the curvature over so short a way."""
    law = {"rangeability": rangeability, "reverse": reverse}
    commands = np.linspace(0.0, 100.0, 100_001)
    ideal = ideal_position_pct(commands, **law)
    rising = slice(None, None, -1 if reverse else 1)
    start = float(ideal_position_pct(at_pct, **law))
    if not 0.0 < start + travel_pct < 100.0:
        return
    end_pct = float(np.interp(start + travel_pct, ideal[rising], commands[rising]))
    width = abs(end_pct - at_pct)
    trials = [Trial("dead_band", "small_steps", width, width, 1.0, end_pct, 0.0, at_pct)]
    found = smallest_command(trials, "dead_band", slope=lambda command: float(ideal_slope(command, **law)))
    assert found.value == pytest.approx(travel_pct, rel=0.01, abs=0.002)


@given(middle=floats(0.1, 5), width=floats(0, 1), count=integers(1, 6))
def test_equal_brackets_are_not_narrowed_by_their_number(middle: float, width: float, count: int) -> None:
    found = smallest_command([trial(middle - width / 2, middle + width / 2)] * count, "dead_band")
    assert found.value == pytest.approx(middle)
    assert found.standard_uncertainty == pytest.approx(width / 2 / 3**0.5, abs=1e-9)
    assert found.beside["greatest"] == pytest.approx(middle)


def test_a_valve_that_does_not_come_back_shows_no_dead_band() -> None:
    made = stick(2.5, 1.5)
    stays = np.where(made.time_s > 75.0, made.travel_pct[round(75.0 / 0.125)], made.travel_pct)
    found = ramps_of(replace(made, travel_pct=stays), Delays(0.0, 0.0))
    assert {each.what for each in found} == {"resolution"}
    assert len(found) == 7


@pytest.mark.parametrize(("jumped_pct", "told"), [(20.0, False), (30.0, True)])
def test_a_valve_follows_in_jumps_where_half_of_a_ramps_travel_is_in_them(jumped_pct: float, told: bool) -> None:
    """A ramp of 50 % in 100 s: evenly from 20 to 60 s, and what is left in jumps of a second at 70, 80 and 90 s."""
    time = np.arange(0.0, 160.0, 0.125)
    command = np.interp(time, [20, 120, 160], [20, 70, 70])
    even, jump = 50.0 - jumped_pct, jumped_pct / 3.0
    heights = np.cumsum([20.0, even, jump, jump, jump])
    travel = np.interp(time, [40, 80, 90, 91, 100, 101, 110, 111], heights[[0, 1, 1, 2, 2, 3, 3, 4]])
    found = ramps_of(Recording(time, command, travel), Delays(0.0, 0.0))
    assert bool([each for each in found if each.what == "resolution"]) == told
