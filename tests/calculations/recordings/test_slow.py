"""What a channel does slowly at rest: its block means, and the beat of hum."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats, integers, sampled_from

from kit.basis.recording import Recording
from kit.calculations.recordings.at_rest import rest_of
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.noise import Noise, noise_of
from kit.calculations.recordings.slow import Beat, beat_of, blocks_of, deviation_of
from kit.calculations.recordings.wander import wander_of
from tests.calculations.recordings.made import Array, noisy, programme, resting, walked, with_play
from tests.calculations.recordings.test_codes import written

LEVELS = [0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0, 0.0, 50.0] * 3


def routine(interval_s: float, noise_pct: float, start_number: int = 0) -> Recording:
    """Thirty holds of 24 s, that the travel reaches at once."""
    time, command = programme([(level, 24.0) for level in LEVELS], interval_s=interval_s)
    travel = noisy(command, noise_pct, start_number)
    return Recording(time, noisy(command, noise_pct, start_number + 100), travel, position_pct=travel)


def hummed(recording: Recording, amplitude: float, mains_hz: float, phase: float = 0.5) -> Recording:
    """The same with hum, of another phase in the command."""
    angle = 2.0 * np.pi * mains_hz * recording.time_s
    return replace(
        recording,
        command_pct=recording.command_pct + amplitude * np.sin(angle + phase),
        travel_pct=recording.travel_pct + amplitude * np.sin(angle + 2.0 * phase),
    )


def held_within_u(recording: Recording, true_pct: Array | None = None) -> float:
    """The share of holds whose mean lies within U (k = 2) of what it should be."""
    found, held = channels_of(recording), []
    for number, level in enumerate(LEVELS):
        place = recording.place(24.0 * number + 0.5, 24.0 * number + 23.9)
        rest = rest_of(recording.time_s[place], recording.travel_pct[place], found.travel)
        if rest is not None:
            held.append(abs(rest.value - (level if true_pct is None else true_pct[number])) <= 2.0 * rest.deviation)
    assert len(held) >= 15
    return float(np.mean(held))


def slow_of(recording: Recording) -> tuple[float, Beat | None]:
    noise = noise_of(recording.travel_pct, recording.interval_s)
    blocks = blocks_of(recording.time_s, recording.travel_pct, noise, recording.interval_s)
    assert blocks is not None
    return wander_of(blocks, noise), beat_of(blocks)


@settings(max_examples=15)
@given(interval_s=sampled_from([0.02, 0.1, 0.5, 1.0]), noise_pct=floats(0.005, 0.1), start_number=integers(0, 30))
def test_white_noise_has_neither_wander_nor_a_beat_and_its_means_are_within_u(
    interval_s: float, noise_pct: float, start_number: int
) -> None:
    made = routine(interval_s, noise_pct, start_number)
    found = channels_of(made).travel
    assert found.hum == 0.0
    assert found.wander < noise_pct / 2.0
    assert found.deviation == pytest.approx(noise_pct, rel=0.3)
    assert held_within_u(made) >= 0.93


@settings(max_examples=15)
@given(
    interval_s=sampled_from([0.02, 0.04, 0.1]),
    amplitude=floats(0.03, 0.4),
    off_hz=sampled_from([-0.04, 0.011, 0.02]),
    phase=floats(0.0, 6.0),
)
def test_hum_that_beats_slowly_is_known_and_its_means_are_within_u(
    interval_s: float, amplitude: float, off_hz: float, phase: float
) -> None:
    """50 Hz, a little off, is sampled at 50, 25 and 10 Hz as a sine of 25 to 91 s."""
    made = hummed(routine(interval_s, 0.02), amplitude, 50.0 + off_hz, phase)
    found = channels_of(made)
    for channel in (found.command, found.travel, found.quiet_travel):
        assert channel.hum == pytest.approx(amplitude, rel=0.15)
        assert channel.hum_period_s == pytest.approx(1.0 / abs(off_hz), rel=0.02)
    assert held_within_u(made) >= 0.93


@settings(max_examples=15)
@given(
    decimals=sampled_from([3, 4]),
    noise_pct=sampled_from([0.0, 0.004, 0.02]),
    interval_s=sampled_from([0.1, 0.5]),
    start_number=integers(0, 30),
)
def test_means_of_codes_are_within_u_and_u_is_no_less_than_their_step_allows(
    decimals: int, noise_pct: float, interval_s: float, start_number: int
) -> None:
    """12 bits on 16 mA, 0.0244 %: without noise a mean is as far off as one sample, by up to half of that."""
    off = np.random.default_rng(start_number).uniform(-0.1, 0.1, len(LEVELS))
    made = routine(interval_s, noise_pct, start_number)
    travel = written(made.travel_pct + off[np.minimum((made.time_s / 24.0).astype(int), len(LEVELS) - 1)], 12, decimals)
    made = replace(made, travel_pct=travel, command_pct=written(made.command_pct, 12, decimals))
    assert held_within_u(made, np.array(LEVELS) + off) >= 0.93
    if noise_pct == 0.0:
        assert channels_of(made).travel.of_mean(10_000) >= 0.0244 / 12**0.5


@pytest.mark.parametrize("amplitude", [0.1, 0.2, 0.4])
@pytest.mark.parametrize("period_s", [30.0, 72.0, 120.0])
@pytest.mark.parametrize("step_pct", [0.0, 0.05])
def test_triangles_and_staircases_of_the_command_are_no_hum(amplitude: float, period_s: float, step_pct: float) -> None:
    """Even ramps there and back the whole time, and the same in steps: a third overtone of a ninth and more."""
    time = 0.1 * np.arange(9000)
    command = 50.0 + amplitude * (2.0 * np.abs((time / period_s) % 1.0 * 2.0 - 1.0) - 1.0)
    command = np.round(command / step_pct) * step_pct if step_pct else command
    found = channels_of(Recording(time, noisy(command, 0.01), noisy(with_play(command, 0.05), 0.01, 9)))
    assert (found.command.hum, found.travel.hum) == (0.0, 0.0)


@pytest.mark.parametrize(("rate_hz", "is_hum"), [(10.0, True), (8.0, False)])
def test_a_great_sine_of_the_command_is_hum_where_the_mains_can_beat_so(rate_hz: float, is_hum: bool) -> None:
    """0.4 % every 50 s: 50 Hz sampled at 8 Hz beats with 2 Hz, so that something else turns the command."""
    made = routine(1.0 / rate_hz, 0.01)
    sine = 0.4 * np.sin(2.0 * np.pi * 0.02 * made.time_s)
    found = channels_of(replace(made, command_pct=made.command_pct + sine, travel_pct=made.travel_pct + sine))
    assert (found.command.hum > 0.0, found.travel.hum > 0.0) == (is_hum, is_hum)


@pytest.mark.parametrize("number", range(4))
def test_small_steps_at_random_are_no_hum(number: int) -> None:
    time = 0.1 * np.arange(9000)
    command = 50.0 + 0.05 * np.random.default_rng(number).integers(0, 4, 200)[(time / 6.0).astype(int)]
    assert channels_of(Recording(time, noisy(command, 0.01), noisy(command, 0.01, 9))).command.hum == 0.0


def test_steps_of_the_command_that_the_travel_follows_are_no_hum() -> None:
    """Small steps up and down in a tenth of the recording, and throughout by more than hum."""
    time, command = programme([(50.0, 300.0), *[(50.0 + 0.05 * (n % 4), 6.0) for n in range(12)], (50.0, 300.0)])
    assert channels_of(Recording(time, noisy(command, 0.01), noisy(with_play(command, 0.02), 0.01, 9))).command.hum == 0
    time, command = programme([(50.0 + 0.5 * (n % 2), 10.0) for n in range(60)])
    assert channels_of(Recording(time, noisy(command, 0.01), noisy(command, 0.01, 9))).travel.hum == 0.0


def test_a_valve_that_hunts_has_no_hum_and_no_noise_of_its_swing() -> None:
    """0.6 % peak to peak every 25 s at one level: nothing tells that it is not the valve's own."""
    time = 0.1 * np.arange(6000)
    swings = resting(noisy(50.0 + 0.3 * np.sin(2.0 * np.pi * time / 25.0), 0.01), 0.1)
    found = channels_of(swings)
    assert (found.travel.hum, found.quiet_travel.hum, found.quiet_travel.wander) == (0.0, 0.0, 0.0)
    assert found.quiet_travel.band < 0.1
    assert found.travel.wander <= 0.1


