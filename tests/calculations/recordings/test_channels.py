"""What the channels of a recording do at rest, one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.segments import cut_recording
from tests.calculations.recordings.made import noisy, same, stroked, walked


def test_every_channel_has_an_account_of_its_own() -> None:
    recording = stroked(0.02)
    assert recording.supply_v is not None
    found = channels_of(
        replace(recording, supply_v=noisy(recording.supply_v, 0.5), feedback_pct=noisy(recording.travel_pct, 0.05))
    )
    assert found.travel.deviation == pytest.approx(0.02, rel=0.2)
    assert found.supply.deviation == pytest.approx(0.5, rel=0.2)
    assert found.feedback.deviation == pytest.approx(0.054, rel=0.2)


def test_a_channel_that_was_not_recorded_has_no_noise() -> None:
    found = channels_of(walked(0.1, 0.02))
    assert found.feedback == found.supply == Noise(0.0, 0.0)
    alone = channels_of(replace(walked(0.1, 0.02), travel_is_feedback=True))
    assert alone.feedback.deviation == alone.travel.deviation > 0.0


@pytest.mark.parametrize("repeats", [1, 3])
def test_a_slow_triangle_of_the_command_is_neither_wander_nor_hum(repeats: int) -> None:
    """0.05 % a second up by 1.8 % and back: its ramps are still found."""
    time = np.arange(0.0, 72.0 * repeats + 60.0, 0.2)
    command = 50.0 + 0.05 * np.interp((time - 30.0) % 72.0, [0.0, 36.0, 72.0], [0.0, 36.0, 0.0])
    command = noisy(np.where((time < 30.0) | (time > 30.0 + 72.0 * repeats), 50.0, command), 0.01)
    recording = Recording(time, command, noisy(command, 0.02))
    found = channels_of(recording).command
    assert (found.hum, found.wander <= 0.05) == (0.0, True)
    whats = [each.what for each in cut_recording(recording, same)]
    assert (whats.count("ramp_up"), whats.count("ramp_down")) == (repeats, repeats)


def test_a_command_that_shows_no_step_has_that_of_the_recorder_beside_it() -> None:
    """A source that stands still beside a travel in steps of 0.02; its own steps of 5 % are none of the recorder."""
    recording = walked(0.1, 0.02, 0.02)
    command = np.round(recording.command_pct / 5.0) * 5.0
    found = channels_of(replace(recording, command_pct=command))
    assert found.travel.quantum == pytest.approx(0.02)
    assert found.command == Noise(0.0, found.travel.quantum)
    assert channels_of(replace(recording, command_pct=np.full(len(recording), 50.0))).command.quantum > 0.0


def test_the_command_while_the_signal_is_lost_does_not_count() -> None:
    recording = walked(0.1, 0.02)
    lost = recording.time_s > 100.0
    wild = replace(recording, command_pct=np.where(lost, noisy(recording.command_pct, 5.0), recording.command_pct))
    assert channels_of(replace(wild, signal_lost=lost)).command.deviation == pytest.approx(0.02, rel=0.1)
