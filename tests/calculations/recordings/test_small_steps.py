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
    assert abs(figure.value - dead_band_pct) <= 0.1
    assert figure.standard_uncertainty >= 0.05 / 3**0.5 * 0.9


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