def test_a_valve_that_hunts_beside_hum_of_the_command_keeps_its_swing() -> None:
    """Hum of 0.03 beats every 50 s in both, and the valve swings by 0.5 as often: three times the hum counts."""
    made = hummed(routine(0.1, 0.01), 0.03, 50.02)
    swings = 0.5 * np.sin(2.0 * np.pi * made.time_s / 50.0)
    found = channels_of(replace(made, travel_pct=made.travel_pct + swings))
    assert found.travel.hum <= 3.1 * 0.03


@pytest.mark.parametrize("interval_s", [0.02, 0.1])
@pytest.mark.parametrize("hum_pct", [0.0, 0.05])
@pytest.mark.parametrize("period_s", [3.0, 8.0, 20.0])
def test_the_even_swing_of_a_valve_is_neither_hum_nor_noise(interval_s: float, hum_pct: float, period_s: float) -> None:
    """0.6 % peak to peak, to and fro at an even speed, with and without hum on both channels."""
    time = np.arange(0.0, 300.0, interval_s)
    swings = 50.0 + 0.3 * (2.0 * np.abs((time / period_s) % 1.0 * 2.0 - 1.0) - 1.0)
    made = resting(noisy(swings, 0.02), interval_s)
    made = hummed(replace(made, command_pct=noisy(made.command_pct, 0.01, 8)), hum_pct, 50.02)
    found = channels_of(made)
    assert found.travel.hum <= 1.2 * hum_pct
    assert 2.0 * found.quiet_travel.band < 0.5


