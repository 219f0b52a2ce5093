"""Dead band, hunting, starts, losses, switches, track and supply, each on a recording of known truth."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.hunting import rest_behaviour
from kit.calculations.recordings.motion import motion_of, starts_per_hour
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.segments import channels_of
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.supply import running_supply
from kit.calculations.recordings.switches import switch_events, switch_lead, switch_makes
from kit.calculations.recordings.track import track_of
from tests.calculations.recordings.made import programme, same, with_play


def noisy(values: np.ndarray, noise_pct: float, start_number: int = 5) -> np.ndarray:
    return values + np.random.default_rng(start_number).normal(0.0, noise_pct, values.size)


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


def resting(travel: np.ndarray, interval_s: float) -> Recording:
    time = interval_s * np.arange(travel.size)
    return Recording(time, np.full(time.size, 50.0), travel, position_pct=travel)


def whole(recording: Recording) -> Segment:
    return Segment("rest", float(recording.time_s[0]), float(recording.time_s[-1]))


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


@pytest.mark.parametrize("interval_s", [0.05, 0.2])
def test_starts_are_counted_and_pulses_of_one_run_are_one_start(interval_s: float) -> None:
    time = np.arange(0.0, 600.0, interval_s)
    runs = [(20.0 + 25.0 * number, 4.0) for number in range(20)]
    speed = np.zeros(time.size)
    for start, length in runs:
        speed[(time >= start) & (time < start + length)] = 2.0 if round(start / 25.0) % 2 else -2.0
    pulsed = (time >= 540.0) & (time < 560.0) & ((time % 2.0) < 1.0)
    speed[pulsed] = 2.0
    travel = noisy(50.0 + np.cumsum(speed) * interval_s, 0.02)
    recording = resting(travel, interval_s)
    figure = starts_per_hour(recording, motion_of(recording, channels_of(recording).travel))
    assert figure.beside["starts"] == 21
    assert figure.value == pytest.approx(21 * 6.0, rel=0.01)


def test_starts_over_less_than_a_minute_are_not_stated() -> None:
    recording = resting(np.full(100, 50.0), 0.1)
    assert starts_per_hour(recording, motion_of(recording, channels_of(recording).travel)).value is None


def lost_signal(noise_pct: float) -> Recording:
    time = np.arange(0.0, 90.0, 0.1)
    lost = (time >= 30.0) & (time < 60.0)
    closing = np.clip(50.0 - 5.0 * (time - 31.0), 0.0, 50.0)
    opening = np.clip(5.0 * (time - 60.5), 0.0, 50.0)
    travel = np.where(time < 60.5, np.where(time < 31.0, 50.0, closing), opening)
    return Recording(time, np.where(lost, -25.0, 50.0), noisy(travel, noise_pct), signal_lost=lost)


@pytest.mark.parametrize("noise_pct", [0.0, 0.03])
def test_a_loss_has_its_position_time_and_restoration(noise_pct: float) -> None:
    """At 5 % of travel a second after 1 s: into 0.5 % of the end after 1 + 9.9 s."""
    (loss,) = reduce_recording(lost_signal(noise_pct), same).losses
    assert loss.before.value == pytest.approx(50.0, abs=0.02)
    assert loss.position.value == pytest.approx(0.0, abs=0.02)
    assert abs(loss.time.value - 10.9) <= 2.0 * loss.time.standard_uncertainty + 1e-6
    assert loss.restored_position.value == pytest.approx(50.0, abs=0.02)
    assert loss.restored_command_pct == pytest.approx(50.0)


def test_a_valve_that_stays_on_a_loss_has_no_fail_time() -> None:
    made = lost_signal(0.0)
    stays = Recording(made.time_s, made.command_pct, np.full(made.time_s.size, 50.0), signal_lost=made.signal_lost)
    (loss,) = reduce_recording(stays, same).losses
    assert loss.position.value == 50.0
    assert loss.time.why_not == "the valve stayed where it was"


def stroked(noise_pct: float = 0.0, stop_pct: float = -0.5) -> Recording:
    time = np.arange(0.0, 80.0, 0.1)
    travel = np.interp(time, [0, 10, 30, 50, 70, 80], [stop_pct, stop_pct, 100, 100, stop_pct, stop_pct])
    closed, opened = travel <= 1.5, travel >= 98.0
    return Recording(
        time,
        np.where((time >= 10) & (time < 50), 100.0, 0.0),
        noisy(travel, noise_pct),
        position_pct=noisy(travel, noise_pct),
        feedback_pct=noisy(travel + 0.2, noise_pct, 9),
        closed_switch=closed.astype(float),
        open_switch=opened.astype(float),
        supply_v=np.where((np.gradient(travel) != 0), 225.0, 231.0),
    )


@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
def test_switches_make_where_they_are_set_and_lead_the_stop(noise_pct: float) -> None:
    recording = stroked(noise_pct)
    channels = channels_of(recording)
    events = switch_events(recording, channels)
    closed, opened = switch_makes(events, "closed"), switch_makes(events, "open")
    assert abs(closed.value - 1.5) <= 2.0 * closed.standard_uncertainty
    assert abs(opened.value - 98.0) <= 2.0 * opened.standard_uncertainty
    lead = switch_lead(recording, events, motion_of(recording, channels.travel), channels, "closed")
    assert abs(lead.value - 2.0) <= 2.0 * lead.standard_uncertainty + 0.02


def test_a_switch_that_stops_the_motor_shows_no_stop() -> None:
    recording = stroked(stop_pct=1.48)
    channels = channels_of(recording)
    events = switch_events(recording, channels)
    lead = switch_lead(recording, events, motion_of(recording, channels.travel), channels, "closed")
    assert lead.value is None
    assert "does not show the stop" in lead.why_not


def test_a_switch_that_never_makes_is_said_so() -> None:
    recording = stroked()
    dead = Recording(
        recording.time_s, recording.command_pct, recording.travel_pct, closed_switch=np.zeros(len(recording))
    )
    assert switch_makes(switch_events(dead, channels_of(dead)), "closed").value is None


def test_the_supply_falls_while_the_motor_runs() -> None:
    recording = stroked()
    running, dip = running_supply(recording, motion_of(recording, channels_of(recording).travel))
    assert running.value == pytest.approx(225.0)
    assert dip.value == pytest.approx(100.0 * 6.0 / 231.0)


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


def test_pulses_are_told_with_their_duty() -> None:
    """On for 40 % of each second: the stroke takes 100 / 40 times as long."""
    time = np.arange(0.0, 90.0, 0.02)
    on = ((time - 10.3) % 1.0 < 0.4) & (time >= 10.3)
    travel = np.minimum(np.cumsum(np.where(on, 5.0 * 0.02, 0.0)), 100.0)
    command = np.where(time >= 10.0, 100.0, 0.0)
    found = reduce_recording(Recording(time, command, noisy(travel, 0.02)), same)
    (stroke,) = found.strokes
    assert stroke.is_pulsed
    assert abs(stroke.duty.value - 40.0) <= 2.0 * stroke.duty.standard_uncertainty
    assert stroke.time.value == pytest.approx(0.3 + 50.0, abs=1.1)
