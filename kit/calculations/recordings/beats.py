"""Swings that may be none of the valve's: hum that beats with the sampling, and what other channels show of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import Channels, beats_with_mains
from kit.calculations.recordings.spells import FEWEST_BLOCKS, SAME_PERIOD

_BEAT_SHARE: Final = 0.3  # House definition: of the travel's swing, what the command swings with it in a beat of hum
_BEAT_DEVIATIONS: Final = 5.0  # House definition: a swing of the command beyond it is no noise
_MOST_HUM_PCT: Final = 0.5  # House definition: peak to peak; a greater swing is the valve's, whatever a filter hides
_AGAIN: Final = "screen the wires, record at another rate, and repeat the rest"


def swings_with(recording: Recording, channels: Channels, turn_s: FloatArray, turn_pct: FloatArray) -> str:
    """Why the swing may be none of the valve's ("": it is the valve's).

    Parameters
    ----------
    recording : Recording
    channels : Channels
        What its channels do at rest.
    turn_s, turn_pct : array, shape (k,)
        When the travel turns [s], and where [% of travel].

    Notes
    -----
    **House definition**: it is none where the hum found in the recording makes up 0.3 of it at its period, where the
    command swings with it by 0.3 and more than noise makes, or where it is of 0.5 % at most and a feedback beside the
    position shows less than 0.3 of it, or no command was recorded and hum of the mains can beat as slowly. A greater
    swing is the valve's: a filtered feedback hides a quick one.
    """
    beat_s = channels.travel.hum_period_s
    swing_pct, period_s = float(np.abs(np.diff(turn_pct)).mean()), 2.0 * float(np.diff(turn_s).mean())
    hums = 2.0 * channels.travel.hum > _BEAT_SHARE * swing_pct
    if hums and beat_s > 0.0 and abs(period_s / beat_s - 1.0) < SAME_PERIOD:
        return f"the travel swings as hum beats with the sampling, every {beat_s:.3g} s: {_AGAIN}"
    if (
        not recording.has_command
        and swing_pct <= _MOST_HUM_PCT
        and beats_with_mains(1.0 / period_s, recording.interval_s)
    ):
        return f"hum beats with the sampling as slowly and no command tells it apart: record it too, {_AGAIN}"
    place = recording.place(float(turn_s[0]), float(turn_s[-1]))
    times = recording.time_s[place]
    phase = np.exp(1j * np.pi * np.interp(times, turn_s, np.arange(turn_s.size)))
    travel = _in_time(recording.travel_pct[place], phase)
    command = _in_time(recording.command_pct[place], phase)
    least = _BEAT_DEVIATIONS * replace(channels.command, hum=0.0).of_mean(max(times.size // 2, 1))
    if command > max(_BEAT_SHARE * travel, least):
        return f"command and travel swing together, by hum on both or because the command does: hold it still, {_AGAIN}"
    if recording.travel_is_feedback or recording.feedback_pct is None or swing_pct > _MOST_HUM_PCT:
        return ""
    feedback = _in_time(recording.feedback_pct[place], phase)
    if feedback < _BEAT_SHARE * travel:
        return (
            "the position swings and the feedback does not, by hum on the position's signal or play before the "
            f"feedback: look at the stem, {_AGAIN}"
        )
    return ""


def _in_time(values: FloatArray, phase: np.ndarray[tuple[int], np.dtype[np.complex128]]) -> float:
    """Amplitude of what swings with a phase [unit of the values]."""
    known = np.isfinite(values)
    if np.count_nonzero(known) < FEWEST_BLOCKS:
        return 0.0
    kept, turning = values[known] - values[known].mean(), phase[known]
    return 2.0 * float(np.abs((kept * (turning - turning.mean())).mean()))