def test_a_sine_of_the_travel_alone_is_hum_where_it_goes_on_through_all_levels_and_the_mains_can_beat_so() -> None:
    made = routine(0.1, 0.01)
    one = replace(made, travel_pct=hummed(made, 0.1, 50.02).travel_pct)
    assert channels_of(one).travel.hum == pytest.approx(0.1, rel=0.1)
    place = (made.time_s / 24.0).astype(int)
    anew = 0.1 * np.sin(2.0 * np.pi * 0.09 * made.time_s + 2.4 * place**2)  # another phase after each step
    assert channels_of(replace(made, travel_pct=made.travel_pct + anew)).travel.hum == 0.0
    odd = routine(1.0 / 8.0, 0.01)  # 50 Hz sampled at 8 Hz beats with 2 Hz
    slow = replace(odd, travel_pct=odd.travel_pct + 0.1 * np.sin(2.0 * np.pi * 0.02 * odd.time_s))
    assert channels_of(slow).travel.hum == 0.0


def test_noise_that_a_filter_slowed_is_seen_over_two_seconds() -> None:
    """Means over 20 samples of 0.02 s: second differences of neighbours see a twentieth of it."""
    slow = np.convolve(np.random.default_rng(1).normal(0.0, 0.1, 30_019), np.full(20, 0.05), mode="valid")
    found = channels_of(resting(50.0 + slow, 0.02)).travel
    assert 0.7 * slow.std() < found.deviation < 1.1 * slow.std()
    assert noise_of(slow, 0.02).deviation < 0.3 * slow.std()


@given(by_s=floats(0.0, 1e5), offset=floats(-20.0, 20.0), sign=sampled_from([-1.0, 1.0]))
@settings(max_examples=8)
def test_wander_and_beat_know_no_offset_sign_or_clock(by_s: float, offset: float, sign: float) -> None:
    made = hummed(routine(0.2, 0.02), 0.1, 50.02)
    other = replace(made, time_s=made.time_s + by_s, travel_pct=offset + sign * made.travel_pct)
    (one, beat), (two, same) = slow_of(made), slow_of(other)
    assert two == pytest.approx(one, rel=1e-3, abs=1e-6)
    assert beat is not None
    assert same is not None
    assert (same.frequency_hz, same.amplitude) == pytest.approx((beat.frequency_hz, beat.amplitude), rel=1e-3)


def test_too_few_blocks_tell_nothing() -> None:
    assert blocks_of(np.arange(10.0), np.arange(10.0), Noise(0.0, 0.0), 1.0) is None
    assert blocks_of(np.arange(100.0), np.full(100, np.nan), Noise(0.0, 0.0), 1.0) is None
    short = blocks_of(np.arange(30.0), np.zeros(30), Noise(0.0, 0.0), 1.0)
    assert short is not None
    assert beat_of(short) is None
    made = walked(0.1, 0.02)
    moving = blocks_of(made.time_s, 7.0 * made.time_s, Noise(0.02, 0.0), 0.1)
    assert moving is not None
    assert (wander_of(moving, Noise(0.02, 0.0)), deviation_of(moving, Noise(0.02, 0.0)), beat_of(moving)) == (
        0,
        0,
        None,
    )
