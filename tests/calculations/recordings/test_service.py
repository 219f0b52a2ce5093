"""A valve in service."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.segments import parts_of_stretches
from kit.calculations.recordings.service import Service, service_of
from tests.calculations.recordings.made import noisy, programme, walked


def in_service(
    *, lag_s: float = 3.0, offset_pct: float = 0.4, interval_s: float = 1.0, length_s: float = 3600.0, number: int = 1
) -> Recording:
    """A command of many slow waves from 39 to 79 %, that the travel follows late and too far open."""
    generator = np.random.default_rng(number)
    time = np.arange(0.0, length_s, interval_s)
    waves = [(generator.uniform(20, 200), generator.uniform(0, 2 * np.pi)) for _ in range(12)]

    def asked(at: np.ndarray) -> np.ndarray:
        return 59.0 + sum(1.6 * np.sin(2 * np.pi * at / period + phase) for period, phase in waves)

    travel = noisy(asked(time - lag_s) + offset_pct, 0.05, number)
    return Recording(time, noisy(asked(time), 0.02, number + 1), travel, position_pct=travel)


def told(recording: Recording) -> Service | None:
    channels = channels_of(recording)
    return service_of(recording, float, parts_of_stretches(recording, channels), channels)


def test_an_hour_of_control_is_told_as_such_and_holds_no_test() -> None:
    found = reduce_recording(in_service(), float)
    assert found.service is not None
    assert (found.segments, found.rests, found.readings, found.steps, found.trials) == ((), (), (), (), ())
    assert found.left_out == ()
    assert found.starts.value is None or found.starts.value > 100.0
    low, high = found.service.command_pct
    assert (low, high) == (pytest.approx(found.recording.command_pct.min()), pytest.approx(59 + 1.6 * 8, abs=8))
    assert found.service.command_turns.value == pytest.approx(found.service.travel_turns.value, rel=0.2)
    assert found.service.command_turns.value > 60.0


def test_segments_that_a_person_set_in_it_stand() -> None:
    mine = (Segment("ramp_up", 100.0, 160.0),)
    found = reduce_recording(in_service(), float, segments=mine)
    assert (found.service, found.segments) == (None, mine)


def test_lag_and_error_are_found_again() -> None:
    """Of 24 valves: a figure is within U, k = 2, of which 95 % is promised."""
    generator = np.random.default_rng(11)
    outside = 0
    for number in range(24):
        lag_s, offset_pct, interval_s = (
            generator.uniform(0.3, 20.0),
            generator.uniform(0.3, 2.0),
            (0.2, 1.0)[number % 2],
        )
        found = told(in_service(lag_s=lag_s, offset_pct=offset_pct, interval_s=interval_s, number=number))
        assert found is not None
        assert found.lag.standard_uncertainty < interval_s
        assert found.error_mean.standard_uncertainty < 0.02
        assert found.error_rms.standard_uncertainty < 0.05
        assert found.error_most.standard_uncertainty < 0.15
        pairs = (
            (found.lag, lag_s),
            (found.error_mean, offset_pct),
            (found.error_rms, abs(offset_pct)),
            (found.error_most, abs(offset_pct)),
        )
        outside += sum(abs(figure.value - true) > 2.0 * figure.standard_uncertainty for figure, true in pairs)
    assert outside <= 9  # of 96: at 95 % more come once in 50 draws


def test_a_valve_that_does_not_follow_has_no_lag_and_says_so() -> None:
    made = in_service()
    stuck = told(replace(made, travel_pct=noisy(np.full(len(made), 50.0), 0.05)))
    assert stuck is not None
    assert (stuck.lag.value, stuck.error_mean.value) == (None, None)
    assert "does not follow the command" in stuck.lag.why_not
    assert stuck.travel_turns.value == 0.0


def test_what_chance_leaves_of_part_of_an_hour_is_in_the_reversals() -> None:
    """Of n in half an hour: root of (n + 1) / 2, twice, and one more or less."""
    found = told(in_service(length_s=1800.0))
    assert found is not None
    count = found.command_turns.beside["turns"]
    chance, one, _ = (each.standard_uncertainty for each in found.command_turns.components)
    assert found.command_turns.value == pytest.approx(2.0 * count, rel=0.01)
    assert (chance, one) == (pytest.approx(2 * ((count + 1) / 2) ** 0.5, rel=0.01), pytest.approx(2 / 3**0.5, rel=0.01))


def test_turns_of_about_the_least_that_counts_are_in_the_uncertainty() -> None:
    """90 waves of 0.47 or 0.53 % beside those of 5 %: either may be more than 0.5 % but for noise."""
    made = in_service(interval_s=0.2)
    small = 0.235 * np.sign(np.sin(2 * np.pi * made.time_s / 40.0))
    near = told(replace(made, travel_pct=59.0 + small))
    assert near is not None
    either = near.travel_turns.components[2]
    assert (near.travel_turns.value, either.name) == (0.0, "sampling, reversals of about 0.5 %")
    assert either.value == pytest.approx(90.0, abs=1.0)


@pytest.mark.parametrize(("hum_pct", "hertz"), [(0.4, 7.03), (0.25, 0.023)])
def test_a_routine_under_hum_is_none_in_service(hum_pct: float, hertz: float) -> None:
    """Five cycles of holds of 12 s."""
    holds = [(level, 12.0) for level in [0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0] * 5]
    time, command = programme(holds, interval_s=0.05, noise_pct=0.02)
    hums = command + hum_pct * np.sin(2 * np.pi * hertz * time)
    assert reduce_recording(Recording(time, hums, hums), float).service is None


def test_a_routine_under_hum_at_a_sample_a_second_is_none_in_service() -> None:
    """Holds of 25 s, then small steps of 4 s up and down, which move the command as a loop does."""
    holds = [(level, 25.0) for level in [0.0, 25.0, 50.0, 75.0, 100.0, 50.0] * 5]
    small = [(50.0 + 0.1 * min(step, 230 - step), 4.0) for step in range(1, 230)]
    time, command = programme([*holds, *small], interval_s=1.0, noise_pct=0.02)
    hums = command + 0.165 * np.sin(2 * np.pi * 50.394 * time)
    assert reduce_recording(Recording(time, hums, hums), float).service is None


@pytest.mark.parametrize("interval_s", [0.1, 1.0])
def test_no_routine_is_service(interval_s: float) -> None:
    """A walk, small steps there and back, ramps, a command at rest, and five minutes too few."""
    assert told(walked(interval_s, 0.02)) is None
    small = [(50.0 + 0.5 * (number % 2) + 0.1 * (number % 7), 8.0) for number in range(90)]
    time, command = programme(small, interval_s=interval_s, noise_pct=0.02)
    assert told(Recording(time, command, command)) is None
    ramps = 50.0 + 20.0 * np.abs((time / 150.0) % 2.0 - 1.0)
    assert told(Recording(time, ramps, ramps)) is None
    still = noisy(np.full(time.size, 50.0), 0.3)
    assert told(Recording(time, still, still)) is None
    assert told(in_service(length_s=290.0, interval_s=interval_s)) is None
    made = in_service(interval_s=interval_s)
    assert told(replace(made, command_pct=np.full(len(made), np.nan))) is None
