"""Loss of signal and restoration."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.quantity import Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.loss import Loss, reduce_loss
from kit.calculations.recordings.reduce import reduce_recording
from tests.calculations.recordings.made import later, lost_signal, mirrored, noisy, same, slower, with_supply_lost

LOST, BACK = Segment("signal_lost", 25.0, 599 * 0.1), Segment("signal_restored", 599 * 0.1, 899 * 0.1)


def reduced(recording: Recording, lost: Segment = LOST, back: Segment | None = BACK) -> Loss:
    found = reduce_loss(recording, lost, back, channels_of(recording))
    assert found is not None
    return found


@pytest.mark.parametrize("noise_pct", [0.0, 0.03])
def test_a_loss_has_its_position_time_and_restoration(noise_pct: float) -> None:
    """At 5 % of travel a second after 1 s: into 0.5 % of the end after 1 + 9.9 s."""
    (loss,) = reduce_recording(lost_signal(noise_pct), same).losses
    assert loss.before.value == pytest.approx(50.0, abs=0.02)
    assert loss.position.value == pytest.approx(0.0, abs=0.02)
    assert abs(loss.time.value - 10.9) <= 2.0 * loss.time.standard_uncertainty + 1e-6
    assert loss.restored_position.value == pytest.approx(50.0, abs=0.02)
    assert loss.restored_command_pct == pytest.approx(50.0)
    assert {each.unit for each in loss.time.components} == {"s"}
    assert all(each.name.startswith(("sampling, ", "noise, ")) for each in loss.time.components)


def test_a_command_that_swings_after_the_restoration_still_asks_for_its_mean() -> None:
    """Ten whole swings of 1 % around 50 %."""
    made = lost_signal()
    back = made.time_s >= BACK.from_s
    swings = np.sin((made.time_s - BACK.from_s) * 2.0 * np.pi / 3.0)
    swinging = replace(made, command_pct=made.command_pct + np.where(back, swings, 0.0))
    assert reduced(swinging).restored_command_pct == pytest.approx(50.0, abs=0.1)


def test_a_valve_that_stays_on_a_loss_has_no_fail_time() -> None:
    made = lost_signal(0.0)
    stays = Recording(made.time_s, made.command_pct, np.full(made.time_s.size, 50.0), signal_lost=made.signal_lost)
    (loss,) = reduce_recording(stays, same).losses
    assert loss.position.value == 50.0
    assert loss.time.why_not == "the valve stayed where it was"


def test_a_loss_by_hand() -> None:
    """Last sample with signal at 29.9 s, first without at 30.0: lost at 29.95 s, known to 0.05 s.

    At 5 % a second from 31 s on, within 0.5 % of closed at 40.9 s: 10.95 s later.
    """
    found = reduced(lost_signal())
    assert found.lost_s == pytest.approx(29.95)
    assert found.restored_s == pytest.approx(59.9)
    assert (found.before.value, found.position.value, found.restored_position.value) == pytest.approx((50.0, 0.0, 50.0))
    assert found.time.value == pytest.approx(10.95)
    assert found.time.at_s == pytest.approx(40.9)
    assert found.time.beside == {"band_pct": 0.5}
    names = ["sampling, loss of the signal", "noise, entry into the band"]
    assert [(each.name, each.unit) for each in found.time.components] == [(each, "s") for each in names]
    assert found.time.relies_on == (Reliance("time", pytest.approx(10.95), 1.0),)
    assert found.position.relies_on == (Reliance("travel", pytest.approx(0.0), 1.0),)
    component, of_level = found.time.components
    assert (component.name, component.value) == ("sampling, loss of the signal", pytest.approx(0.05))
    assert of_level.standard_uncertainty < 0.001  # the step of a 16-bit converter at 5 % a second
    assert found.position.at_s == pytest.approx(49.9)  # the last ten seconds of the loss
    assert found.before.at_s == pytest.approx(27.5, abs=0.11)  # the half of the five seconds before
    assert found.restored_command_pct == 50.0
    assert found.time_s[0] == pytest.approx(-0.05)
    assert found.time_s[-1] == pytest.approx(59.9 - 29.95)
    assert found.travel_pct[[0, -1]] == pytest.approx([50.0, 0.0])


@settings(max_examples=25)
@given(by_s=integers(0, 10**6), mirrors=booleans(), offset=floats(-5, 5), times=floats(0.5, 3))
def test_a_loss_follows_clock_mirror_and_offset_and_takes_as_much_longer(
    by_s: int, mirrors: bool, offset: float, times: float
) -> None:
    recording = lost_signal(0.02)
    moved = replace(recording, travel_pct=recording.travel_pct + offset)
    moved = slower(mirrored(moved) if mirrors else moved, times)
    moved = later(moved, by_s)
    parts = [Segment(each.what, each.from_s * times + by_s, each.to_s * times + by_s) for each in (LOST, BACK)]
    one, other = reduced(recording), reduced(moved, *parts)
    at = (lambda value: 100.0 - value - offset) if mirrors else (lambda value: value + offset)
    assert other.lost_s == pytest.approx(one.lost_s * times + by_s)
    assert other.time.value == pytest.approx(one.time.value * times, abs=0.02 * times)
    assert abs(other.time.value - 10.95 * times) <= 3.0 * other.time.standard_uncertainty
    for name in ("before", "position", "restored_position"):
        assert getattr(other, name).value == pytest.approx(at(getattr(one, name).value), abs=0.01)
    assert other.restored_command_pct == pytest.approx(50.0)


@pytest.mark.parametrize(("moves_pct", "moved"), [(0.49, False), (0.51, True)])
def test_a_valve_that_moves_by_half_a_percent_has_left_its_place(moves_pct: float, moved: bool) -> None:
    recording = lost_signal()
    travel = np.interp(recording.time_s, [0, 31, 32, 90], [50, 50, 50 - moves_pct, 50 - moves_pct])
    found = reduced(replace(recording, travel_pct=travel))
    assert (found.time.value is not None) is moved
    assert found.time.why_not == ("" if moved else "the valve stayed where it was")


def test_a_loss_without_restoration_lasts_as_long_as_the_signal_is_lost() -> None:
    """The recording goes on after the loss; the place where the valve rests is still that of the loss."""
    found = reduced(lost_signal(), Segment("signal_lost", 25.0, 89.9), None)
    assert found.restored_s is None
    assert found.position.value == pytest.approx(0.0)
    assert found.restored_position.why_not == "the signal did not come back while it was recorded"
    assert np.isnan(found.restored_command_pct)
    assert found.time_s[-1] == pytest.approx(59.9 - 29.95)
    for_good = replace(lost_signal(), signal_lost=lost_signal().time_s >= 30.0)
    assert reduced(for_good, Segment("signal_lost", 25.0, 59.9), None).time_s[-1] == pytest.approx(89.9 - 29.95)


def test_a_valve_still_on_its_way_has_neither_position_nor_time() -> None:
    recording = lost_signal()
    travel = np.interp(recording.time_s, [0, 31, 90], [50, 50, 0])
    found = reduced(replace(recording, travel_pct=travel))
    reason = "the valve had not come to rest when the signal came back"
    assert (found.position.value, found.position.why_not) == (None, reason)
    assert (found.time.value, found.time.why_not) == (None, reason)
    assert found.restored_position.why_not == "the valve had not come to rest after the restoration"


def test_a_valve_on_its_way_before_the_loss_starts_from_where_it_was() -> None:
    recording = lost_signal()
    travel = np.where(recording.time_s < 30.0, 20.0 + recording.time_s, recording.travel_pct)
    found = reduced(replace(recording, travel_pct=travel))
    assert found.before.why_not == "the valve was not at rest before the loss"
    assert found.time.value == pytest.approx(10.95)


def test_a_jump_that_no_sample_shows_has_no_time() -> None:
    """The last sample with signal lost its travel, and the first without stands at the end."""
    recording = lost_signal()
    travel = np.where(recording.time_s < 29.95, 50.0, 0.0)
    travel[299] = np.nan
    found = reduced(replace(recording, travel_pct=travel))
    assert found.position.value == 0.0
    assert found.time.why_not == "the valve was within the band all the time"


def test_a_segment_in_which_the_signal_is_not_lost_has_no_loss() -> None:
    recording = lost_signal()
    assert reduce_loss(recording, Segment("signal_lost", 0.0, 20.0), None, channels_of(recording)) is None
    unmarked = replace(recording, signal_lost=None)
    assert reduce_loss(unmarked, LOST, BACK, channels_of(unmarked)) is None


def test_the_command_after_a_restoration_leaves_out_samples_without_signal() -> None:
    recording = lost_signal()
    lost = recording.signal_lost | ((recording.time_s >= 84.0) & (recording.time_s < 86.0))
    wild = np.where(lost, -25.0, noisy(np.full(900, 50.0), 0.05))
    found = reduced(replace(recording, signal_lost=lost, command_pct=wild))
    assert found.restored_command_pct == pytest.approx(50.0, abs=0.05)
    nothing = np.where(recording.time_s >= 59.9, np.nan, 50.0)
    assert np.isnan(reduced(replace(recording, command_pct=nothing)).restored_command_pct)


def test_lost_samples_of_the_travel_are_left_out_of_what_is_drawn() -> None:
    recording = lost_signal()
    travel = recording.travel_pct.copy()
    travel[350:360] = np.nan
    found = reduced(replace(recording, travel_pct=travel))
    assert np.isfinite(found.travel_pct).all()
    assert found.time_s.size == reduced(recording).time_s.size - 10
    assert found.time.value == pytest.approx(10.95)


def test_a_blank_command_shows_no_loss() -> None:
    made = lost_signal()
    blank = replace(made, command_pct=np.where(made.signal_lost, np.nan, made.command_pct))
    assert reduced(blank).is_blank
    some = blank.command_pct.copy()
    some[int(np.flatnonzero(made.signal_lost)[3])] = -20.0
    assert not reduced(replace(blank, command_pct=some)).is_blank


def test_a_loss_of_supply_has_its_place_and_its_restoration_as_a_loss_of_signal_has() -> None:
    """The valve holds at 50 %, and the command with it."""
    (loss,) = reduce_recording(with_supply_lost(), same).losses
    assert (loss.segment.what, loss.causes) == ("supply_lost", ("supply_off",))
    assert (loss.before.value, loss.position.value, loss.restored_position.value) == (50.0, 50.0, 50.0)
    assert (loss.lost_s, loss.restored_s, loss.restored_command_pct) == pytest.approx((29.95, 59.9, 50.0))
    assert not loss.is_too_short


def test_a_feedback_without_supply_tells_no_place() -> None:
    made = replace(with_supply_lost(), travel_is_feedback=True)
    (loss,) = reduce_recording(made, same).losses
    assert (
        loss.position.why_not == loss.time.why_not == "the feedback, which stands for the travel, lost its supply too"
    )


@pytest.mark.parametrize(
    ("lasts_s", "moves_pct", "too_short"),
    [(0.5, 0.0, True), (9.8, 0.0, True), (10.2, 0.0, False), (5.0, 0.4, True), (5.0, 0.6, False)],
)
def test_a_loss_that_moves_nothing_has_to_last_ten_seconds(lasts_s: float, moves_pct: float, too_short: bool) -> None:
    time = 0.1 * np.arange(900)
    lost = (time >= 30.0) & (time < 30.0 + lasts_s)
    travel = np.interp(time, [30.0, 31.0], [50.0, 50.0 + moves_pct])
    (loss,) = reduce_recording(Recording(time, np.where(lost, -25.0, 50.0), travel, signal_lost=lost), same).losses
    assert loss.is_too_short is too_short


def test_a_signal_that_sinks_leaves_its_time_open_by_as_long_as_it_sank() -> None:
    """Three seconds from 50 % to the failure level; the valve follows from 50 to 35 %, and then closes."""
    made = lost_signal()
    fading = np.interp(made.time_s, [27.0, 30.0], [50.0, -3.0])
    command = np.where(made.time_s < 30.0, fading, made.command_pct)
    travel = np.where(made.time_s < 31.0, np.interp(made.time_s, [27.0, 31.0], [50.0, 35.0]), made.travel_pct)
    (loss,) = reduce_recording(replace(made, command_pct=command, travel_pct=travel), same).losses
    assert loss.before.value == pytest.approx(50.0, abs=0.01)
    assert loss.at_loss_pct == pytest.approx(39.1, abs=0.2)
    assert loss.time.value == pytest.approx(10.95)
    assert loss.time.standard_uncertainty == pytest.approx(3.0 / 3**0.5, rel=0.1)


def test_a_single_bad_sample_after_the_end_of_travel_is_no_motion() -> None:
    made = lost_signal(0.02)
    travel = made.travel_pct.copy()
    travel[560] = 2.4
    assert reduced(replace(made, travel_pct=travel)).time.value == pytest.approx(reduced(made).time.value, abs=0.05)


def slow_loss(per_s: float = 1.0, interval_s: float = 0.02) -> Recording:
    """A loss from 30 s on: the valve closes from 30 % evenly; within 0.5 % of closed after 29.5 % of way."""
    time = np.arange(0.0, 90.0, interval_s)
    lost = time >= 30.0
    travel = np.clip(30.0 - per_s * (time - 30.0), 0.0, 30.0)
    return Recording(time, np.where(lost, -25.0, 30.0), travel, signal_lost=lost)


def with_travel_noise(channels: Channels, **of_travel: float) -> Channels:
    return replace(channels, travel=replace(channels.travel, **of_travel))


def test_hum_at_the_arrival_and_at_the_rest_is_in_the_time() -> None:
    """A sine of 0.15 % and 47 s, in 24 phases: the entry lies up to 0.3 s beside, at 1 % a second."""
    made, held, widest = slow_loss(), 0, 0.0
    for phase in np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False):
        hum = 0.15 * np.sin(2.0 * np.pi * made.time_s / 47.0 + phase)
        humming = replace(made, travel_pct=noisy(made.travel_pct + hum, 0.005))
        channels = with_travel_noise(channels_of(made), deviation=0.005, hum=0.15, hum_period_s=47.0)
        loss = reduce_loss(humming, Segment("signal_lost", 25.0, 90.0), None, channels)
        assert loss is not None
        held += abs(loss.time.value - 29.5) <= 2.0 * loss.time.standard_uncertainty
        widest = max(widest, loss.time.standard_uncertainty)
    assert held >= 23
    assert widest < 0.4


def test_a_valve_that_hunts_otherwise_is_timed_into_half_a_percent_where_it_rests_in_the_loss() -> None:
    """Its swings look like 0.6 % of noise, of which its rest has 0.02 %."""
    made = slow_loss()
    quiet = replace(made, travel_pct=noisy(made.travel_pct, 0.02))
    hunts = with_travel_noise(channels_of(quiet), deviation=0.6)
    loss = reduce_loss(quiet, Segment("signal_lost", 25.0, 90.0), None, hunts)
    assert loss is not None
    assert loss.time.beside == {"band_pct": 0.5}
    assert abs(loss.time.value - 29.5) <= 2.0 * loss.time.standard_uncertainty


@pytest.mark.parametrize("start_number", range(8))
def test_a_wider_band_leaves_the_time_open_by_the_way_to_the_one_asked_for(start_number: int) -> None:
    """Noise of 0.3 % at one sample in 2 s: into 1.5 % a second before 0.5 %."""
    made = slow_loss(interval_s=2.0)
    loud = replace(made, travel_pct=noisy(made.travel_pct, 0.3, start_number))
    channels = with_travel_noise(channels_of(loud), deviation=0.3)
    loss = reduce_loss(loud, Segment("signal_lost", 25.0, 90.0), None, channels)
    assert loss is not None
    assert loss.time.beside == {"band_pct": pytest.approx(1.5, rel=0.01)}
    assert abs(loss.time.value + loss.lost_s - 59.5) <= 2.0 * loss.time.standard_uncertainty


def test_means_bring_fast_noise_within_the_band() -> None:
    """0.2 % at 50 samples a second."""
    made = slow_loss()
    loud = replace(made, travel_pct=noisy(made.travel_pct, 0.2))
    loss = reduce_loss(loud, Segment("signal_lost", 25.0, 90.0), None, channels_of(loud))
    assert loss is not None
    assert loss.time.beside == {"band_pct": 0.5}
    assert abs(loss.time.value - 29.5) <= 2.0 * loss.time.standard_uncertainty


def test_a_valve_under_way_in_a_loss_of_a_third_of_a_second_has_come_to_no_rest() -> None:
    """A valve that hunts goes 0.7 % meanwhile, which its noise hides; the contact had only bounced."""
    time = 0.02 * np.arange(4500)
    lost = (time >= 30.0) & (time < 30.33)
    travel = np.interp(time, [29.9, 31.0], [52.2, 49.8])
    made = Recording(time, np.where(lost, -25.0, 50.0), noisy(travel, 0.01), signal_lost=lost)
    channels = with_travel_noise(channels_of(made), deviation=0.3)
    loss = reduce_loss(made, Segment("signal_lost", 25.0, 30.32), Segment("signal_restored", 30.32, 89.98), channels)
    assert loss is not None
    assert loss.position.value is None
    assert loss.is_too_short


@pytest.mark.parametrize(("still_s", "why_not"), [(12.5, ""), (2.5, "the valve went to and fro after the restoration")])
def test_a_valve_that_swings_after_the_restoration_stood_nowhere(still_s: float, why_not: str) -> None:
    """Swings of 4 % every 10 s until so long before the end, and then at rest where they turned."""
    made = lost_signal(0.01)
    swing_s = np.clip(made.time_s - 70.0, 0.0, 20.0 - still_s)
    found = reduced(replace(made, travel_pct=made.travel_pct + 2.0 * np.sin(0.2 * np.pi * swing_s))).restored_position
    assert found.why_not.startswith(why_not)
    assert (found.value is None) is bool(why_not)
