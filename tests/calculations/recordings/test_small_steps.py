"""Dead band and resolution by small steps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.small_steps import small_step_trials
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.trials import Trial
from tests.calculations.recordings.made import later, mirrored, noisy, programme, same, with_play


def small_steps(dead_band_pct: float, step_pct: float = 0.1, noise_pct: float = 0.0) -> Recording:
    """Up from 50 % in small steps of 5 s each, and down again, with play."""
    up = [(50.0 + step_pct * number, 5.0) for number in range(12)]
    down = [(50.0 + step_pct * (11 - number), 5.0) for number in range(1, 20)]
    time, command = programme([(40.0, 20.0), *up, *down], interval_s=0.125)
    return Recording(time, command, noisy(with_play(command, dead_band_pct), noise_pct))


def steps_of(recording: Recording) -> tuple[Trial, ...]:
    return small_step_trials(recording, channels_of(recording), same)


@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
@pytest.mark.parametrize("dead_band_pct", [0.4, 0.9])
def test_small_steps_bracket_the_dead_band_of_play(noise_pct: float, dead_band_pct: float) -> None:
    up = [(50.0 + 0.1 * number, 5.0) for number in range(30)]
    down = [(52.9 - 0.1 * number, 5.0) for number in range(1, 40)]
    time, command = programme([(40.0, 20.0), *up, *down], interval_s=0.1)
    travel = noisy(with_play(command, dead_band_pct), noise_pct)
    found = reduce_recording(Recording(time, noisy(command, noise_pct, 6), travel), same)
    figure = smallest_command(found.trials, "dead_band")
    assert abs(figure.value - dead_band_pct) <= min(2.0 * figure.standard_uncertainty, 0.11)
    assert figure.standard_uncertainty >= 0.05 / 3**0.5 * 0.9


def test_small_steps_by_hand() -> None:
    """Play of 0.43 %: up to 51.1 in steps of 0.1, then down: no answer at 50.7, an answer at 50.6.

    On the way down and up each further step is answered: nothing is not, 0.1 is. The valve went
    0.07 at 50.6, so that play of 0.43 was taken up; a motor that starts every 0.1 % might have started 0.03 later.
    """
    trials = steps_of(small_steps(0.43))
    (dead_band,) = [each for each in trials if each.what == "dead_band"]
    assert 0.39 < dead_band.low_pct <= 0.43
    assert dead_band.high_pct == pytest.approx(0.53)
    assert dead_band.command_pct == pytest.approx(50.6)
    assert dead_band.at_s == pytest.approx(20.0 + 12 * 5.0 + 4 * 5.0)
    assert dead_band.means == "small_steps"
    resolutions = [each for each in trials if each.what == "resolution"]
    assert len(resolutions) == 10 + 13  # the first after the step of 10 %, and after 50.6, may be the rest of an answer
    assert {(round(each.low_pct, 9), round(each.high_pct, 9)) for each in resolutions[:10]} == {(0.0, 0.1)}
    assert [round(each.high_pct, 9) for each in resolutions[10:]] == [0.2] + [0.1] * 12


def test_an_answer_in_two_parts_is_one_answer() -> None:
    """A motor in pulses moves every 0.6 %: 0.5 on one step of 0.1 and the last 0.1 on the next, after four without."""
    levels = [(40.0, 20.0), *((50.0 + 0.1 * number, 5.0) for number in range(31))]
    time, command = programme(levels)
    number = np.round((command - 50.0) / 0.1)
    parts = np.where(number < 0, -10.0, 0.6 * (number // 6) - 0.1 * (number % 6 == 0))
    trials = steps_of(Recording(time, noisy(command, 0.001), noisy(50.0 + parts, 0.002)))
    assert {each.what for each in trials} == {"resolution"}
    assert [round(each.command_pct, 1) for each in trials][-4:] == [51.2, 51.8, 52.4, 53.0]
    assert all(each.low_pct <= 0.6 <= each.high_pct for each in trials[-4:])


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


@pytest.mark.parametrize(("moves_pct", "answers"), [(0.02, False), (0.04, True)])
def test_a_move_of_three_hundredths_is_an_answer(moves_pct: float, answers: bool) -> None:
    time, command = programme([(50.0, 10.0), (50.4, 10.0), (50.8, 10.0), (51.2, 10.0)])
    travel = np.select([time < 10, time < 20, time < 30], [50.0, 51.0, 51.0 + moves_pct], 53.0)
    first = steps_of(Recording(time, noisy(command, 0.001), noisy(travel, 0.002)))[0]
    assert first.command_pct == pytest.approx(50.8 if answers else 51.2, abs=0.01)


def test_motions_too_small_to_be_seen_add_up_until_they_are() -> None:
    """0.02 % at each step of 0.1 %: the second is seen, and what hid is in the bracket.

    The first after the step of 10 % may be the rest of the answer to that.
    """
    levels = [(40.0, 20.0), *((50.0 + 0.1 * number, 10.0) for number in range(8))]
    time, command = programme(levels)
    travel = np.where(command < 45.0, 40.0, 50.0 + 0.2 * (command - 50.0))
    found = steps_of(Recording(time, noisy(command, 0.001), noisy(travel, 0.002)))
    assert [each.command_pct for each in found] == pytest.approx([50.4, 50.6], abs=0.01)
    assert all(each.low_pct < 0.1 for each in found)


def test_steps_of_unequal_size_are_told_by_their_own_commands() -> None:
    """Play of 0.5 %: 51.0, then 50.8 and 50.55 without an answer, 50.4 with one, of 0.1 %.

    No answer one way tells how often the motor starts: it may do so only every 0.6 %.
    """
    levels = [(40.0, 20.0), (50.0, 8.0), (51.0, 8.0), (50.8, 8.0), (50.55, 8.0), (50.4, 8.0)]
    time, command = programme(levels)
    (found,) = [
        each
        for each in steps_of(Recording(time, noisy(command, 0.002), noisy(with_play(command, 0.5), 0.005)))
        if each.what == "dead_band"
    ]
    assert found.low_pct == pytest.approx(0.5, abs=0.02)
    assert found.high_pct == pytest.approx(0.6 + 0.5, abs=0.02)


def test_steps_coarser_than_the_dead_band_leave_a_bracket_from_nothing() -> None:
    levels = [(40.0, 20.0), (50.0, 8.0), (50.5, 8.0), (51.0, 8.0), (50.5, 8.0), (50.0, 8.0)]
    time, command = programme(levels)
    made = Recording(time, noisy(command, 0.002), noisy(with_play(command, 0.2), 0.005))
    (found,) = [each for each in steps_of(made) if each.what == "dead_band"]
    assert (found.low_pct, found.high_pct) == (0.0, pytest.approx(0.5 + 0.2, abs=0.01))
    figure = smallest_command(steps_of(made), "dead_band")
    assert figure.beside["at_most"] == pytest.approx(0.7, abs=0.01)
    assert 2.0 * figure.standard_uncertainty > 0.25


def test_a_wait_shorter_than_the_answer_widens_the_bracket_by_a_step_either_way() -> None:
    """The answer may be to the step before, and so may the last one the other way have been."""
    made = small_steps(0.43)
    waited = [
        [each for each in small_step_trials(made, channels_of(made), same, answer_s) if each.what == "dead_band"]
        for answer_s in (3.0, 4.0, 7.0)
    ]
    for steps, trials in enumerate(waited):
        assert waited[0][0].low_pct - trials[0].low_pct == pytest.approx(0.1 * steps)
        assert trials[0].high_pct - waited[0][0].high_pct == pytest.approx(0.1 * steps)


def jumping(sticks: bool) -> Recording:
    """Steps of 0.1 %, up by 2.5 and down by 3.5, that the travel follows in jumps of 0.35; 0.6 after a reversal."""
    up = [(50.0 + 0.1 * number, 5.0) for number in range(1, 25)]
    down = [(52.4 - 0.1 * number, 5.0) for number in range(1, 36)]
    time, command = programme([(40.0, 20.0), (50.0, 20.0), *up, *down], interval_s=0.1)
    travel, stands, moved_at, heading = np.empty_like(command), 40.0, 40.0, 1.0
    for place, asked in enumerate(command.tolist()):
        asks = float(np.sign(asked - moved_at)) or heading
        least = 0.35 if asks == heading else 0.6
        if abs(asked - moved_at) >= least - 1e-9:
            moved_at, heading = (
                (moved_at + asks * least, asks) if sticks and abs(asked - moved_at) < 5 else (asked, asks)
            )
            stands = moved_at
        travel[place] = stands
    return Recording(time, noisy(command, 0.002), noisy(travel, 0.005))


@pytest.mark.parametrize("sticks", [False, True])
def test_jumps_count_from_the_command_or_add_up_and_the_bracket_holds_both(sticks: bool) -> None:
    """A positioner rests off the command of its last answer; a stem that sticks keeps what was left of the step."""
    trials = steps_of(jumping(sticks))
    for what, true in (("dead_band", 0.6), ("resolution", 0.35)):
        figure = smallest_command(trials, "dead_band" if what == "dead_band" else "resolution")
        assert abs(figure.value - true) <= 2.0 * figure.standard_uncertainty


def test_travel_one_way_over_what_is_asked_for_is_the_gain() -> None:
    made = small_steps(0.43)
    assert steps_of(made)[0].gain == pytest.approx(1.0, abs=0.01)
    flat = replace(made, travel_pct=40.0 + 0.5 * made.travel_pct)
    assert steps_of(flat)[0].gain == pytest.approx(0.5, abs=0.01)
    short = Recording(made.time_s[:400], made.command_pct[:400], made.travel_pct[:400])
    assert {each.gain for each in steps_of(short)} == {None}


def jogged(step_pct: float, dead_band_pct: float, interval_s: float = 0.05) -> Recording:
    """Up by 4 %, down by 8 and up by 4 again, 1.4 s each; the travel is 0.4 s late."""
    count = round(4.0 / step_pct)
    ways = [1.0] * count + [-1.0] * 2 * count + [1.0] * count
    levels = [(50.0 + step_pct * float(number), 1.4) for number in np.cumsum(ways)]
    time, command = programme([(40.0, 20.0), (50.0, 20.0), *levels, (20.0, 20.0)], interval_s=interval_s)
    travel = np.interp(time - 0.4, time, with_play(command, dead_band_pct))
    return Recording(time, noisy(command, 0.01), noisy(travel, 0.01, 4))


@pytest.mark.parametrize(("step_pct", "dead_band_pct"), [(0.1, 0.33), (0.25, 0.6), (0.5, 1.2)])
def test_jogs_too_quick_for_a_level_each_bracket_the_dead_band(step_pct: float, dead_band_pct: float) -> None:
    made = jogged(step_pct, dead_band_pct)
    trials = small_step_trials(made, channels_of(made), same, 0.4)
    assert len([each for each in trials if each.what == "dead_band"]) == 2
    figure = smallest_command(trials, "dead_band")
    assert abs(figure.value - dead_band_pct) <= 2.0 * figure.standard_uncertainty
    assert figure.standard_uncertainty < 1.1 * step_pct / 2.0


def test_jogs_between_which_some_were_not_told_break_the_sequence() -> None:
    """Blank from 50.9 on the way up to 51.0 on the way down: nobody saw where the valve moved last."""
    made = jogged(0.1, 0.33)
    command = np.where((made.time_s > 54.0) & (made.time_s < 140.0), 50.0 + made.time_s % 1.0, made.command_pct)
    trials = small_step_trials(replace(made, command_pct=command), channels_of(made), same, 0.4)
    assert len([each for each in trials if each.what == "dead_band"]) == 1


def test_jogs_that_tell_something_are_not_told_as_left_out() -> None:
    """And those of two samples each are: nobody knows where the travel stood."""
    seen, coarse = (reduce_recording(jogged(0.5, 0.7, interval_s), same) for interval_s in (0.05, 0.6))
    assert [each.why for each in seen.left_out if each.what == "stretch"] == []
    assert {each.why[:31] for each in coarse.left_out if each.what == "stretch"} == {"the command went in small steps"}
    assert not coarse.trials


def test_a_ramp_or_a_restless_valve_parts_the_small_steps() -> None:
    """After either, nobody knows at which command the valve last moved."""
    made = small_steps(0.45)
    restless = np.where((made.time_s >= 80.0) & (made.time_s < 85.0), 45.0 + made.time_s % 2.5, made.travel_pct)
    assert [each for each in steps_of(replace(made, travel_pct=restless)) if each.what == "dead_band"] == []
