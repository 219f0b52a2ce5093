"""Motion with the command at rest: hunting, stick-slip, noise, drift."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.hunting import (
    Stillness,
    command_rests,
    rest_behaviour,
    rests_of,
    swings_without_command,
    worst_rest,
)
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.segments import parts_of_stretches
from tests.calculations.recordings.made import later, mirrored, noisy, programme, resting, whole

CLEAN = Channels(Noise(0.0, 0.0), Noise(0.0, 0.0), Noise(0.0, 0.0))


def behaviour(recording: Recording, dead_band_pct: float = 0.0, channels: Channels | None = None) -> Stillness:
    noise = channels or channels_of(recording)
    found = rest_behaviour(recording, whole(recording), noise, dead_band_pct=dead_band_pct)
    assert found is not None
    return found


def triangle(amplitude_pct: float, period_s: float, length_s: float = 60.0, interval_s: float = 0.1) -> np.ndarray:
    phase = (np.arange(0.0, length_s, interval_s) / period_s) % 1.0
    return 50.0 + amplitude_pct * (np.abs(2.0 * phase - 1.0) - 0.5)


@pytest.mark.parametrize("interval_s", [0.01, 0.1])
@pytest.mark.parametrize(("amplitude_pct", "period_s"), [(1.0, 4.0), (0.6, 7.0)])
def test_a_triangle_at_rest_is_hunting_of_its_amplitude_and_period(
    interval_s: float, amplitude_pct: float, period_s: float
) -> None:
    time = np.arange(0.0, 60.0, interval_s)
    phase = (time / period_s) % 1.0
    travel = noisy(50.0 + amplitude_pct * (np.abs(2.0 * phase - 1.0) - 0.5), 0.02)
    recording = resting(travel, interval_s)
    found = rest_behaviour(recording, whole(recording), channels_of(recording))
    assert found is not None
    assert found.kind == "hunting"
    assert abs(found.amplitude.value - amplitude_pct) <= 2.0 * found.amplitude.standard_uncertainty
    assert abs(found.period.value - period_s) <= 2.0 * found.period.standard_uncertainty + 0.01


def test_noise_at_rest_is_not_hunting() -> None:
    recording = resting(noisy(np.full(6000, 50.0), 0.1), 0.01)
    found = rest_behaviour(recording, whole(recording), channels_of(recording))
    assert found is not None
    assert found.kind in ("at_rest", "noise")
    assert found.amplitude.value == 0.0
    assert found.period.value is None


def test_irregular_jumps_at_rest_are_stick_slip() -> None:
    ends = np.cumsum([3, 11, 2, 4, 9, 14, 2, 3, 7])
    travel = 50.0 + 0.8 * (np.searchsorted(ends, np.arange(0.0, 60.0, 0.1), side="right") % 2)
    recording = resting(noisy(travel, 0.02), 0.1)
    found = rest_behaviour(recording, whole(recording), channels_of(recording))
    assert found is not None
    assert found.kind == "stick_slip"
    assert found.period.value is None


def test_a_creeping_valve_drifts_and_does_not_hunt() -> None:
    recording = resting(noisy(50.0 + 0.01 * np.arange(600) * 0.1, 0.01), 0.1)
    found = rest_behaviour(recording, whole(recording), channels_of(recording))
    assert found is not None
    assert found.kind == "drift"
    assert found.amplitude.value == 0.0


def test_a_command_that_moves_is_no_rest() -> None:
    recording = resting(np.full(600, 50.0), 0.1)
    moving = Recording(recording.time_s, recording.command_pct + 0.01 * recording.time_s, recording.travel_pct)
    assert rest_behaviour(moving, whole(moving), channels_of(moving)) is None


@settings(max_examples=25)
@given(
    amplitude_pct=floats(0.3, 5),
    period_s=floats(2, 12),
    size=floats(0.5, 3),
    by_s=integers(0, 10**6),
    mirrors=booleans(),
)
def test_a_swing_scales_and_knows_neither_clock_nor_side(
    amplitude_pct: float, period_s: float, size: float, by_s: int, mirrors: bool
) -> None:
    one = resting(triangle(amplitude_pct, period_s, interval_s=0.125), 0.125)
    other = replace(one, travel_pct=50.0 + size * (one.travel_pct - 50.0))
    other = later(mirrored(other) if mirrors else other, by_s)
    first, second = (behaviour(each, channels=CLEAN) for each in (one, other))
    assert (first.kind, second.kind) == ("hunting", "hunting")
    assert first.amplitude.value == pytest.approx(amplitude_pct, rel=0.13)  # a sample may miss each corner
    assert abs(first.period.value - period_s) <= 2.0 * first.period.standard_uncertainty
    assert abs(first.amplitude.value - amplitude_pct) <= 2.0 * first.amplitude.standard_uncertainty
    assert second.amplitude.value == pytest.approx(size * first.amplitude.value, rel=1e-9)
    assert second.period.value == pytest.approx(first.period.value, rel=1e-9)
    assert second.reversals == first.reversals
    assert second.turn_s == pytest.approx(first.turn_s + by_s)


def test_a_triangle_sampled_at_its_corners_by_hand() -> None:
    """4 s, 1 %: turns every 2 s from 2 to 58 s, 29 of them; 28 half periods of 2 s.

    Between the quarters of a swing lie nine samples: 0.5 % over 9, of which 0.15 may lie beyond a turn, at either
    side of the swing. The middles are passed 28 times, so that there are 26 periods that overlap by half; the first and
    the last middle are known to a sample: 0.1 s over 13.
    """
    found = behaviour(resting(triangle(1.0, 4.0), 0.1), channels=CLEAN)
    assert found.reversals == 29
    assert found.amplitude.value == pytest.approx(1.0)
    assert found.amplitude.beside == {"reversals": 29.0}
    assert found.period.value == pytest.approx(4.0)
    assert found.turn_s[[0, -1]] == pytest.approx([2.0, 58.0])
    assert sorted({round(each, 9) for each in found.turn_pct}) == [49.5, 50.5]
    by_sampling = {each.name: each.value for each in (*found.amplitude.components, *found.period.components)}
    assert by_sampling["sampling, travel between the samples at the turns"] == pytest.approx(2 * 0.15 * 0.5 / 9)
    assert by_sampling["sampling, first and last turn"] == pytest.approx(0.1 / 13)
    assert by_sampling["noise, travel at the turns"] == pytest.approx(0.0, abs=1e-9)
    assert by_sampling["noise, scatter of the swings"] == pytest.approx(0.0, abs=1e-9)
    assert by_sampling["noise, turns"] == pytest.approx(0.0, abs=1e-9)
    assert (found.amplitude.at_s, found.period.at_s) == pytest.approx((2.0, 2.0))
    assert found.amplitude.relies_on == (
        Reliance("travel", pytest.approx(50.5), 1.0, 0),
        Reliance("travel", pytest.approx(49.5), -1.0, 0),
    )
    assert found.period.relies_on == (Reliance("time", pytest.approx(4.0), 1.0),)


def test_swings_of_different_size_scatter_the_amplitude() -> None:
    """Of 1.0 and 2.0 % in turn: mean 1.5, scatter over n swings is their deviation over root of n, widened by t."""
    time = np.arange(0.0, 60.0, 0.1)
    corners = 50.0 + np.array([0.0, *np.tile([1.0, 0.0, 2.0, 0.0], 5)])
    found = behaviour(resting(np.interp(time, 3.0 * np.arange(21), corners), 0.1), channels=CLEAN)
    swings = np.abs(np.diff(found.turn_pct))
    assert found.amplitude.value == pytest.approx(swings.mean())
    scatter = next(each for each in found.amplitude.components if each.name == "noise, scatter of the swings")
    of_mean = swings.std(ddof=1) / swings.size**0.5
    assert of_mean < scatter.value < 1.1 * of_mean


@pytest.mark.parametrize(("reversals", "kind"), [(2, "noise"), (3, "hunting")])
def test_hunting_takes_three_reversals(reversals: int, kind: str) -> None:
    heights = [50.0, *(51.0 if number % 2 == 0 else 50.0 for number in range(reversals)), 50.5, 50.5]
    times = [0.0, *(5.0 + 5.0 * number for number in range(reversals)), 5.0 + 5.0 * reversals, 60.0]
    time = np.arange(0.0, 60.0, 0.1)
    found = behaviour(resting(np.interp(time, times, heights), 0.1))
    assert (found.kind == kind) or (reversals == 2 and found.kind == "drift")
    assert (found.amplitude.value > 0.0) is (kind == "hunting")
    assert found.reversals == (3 if kind == "hunting" else 0)


@pytest.mark.parametrize(("amplitude_pct", "kind"), [(0.09, "noise"), (0.12, "hunting")])
def test_a_swing_below_a_tenth_of_a_percent_is_none(amplitude_pct: float, kind: str) -> None:
    assert behaviour(resting(triangle(amplitude_pct, 4.0), 0.1)).kind == kind


@pytest.mark.parametrize(("dead_band_pct", "kind"), [(1.9, "hunting"), (2.1, "noise")])
def test_a_short_swing_within_half_of_the_dead_band_is_none(dead_band_pct: float, kind: str) -> None:
    """1 % in 8 s over 30 s: fewer than ten reversals."""
    found = behaviour(resting(triangle(1.0, 8.0, 30.0), 0.1), dead_band_pct, CLEAN)
    assert found.kind == kind
    assert found.period.why_not == ("" if kind == "hunting" else "the valve does not hunt")
    assert found.amplitude.value == pytest.approx(1.0)


def test_ten_regular_reversals_hunt_whatever_the_dead_band() -> None:
    """Period 8 s: turns every 4 s from 4 s on; 44 s hold ten of them, 40 s nine."""
    assert behaviour(resting(triangle(1.0, 8.0, 44.0), 0.1), 5.0, CLEAN).kind == "hunting"
    assert behaviour(resting(triangle(1.0, 8.0, 40.0), 0.1), 5.0, CLEAN).kind == "noise"


@pytest.mark.parametrize(("seconds", "told"), [(19.9, False), (20.1, True)])
def test_a_rest_of_less_than_twenty_seconds_tells_nothing(seconds: float, told: bool) -> None:
    recording = resting(np.full(round(seconds * 10) + 1, 50.0), 0.1)
    assert (rest_behaviour(recording, whole(recording), channels_of(recording)) is not None) is told


def test_a_rest_of_few_samples_or_with_a_gap_tells_nothing() -> None:
    few = resting(np.full(7, 50.0), 5.0)
    assert rest_behaviour(few, whole(few), channels_of(few)) is None
    enough = resting(np.full(8, 50.0), 5.0)
    assert rest_behaviour(enough, whole(enough), channels_of(enough)) is not None
    broken = replace(resting(np.full(600, 50.0), 0.1), gaps=((20.0, 20.1),))
    assert rest_behaviour(broken, whole(broken), channels_of(broken)) is None


@pytest.mark.parametrize(("moves_pct", "rests"), [(0.18, True), (0.25, False)])
def test_a_command_that_moves_by_a_fifth_of_a_percent_is_not_at_rest(moves_pct: float, rests: bool) -> None:
    recording = resting(np.full(600, 50.0), 0.1)
    command = np.linspace(50.0, 50.0 + moves_pct, 600)
    told = rest_behaviour(replace(recording, command_pct=command), whole(recording), channels_of(recording))
    assert (told is not None) is rests


def test_the_noise_of_a_command_is_no_motion_and_an_absent_command_is_no_rest() -> None:
    recording = resting(np.full(600, 50.0), 0.1)
    loud = replace(recording, command_pct=noisy(recording.command_pct, 0.2))
    assert rest_behaviour(loud, whole(loud), channels_of(loud)) is not None
    absent = replace(recording, command_pct=np.full(600, np.nan))
    assert rest_behaviour(absent, whole(absent), channels_of(absent)) is None


def test_a_valve_at_rest_swings_by_less_than_would_be_seen() -> None:
    found = behaviour(resting(np.full(600, 50.0), 0.1))
    assert (found.kind, found.reversals, found.amplitude.value) == ("at_rest", 0, 0.0)
    assert found.amplitude.standard_uncertainty == pytest.approx(0.05 / 3**0.5)
    assert found.amplitude.beside == {"least_seen_pct": 0.05}
    loud = behaviour(resting(noisy(np.full(600, 50.0), 0.05), 0.1))
    assert loud.amplitude.standard_uncertainty > 0.1
    relies = (Reliance("travel", 50.0, 1.0, 0), Reliance("travel", 50.0, -1.0, 0))
    assert found.amplitude.relies_on == relies


@pytest.mark.parametrize(("drift_pct", "kind"), [(0.18, "at_rest"), (0.22, "drift")])
def test_halves_a_tenth_of_a_percent_apart_are_drift(drift_pct: float, kind: str) -> None:
    """The means of the halves of a straight line lie half of its rise apart."""
    assert behaviour(resting(np.linspace(50.0, 50.0 + drift_pct, 600), 0.1)).kind == kind


def test_a_small_swing_is_found_in_means_where_noise_hides_it() -> None:
    """0.4 % in 10 s under noise of 0.1 %, at 100 samples a second."""
    travel = noisy(triangle(0.4, 10.0, 120.0, 0.01), 0.1)
    found = behaviour(resting(travel, 0.01))
    assert found.kind == "hunting"
    assert abs(found.amplitude.value - 0.4) <= 3.0 * found.amplitude.standard_uncertainty
    assert abs(found.period.value - 10.0) <= 3.0 * found.period.standard_uncertainty
    assert abs(found.reversals - 23) <= 1


def test_the_worst_rest_has_the_greatest_swing_and_of_equals_comes_first() -> None:
    one, two, three = (behaviour(resting(triangle(each, 4.0), 0.1)) for each in (1.0, 2.0, 2.0))
    assert worst_rest([one, two, three]) is two
    assert worst_rest([]) is None
    untold = replace(two, amplitude=Quantity(None, "not told"))
    assert worst_rest([untold, one]) is one


def test_a_little_noise_moves_neither_the_size_nor_the_turns_of_a_slow_swing() -> None:
    """0.12 % in 10 s every 0.01 s under 0.0045 %: the extreme of many samples is too far out, their mean not enough."""
    noise = Noise(0.0045, 0.0)
    made = resting(noisy(triangle(0.12, 10.0, 60.0, 0.01), 0.0045), 0.01)
    found = behaviour(made, channels=Channels(Noise(0.0, 0.0), noise, noise))
    assert found.kind == "hunting"
    assert found.reversals == 11
    assert found.amplitude.value == pytest.approx(0.12, abs=2 * found.amplitude.standard_uncertainty)
    assert found.amplitude.standard_uncertainty < 0.004
    assert found.period.value == pytest.approx(10.0, abs=2 * found.period.standard_uncertainty)
    assert found.turn_s == pytest.approx(np.arange(5.0, 56.0, 5.0), abs=0.5)


def test_a_single_swing_has_its_turning_point_and_is_no_hunting() -> None:
    """Up from 50 to 52 % until 30 s and down again: one turn, at 30 s and 52 %."""
    time = np.arange(0.0, 90.0, 0.1)
    found = behaviour(resting(np.interp(time, [25, 30, 35], [50, 52, 50]), 0.1))
    assert found.kind != "hunting"
    assert found.reversals == 0
    assert found.turn_s == pytest.approx([30.0], abs=0.3)
    assert found.turn_pct == pytest.approx([52.0], abs=0.2)


@pytest.mark.parametrize("after_s", [60.0, 230.0])
def test_hunting_at_the_start_of_a_long_rest_is_found_and_told_with_its_extent(after_s: float) -> None:
    """300 s with the command at rest: 1 % in 4 s up to ``after_s``, then still."""
    time = np.arange(0.0, 300.0, 0.1)
    travel = np.where(time < after_s, triangle(1.0, 4.0, 300.0), 50.0)
    found = behaviour(resting(noisy(travel, 0.01), 0.1))
    assert found.kind == "hunting"
    assert found.swings_s == pytest.approx(after_s, abs=5.0)
    assert found.in_spells is True
    assert abs(found.amplitude.value - 1.0) <= 2 * found.amplitude.standard_uncertainty
    assert abs(found.period.value - 4.0) <= 2 * found.period.standard_uncertainty


def test_hunting_that_comes_and_goes_counts_its_swings_and_no_pauses() -> None:
    """Spells of 40 s, 60 s apart."""
    time = np.arange(0.0, 300.0, 0.1)
    travel = np.where(time % 100.0 < 40.0, triangle(1.0, 4.0, 300.0), 50.0)
    found = behaviour(resting(noisy(travel, 0.01), 0.1))
    assert found.kind == "hunting"
    assert abs(found.period.value - 4.0) <= 2 * found.period.standard_uncertainty
    assert found.reversals == pytest.approx(3 * 20, abs=6)


def test_what_the_travel_needs_to_follow_is_no_part_of_its_rest() -> None:
    time = np.arange(0.0, 120.0, 0.1)
    answer = 50.0 - 20.0 * np.exp(-time / 2.0) * np.cos(2 * np.pi * time / 3.0)
    found = behaviour(resting(noisy(answer, 0.01), 0.1))
    assert found.kind in ("at_rest", "noise")
    assert (found.amplitude.value, found.reversals) == (0.0, 0)


@pytest.mark.parametrize("rest_s", [70.0, 100.0, 140.0])
def test_an_answer_by_pulses_over_more_than_half_of_the_rest_is_no_swing(rest_s: float) -> None:
    """Closing from 100 % by pulses of 1.33 % every 1.9 s, 40 % of the time, within 49 s of 70 s and more."""
    time = np.arange(0.0, rest_s, 0.05)
    ran_s = 0.76 * np.floor(time / 1.9) + np.minimum(time % 1.9, 0.76)
    made = resting(noisy(np.clip(100.0 - 5.1 * ran_s, 0.0, 100.0), 0.01), 0.05)
    found = behaviour(made)
    assert found.kind == "at_rest"
    assert (found.amplitude.value, found.reversals) == (0.0, 0)


def test_hunting_after_a_long_answer_by_pulses_is_found() -> None:
    """The same over 49 of 90 s, and 1 % in 4 s about 50 % after it."""
    time = np.arange(0.0, 90.0, 0.05)
    ran_s = 0.76 * np.floor(time / 1.9) + np.minimum(time % 1.9, 0.76)
    answer = np.maximum(100.0 - 2.5 * ran_s, 50.0)
    swings = np.where(answer > 50.0, 0.0, triangle(1.0, 4.0, 90.0, 0.05)[: time.size] - 50.0)
    found = behaviour(resting(noisy(answer + swings, 0.01), 0.05))
    assert found.kind == "hunting"
    assert abs(found.period.value - 4.0) <= 2.0 * found.period.standard_uncertainty
    assert found.turn_s[0] > 49.0


def test_a_slow_swing_through_the_whole_of_a_rest_is_seen_from_its_start() -> None:
    """2 % in 40 s over 130 s: six turns, the first at 20 s."""
    found = behaviour(resting(noisy(triangle(2.0, 40.0, 130.0), 0.01), 0.1))
    assert (found.kind, found.reversals) == ("hunting", 6)
    assert found.turn_s[0] == pytest.approx(20.0, abs=0.5)


@pytest.mark.parametrize(("hertz", "rate_hz"), [(50.01, 100), (49.99, 100), (50.0, 1000), (49.9, 200), (6.0, 100)])
@pytest.mark.parametrize("amplitude_pct", [0.1, 1.0])
def test_a_swing_quicker_than_any_motor_reverses_is_no_hunting(
    hertz: float, rate_hz: int, amplitude_pct: float
) -> None:
    time = np.arange(0.0, 120.0, 1.0 / rate_hz)
    hums = 50.0 + amplitude_pct * np.sin(2.0 * np.pi * hertz * time + 0.3)
    found = behaviour(resting(noisy(hums, 0.005), 1.0 / rate_hz))
    assert found.kind in ("noise", "at_rest")
    assert found.period.why_not == "the valve does not hunt"


def test_slow_hunting_beneath_quick_hum_is_found() -> None:
    """1 % in 4 s beneath hum of 1 % at 50.01 Hz, at 100 samples a second."""
    time = np.arange(0.0, 120.0, 0.01)
    swing = triangle(1.0, 4.0, 120.0, 0.01) + 0.5 * np.sin(2.0 * np.pi * 50.01 * time)
    found = behaviour(resting(noisy(swing, 0.005), 0.01))
    assert found.kind == "hunting"
    assert abs(found.period.value - 4.0) <= 2.0 * found.period.standard_uncertainty


def test_hum_that_may_be_the_alias_of_a_quick_swing_stays_untold() -> None:
    """At ten samples a second 3.9 Hz and 6.1 Hz look alike."""
    time = np.arange(0.0, 120.0, 0.1)
    found = behaviour(resting(noisy(50.0 + 0.5 * np.sin(2.0 * np.pi * 6.1 * time), 0.005), 0.1))
    assert (found.kind, found.amplitude.value) == ("beat", None)
    assert "record ten times as fast" in found.amplitude.why_not


def test_a_swing_greater_than_hum_is_the_valves_whatever_a_filtered_feedback_shows() -> None:
    """2 % in 0.35 s; a first-order filter of 0.4 s lets a seventh of it through."""
    time = np.arange(0.0, 60.0, 0.01)
    phase = 2.0 * np.pi * time / 0.35
    made = resting(noisy(50.0 + np.sin(phase), 0.01), 0.01)
    damped = 1.0 / np.hypot(1.0, 2.0 * np.pi * 0.4 / 0.35)
    filtered = replace(made, feedback_pct=noisy(50.0 + damped * np.sin(phase - 1.43), 0.01, 8))
    found = behaviour(filtered)
    assert found.kind == "hunting"
    assert found.amplitude.value == pytest.approx(2.0, abs=2.0 * found.amplitude.standard_uncertainty)


def test_without_a_command_a_small_swing_may_be_hum_and_a_greater_one_is_the_valves() -> None:
    """50.04 Hz at 50 samples a second: 25 s."""
    time = np.arange(0.0, 200.0, 0.02)
    nothing, hum = np.full(time.size, np.nan), np.sin(2.0 * np.pi * 50.04 * time)
    small, great = (noisy(50.0 + half * hum, 0.02) for half in (0.18, 0.5))
    made = Recording(time, nothing, small, position_pct=small)
    (found,) = swings_without_command(made, channels_of(made))
    assert (found.kind, found.amplitude.value) == ("beat", None)
    assert "no command tells it apart" in found.amplitude.why_not
    made = Recording(time, nothing, great, position_pct=great)
    (found,) = swings_without_command(made, channels_of(made))
    assert found.kind == "hunting"


@pytest.mark.parametrize("phase", [0.0, 1.0, 2.0])
def test_hum_of_few_samples_moves_no_swing_beyond_what_is_stated(phase: float) -> None:
    """2.4 % in 2.57 s under 0.13 % of 53.68 Hz, ten samples a second: hum is taken for noise, and has no tails."""
    time = np.arange(0.0, 80.0, 0.1)
    hum = 0.13 * np.sin(2.0 * np.pi * 53.68 * time + phase)
    swing = np.interp(time % 2.57, [0.0, 0.8, 1.28, 2.08, 2.57], [0.0, 2.4, 2.4, 0.0, 0.0])
    made = resting(noisy(40.0 + swing + hum, 0.01), 0.1)
    found = behaviour(replace(made, command_pct=noisy(np.full(800, 50.0), 0.01, 8)))
    assert found.kind == "hunting"
    assert abs(found.amplitude.value - 2.4) <= 2.0 * found.amplitude.standard_uncertainty
    assert found.amplitude.standard_uncertainty < 0.4


def test_a_rest_of_which_nobody_knows_comes_before_one_that_is_still() -> None:
    still = behaviour(resting(noisy(np.full(600, 50.0), 0.01), 0.1))
    unknown = replace(still, kind="beat", amplitude=Quantity(None, "it may be hum"))
    hunts = behaviour(resting(noisy(triangle(1.0, 4.0), 0.01), 0.1))
    assert worst_rest([still, unknown]) is unknown
    assert worst_rest([unknown, hunts]) is hunts


def test_a_small_swing_that_the_command_shares_is_none_whatever_the_dead_band() -> None:
    """0.14 % in 20 s on both, within half of a dead band of 0.4 %: nothing, to within as much."""
    time = np.arange(0.0, 70.0, 0.1)
    beat = 0.07 * np.sin(2.0 * np.pi * time / 20.0)
    both = Recording(time, noisy(50.0 + beat, 0.005, 8), noisy(50.0 + beat, 0.005))
    hummed = replace(CLEAN, command=Noise(0.005, 0.0, hum=0.07, hum_period_s=20.0))
    found = behaviour(both, dead_band_pct=0.4, channels=hummed)
    assert (found.kind, found.amplitude.value) == ("noise", 0.0)
    assert found.amplitude.beside["least_seen_pct"] == pytest.approx(0.14, abs=0.03)
    alone = replace(both, command_pct=noisy(np.full(700, 50.0), 0.005, 8))
    assert behaviour(alone, dead_band_pct=0.4, channels=hummed).amplitude.value == pytest.approx(0.14, abs=0.03)


def test_the_period_is_known_no_better_than_the_times_were_written() -> None:
    """15 periods of 8 s: two instants within 0.5 s each, over half of the 26 periods that overlap."""
    one = resting(triangle(1.0, 8.0, 120.0), 0.1)
    found = behaviour(replace(one, time_resolution_s=0.5), channels=CLEAN)
    written = next(each for each in found.period.components if each.name == "sampling, times as written")
    periods = found.reversals - 3
    assert written.value == pytest.approx(2**0.5 * 0.5 / (periods / 2.0))
    assert "sampling, times as written" not in [each.name for each in behaviour(one, channels=CLEAN).period.components]


def test_a_saw_that_goes_faster_one_way_hunts_with_the_period_of_both() -> None:
    """1 s up, 5 s down, a second of rest at either end: 8 s."""
    corners = np.array([0.0, 1.0, 2.0, 7.0, 8.0])
    heights = np.array([0.0, 1.0, 1.0, 0.0, 0.0])
    time = np.arange(0.0, 160.0, 0.1)
    found = behaviour(resting(noisy(50.0 + np.interp(time % 8.0, corners, heights), 0.01), 0.1))
    assert found.kind == "hunting"
    assert abs(found.period.value - 8.0) <= 2 * found.period.standard_uncertainty
    assert abs(found.amplitude.value - 1.0) <= 2 * found.amplitude.standard_uncertainty
    assert found.reversals == pytest.approx(39, abs=1)


@pytest.mark.parametrize(("period_s", "told"), [(0.45, False), (0.8, True)])
def test_fewer_than_five_samples_a_swing_show_no_period_and_say_what_would(period_s: float, told: bool) -> None:
    found = behaviour(resting(triangle(1.0, period_s, 60.0), 0.1), channels=CLEAN)
    assert (found.period.value is not None) is told
    if not told:
        assert "alias" in found.period.why_not
        assert "record ten times as fast" in found.period.why_not


def test_a_swing_that_the_command_shares_is_neither_hunting_nor_rest() -> None:
    """A beat of hum on both: 0.15 % in 20 s. On the travel alone it counts against the valve."""
    beat = 0.075 * np.sin(2 * np.pi * np.arange(0.0, 120.0, 0.1) / 20.0)
    made = resting(noisy(50.0 + beat, 0.005), 0.1)
    both = behaviour(replace(made, command_pct=noisy(50.0 + 0.8 * beat, 0.005, 8)))
    assert (both.kind, both.amplitude.value) == ("at_rest", 0.0)
    assert 2.0 * both.amplitude.standard_uncertainty > 0.15
    unknown = behaviour(replace(made, command_pct=noisy(50.0 + 0.8 * beat, 0.005, 8)), channels=CLEAN)
    assert (unknown.kind, unknown.amplitude.value, unknown.period.value) == ("beat", None, None)
    assert "command and travel swing together" in unknown.amplitude.why_not
    alone = behaviour(replace(made, command_pct=noisy(np.full(1200, 50.0), 0.005, 8)))
    assert alone.kind == "hunting"


def test_a_position_that_swings_beside_a_feedback_that_does_not_is_told_and_passes_nothing() -> None:
    swing = triangle(0.5, 8.0, 120.0)
    made = resting(noisy(swing, 0.005), 0.1)
    still = replace(made, feedback_pct=noisy(np.full(1200, 50.0), 0.005, 8))
    assert (behaviour(still).kind, behaviour(still).amplitude.value) == ("beat", None)
    assert behaviour(replace(made, feedback_pct=noisy(swing, 0.005, 8))).kind == "hunting"


def test_the_whole_of_a_level_is_looked_at_and_a_hold_only_where_it_hunts() -> None:
    """A step at 25 s; the valve hunts for 40 s of the 300 s after it, and in a hold of 30 s after that."""
    time, command = programme([(40.0, 25.0), (60.0, 300.0), (50.0, 30.0), (70.0, 30.0)])
    swing = triangle(1.0, 4.0, time[-1] + 0.05) - 50.0
    hunts = ((time > 30.0) & (time < 70.0)) | ((time > 327.0) & (time < 355.0))
    travel = noisy(command + np.where(hunts, swing[: time.size], 0.0), 0.01)
    recording = Recording(time, command, travel, position_pct=travel)
    channels = channels_of(recording)
    resting_s = command_rests(parts_of_stretches(recording, channels))
    assert [(each.what, round(each.from_s), round(each.to_s)) for each in resting_s] == [
        ("hold", 0, 25),
        ("rest", 25, 325),
        ("hold", 325, 355),
        ("hold", 355, 385),
    ]
    found = rests_of(recording, resting_s, channels)
    assert [(each.segment.what, each.kind) for each in found] == [("rest", "hunting"), ("hold", "hunting")]
    assert reduce_recording(recording, float).rests[0].turn_s[0] < 45.0


def test_without_a_command_a_minute_of_regular_swings_about_one_place_is_hunting_and_no_more_is_told() -> None:
    time = np.arange(0.0, 300.0, 0.1)
    swing = triangle(1.0, 4.0, 300.0)
    nothing = np.full(time.size, np.nan)
    hunts = np.where((time > 100.0) & (time < 200.0), swing, 50.0)
    blind = Recording(time, nothing, noisy(hunts, 0.01), position_pct=hunts)
    (found,) = swings_without_command(blind, channels_of(blind))
    assert (found.kind, found.reversals) == ("hunting", pytest.approx(50, abs=8))
    short = np.where((time > 100.0) & (time < 140.0), swing, 50.0)
    assert swings_without_command(replace(blind, travel_pct=noisy(short, 0.01)), channels_of(blind)) == ()
    walk = np.clip(time, 0.0, 100.0)
    assert swings_without_command(replace(blind, travel_pct=noisy(walk, 0.01)), channels_of(blind)) == ()


def test_without_a_command_a_place_is_where_the_travel_stays_and_not_what_a_stroke_spans() -> None:
    """Opening to 60 % in 10 s, hunting there for 80 s, on to 70 %, and hunting there for 110 s."""
    time = np.arange(0.0, 210.0, 0.1)
    middle = np.interp(time, [0.0, 10.0, 90.0, 92.0], [0.0, 60.0, 60.0, 70.0])
    travel = noisy(middle + triangle(1.0, 4.0, 210.0) - 50.0, 0.01)
    blind = Recording(time, np.full(time.size, np.nan), travel, position_pct=travel)
    found = swings_without_command(blind, channels_of(blind))
    assert [(round(each.segment.from_s), round(each.segment.to_s)) for each in found] == [(12, 84), (96, 210)]
    for each in found:
        assert each.amplitude.value == pytest.approx(1.0, abs=2.0 * each.amplitude.standard_uncertainty)


@pytest.mark.parametrize(("period_s", "told"), [(24.0, False), (10.0, True)])
def test_without_a_command_fewer_than_ten_turns_may_be_a_hand_that_steps_it(period_s: float, told: bool) -> None:
    time = np.arange(0.0, 80.0, 0.1)
    travel = noisy(triangle(4.0, period_s, 80.0), 0.01)
    blind = Recording(time, np.full(time.size, np.nan), travel, position_pct=travel)
    assert bool(swings_without_command(blind, channels_of(blind))) is told


@settings(max_examples=60)
@given(
    amplitude_pct=floats(0.4, 3),
    speed=floats(1, 8),
    pause_s=floats(0.2, 4),
    rate_hz=sampled_from([10, 20, 50, 100]),
    noise_pct=sampled_from([0.005, 0.02]),
    start_number=integers(0, 10**6),
)
def test_a_limit_cycle_of_an_on_off_motor_is_found_with_its_size_and_period(
    amplitude_pct: float, speed: float, pause_s: float, rate_hz: int, noise_pct: float, start_number: int
) -> None:
    """Runs of known length and speed with pauses of known length: 2 (A / v + p); 16 bits."""
    period_s = 2.0 * (amplitude_pct / speed + pause_s)
    assume(period_s * rate_hz > 6.0)
    run = amplitude_pct / speed
    time = np.arange(0.0, 90.0, 1.0 / rate_hz) + (start_number % 100) / 100.0
    corners = np.array([0.0, run, run + pause_s, 2 * run + pause_s, period_s])
    heights = np.array([0.0, 1.0, 1.0, 0.0, 0.0]) * amplitude_pct
    travel = noisy(50.0 + np.interp(time % period_s, corners, heights), noise_pct, start_number)
    step = 100.0 / 2**16
    recording = resting(np.round(travel / step) * step, 1.0 / rate_hz)
    found = behaviour(recording)
    if period_s * rate_hz < 16.0 and found.kind == "beat":
        assert "too few samples a swing" in found.amplitude.why_not
        return
    assert found.kind == "hunting"
    assert abs(found.reversals - 2 * 90.0 / period_s) <= 3
    for figure, true in ((found.amplitude, amplitude_pct), (found.period, period_s)):
        if figure.value is not None:
            assert abs(figure.value - true) <= 4.0 * figure.standard_uncertainty
