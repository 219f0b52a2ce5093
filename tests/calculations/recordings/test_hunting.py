"""Motion with the command at rest: hunting, stick-slip, noise, drift."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.hunting import Stillness, rest_behaviour, worst_rest
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import later, mirrored, noisy, resting, whole

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
    ends = np.cumsum([3, 11, 2, 9, 4, 14, 2, 8, 7])
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

    At 0.5 % a second a sample of 0.1 s is 0.05 % of travel, of which three quarters may lie beyond the samples; the
    first and the last turn are known to a sample each: 0.2 s over 28.
    """
    found = behaviour(resting(triangle(1.0, 4.0), 0.1), channels=CLEAN)
    assert found.reversals == 29
    assert found.amplitude.value == pytest.approx(1.0)
    assert found.amplitude.beside == {"reversals": 29.0}
    assert found.period.value == pytest.approx(4.0)
    assert found.turn_s[[0, -1]] == pytest.approx([2.0, 58.0])
    assert sorted({round(each, 9) for each in found.turn_pct}) == [49.5, 50.5]
    by_sampling = {each.name: each.value for each in (*found.amplitude.components, *found.period.components)}
    assert by_sampling["sampling, travel between the samples at the turns"] == pytest.approx(0.75 * 0.5 * 0.1)
    assert by_sampling["sampling, first and last turn"] == pytest.approx(0.2 / 28)
    assert by_sampling["noise, travel at the turns"] == pytest.approx(0.0, abs=1e-9)
    assert by_sampling["noise, turns"] == pytest.approx(0.0, abs=1e-9)
    assert (found.amplitude.at_s, found.period.at_s) == pytest.approx((2.0, 2.0))
    assert found.amplitude.relies_on == (
        Reliance("travel", pytest.approx(50.5), 1.0, 0),
        Reliance("travel", pytest.approx(49.5), -1.0, 0),
    )
    assert found.period.relies_on == (Reliance("time", pytest.approx(4.0), 1.0),)


def test_swings_of_different_size_scatter_the_amplitude() -> None:
    """Of 1.0 and 2.0 % in turn: mean 1.5, scatter over n swings is their deviation over root of n."""
    time = np.arange(0.0, 60.0, 0.1)
    corners = 50.0 + np.array([0.0, *np.tile([1.0, 0.0, 2.0, 0.0], 5)])
    found = behaviour(resting(np.interp(time, 3.0 * np.arange(21), corners), 0.1), channels=CLEAN)
    swings = np.abs(np.diff(found.turn_pct))
    assert found.amplitude.value == pytest.approx(swings.mean())
    scatter = next(each for each in found.amplitude.components if each.name == "noise, travel at the turns")
    assert scatter.value == pytest.approx(swings.std(ddof=1) / swings.size**0.5, rel=1e-6)


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


def test_turns_under_a_little_noise_are_means_over_a_part_of_the_period() -> None:
    """0.12 % in 10 s every 0.01 s under 0.0045 %: fifty deviations are 1.875 swings, squared 3.5: four samples a mean.

    Their noise halves; two turns make a swing; at 0.024 % a second a mean of 0.04 s is 0.00096 % wide.
    """
    noise = Noise(0.0045, 0.0)
    made = resting(triangle(0.12, 10.0, 60.0, 0.01), 0.01)
    found = behaviour(made, channels=Channels(Noise(0.0, 0.0), noise, noise))
    assert found.kind == "hunting"
    assert found.reversals == 11
    assert found.amplitude.value == pytest.approx(0.12, abs=1e-3)
    assert found.period.value == pytest.approx(10.0, abs=0.01)
    assert found.turn_s == pytest.approx(np.arange(5.0, 56.0, 5.0), abs=0.03)
    by_name = {each.name: each.value for each in (*found.amplitude.components, *found.period.components)}
    assert by_name["noise, travel at the turns"] == pytest.approx(2**0.5 * 0.0045 / 2, rel=0.02)
    assert by_name["sampling, travel between the samples at the turns"] == pytest.approx(0.75 * 0.024 * 0.04, rel=0.02)
    assert by_name["sampling, first and last turn"] == pytest.approx(2 * (0.04 + 0.00225 / 0.024) / 10, rel=0.02)


def test_a_single_swing_has_its_turning_point_and_is_no_hunting() -> None:
    """Up from 50 to 52 % until 30 s and down again: one turn, at 30 s and 52 %."""
    time = np.arange(0.0, 90.0, 0.1)
    found = behaviour(resting(np.interp(time, [25, 30, 35], [50, 52, 50]), 0.1))
    assert found.kind != "hunting"
    assert found.reversals == 0
    assert found.turn_s == pytest.approx([30.0], abs=0.3)
    assert found.turn_pct == pytest.approx([52.0], abs=0.2)
