"""What the channels of a recording do at rest: one account, for every threshold and every uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording
from kit.calculations.recordings.noise import Noise, noise_of, quietest_noise
from kit.calculations.recordings.slow import (
    Beat,
    Blocks,
    amplitude_at,
    beat_of,
    blocks_of,
    deviation_of,
    has_levels,
    is_steady,
    with_cuts,
    without_beat,
)
from kit.calculations.recordings.stairs import clear_steps
from kit.calculations.recordings.wander import wander_of

MAINS_HZ: Final = (50.0, 60.0)  # public supply
_MAINS_OFF: Final = 0.004  # House definition: share by which a supply's frequency and a logger's clock may be off
_HARDLY_AT_REST: Final = 0.4  # House definition: of the noise, what a valve that never rests has in its quietest part
_MORE: Final = 1.1  # House definition: of the noise, what two seconds at rest show more of it
_LEAST_PCT: Final = 0.002  # House definition: less of it shows in no figure
_MOST_WANDER_PCT: Final = 0.1  # House definition: of travel; a valve that does more at rest moves
_FINEST_PCT: Final = 0.002  # House definition: of range, the step of 16 bits over 1.3 times a signal's range
_MOST_OF_COMMAND_PCT: Final = 0.05  # House definition: of range; a source that does more is being turned
_OF_COMMAND: Final = 3.0  # House definition: of the command's hum; more in the travel is the valve's own
_MOST_OF_ANY_PCT: Final = 0.25  # House definition: of hum in the command that no supply can beat like
_CLEAR: Final = 3.0  # House definition: deviations by which an amplitude is clear of none
_NONE: Final = Noise(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Channels:
    """What each channel of a recording does at rest; the travel also in its quietest stretch.

    ``quiet_travel`` knows no wander: what a valve does slowly at rest is its own until another channel tells
    otherwise. A channel that was not recorded has no noise.
    """

    command: Noise  # [% of command range]
    travel: Noise  # [% of travel]
    quiet_travel: Noise  # [% of travel]
    feedback: Noise = _NONE  # [% of feedback range]
    supply: Noise = _NONE  # [V]


def channels_of(recording: Recording) -> Channels:
    """What command, travel, feedback and supply do at rest; the command while the signal was lost does not count.

    Notes
    -----
    **House definition**: where the quietest stretch of the travel has less than 0.4 of the noise of the whole, the
    valve is hardly ever at rest, and the quietest stretch stands. A channel whose own step does not show, or a
    command that does not flicker, so that its steps may be those of its source, has the greatest step of the other
    signals at most: one recorder took them all. One without noise has that of 16 bits at least. A slow sine of the
    command is hum, above 0.25 % where the mains can beat so, and so is one of the same frequency in travel and
    feedback, up to that, or to three times that where it is there throughout in one phase. A sine of the travel
    alone is hum where it goes on in one phase through four changes of level and the mains can beat with the
    sampling like that, and else the valve's own. Wander of the travel beyond 0.1 % is the valve's own, and of the
    command beyond 0.05 % a slow ramp. What the command does in clear steps is neither wander nor hum.
    """
    interval_s, lost = recording.interval_s, recording.signal_lost
    command = recording.command_pct if lost is None else np.where(lost, np.nan, recording.command_pct)
    values = {"command": command, "travel": recording.travel_pct}
    if recording.feedback_pct is not None and not recording.travel_is_feedback:
        values["feedback"] = recording.feedback_pct
    found = {name: noise_of(channel, interval_s) for name, channel in values.items()}
    found = {name: _with_converter(_with_step(name, noise, found)) for name, noise in found.items()}
    quiet = quietest_noise(recording.travel_pct, found["travel"])
    if quiet.deviation < _HARDLY_AT_REST * found["travel"].deviation:
        found["travel"] = quiet
    found = _with_slow(recording, values, found)
    travel = found["travel"]
    quiet = replace(quiet, hum=travel.hum, hum_period_s=travel.hum_period_s)
    feedback = travel if recording.travel_is_feedback else found.get("feedback", _NONE)
    supply = _NONE if recording.supply_v is None else noise_of(recording.supply_v, interval_s)
    return Channels(found["command"], travel, quiet, feedback, supply)


def beats_with_mains(frequency_hz: float, interval_s: float) -> bool:
    """Whether the mains, sampled at even intervals, can show as a beat of that frequency.

    Notes
    -----
    A sine of f sampled at r shows as one of the distance from f to the nearest multiple of r: any textbook.
    **House definition**: 50 or 60 Hz to within 0.4 %.

    Examples
    --------
    >>> beats_with_mains(0.02, 0.1), beats_with_mains(0.02, 1 / 8), beats_with_mains(0.4, 0.1)
    (True, False, False)
    """
    rate = 1.0 / interval_s
    beats = ((mains, abs(mains - rate * round(mains / rate))) for mains in MAINS_HZ)
    return any(abs(beat - frequency_hz) <= _MAINS_OFF * mains for mains, beat in beats)


def _with_step(name: str, noise: Noise, found: dict[str, Noise]) -> Noise:
    """A step that the channel does not show by itself is that of its neighbours."""
    others = max(each.quantum for other, each in found.items() if other != name)
    if noise.quantum == 0.0 and noise.deviation == 0.0:
        return replace(noise, quantum=others)
    if name == "command" and not noise.flickers and others > 0.0:
        return replace(noise, quantum=min(noise.quantum, others))
    return noise


def _with_converter(noise: Noise) -> Noise:
    """A channel without noise to speak of has the step of a fine converter at least."""
    return replace(noise, quantum=_FINEST_PCT) if max(noise.deviation, noise.quantum) < _FINEST_PCT else noise


def _with_slow(recording: Recording, values: dict[str, FloatArray], found: dict[str, Noise]) -> dict[str, Noise]:
    """The channels with what they do over seconds: hum within, hum that beats slowly, and wander."""
    parts = {
        name: blocks_of(recording.time_s, channel, found[name], recording.interval_s)
        for name, channel in values.items()
    }
    if parts["command"] is not None:
        known = values["command"][np.isfinite(values["command"])]
        steps = clear_steps(known, recording.interval_s, found["command"])
        parts["command"] = with_cuts(parts["command"], steps)
    command, travel = parts["command"], parts["travel"]
    beat, of_command = _beat_of(command, travel, recording.interval_s)
    slow = dict(found)
    for name, blocks in parts.items():
        if blocks is None:
            continue
        noise, blocks = _with_hum(name, found[name], blocks, beat, of_command)
        also = command.cut if command is not None and command.cut.size == blocks.cut.size else None
        most = _MOST_OF_COMMAND_PCT if name == "command" else _MOST_WANDER_PCT
        wander = min(wander_of(blocks, noise, also), most)
        seen = deviation_of(blocks, noise)
        slow[name] = replace(
            noise, wander=wander, deviation=seen if seen > _MORE * noise.deviation + _LEAST_PCT else noise.deviation
        )
    return slow


def _beat_of(command: Blocks | None, travel: Blocks | None, interval_s: float) -> tuple[Beat | None, float]:
    """The beat of hum in a recording, and its amplitude in the command; 0: the travel alone shows it."""
    beat = None if command is None else beat_of(command)
    if beat is not None and (beat.amplitude <= _MOST_OF_ANY_PCT or beats_with_mains(beat.frequency_hz, interval_s)):
        return beat, beat.amplitude
    if command is None or travel is None or not has_levels(command):
        return None, 0.0
    own = beat_of(travel)
    if own is None or not own.in_step or not beats_with_mains(own.frequency_hz, interval_s):
        return None, 0.0
    return (own, 0.0) if is_steady(travel, own.frequency_hz, own.amplitude) else (None, 0.0)


def _with_hum(name: str, noise: Noise, blocks: Blocks, beat: Beat | None, of_command: float) -> tuple[Noise, Blocks]:
    """A channel's noise with its hum, and its blocks without."""
    if beat is None:
        return noise, blocks
    amplitude, deviation = amplitude_at(blocks, beat.frequency_hz)
    if name != "command" and of_command > 0.0:
        steady = is_steady(blocks, beat.frequency_hz, amplitude)
        amplitude = min(amplitude, (_OF_COMMAND if steady else 1.0) * of_command)
    if amplitude <= _CLEAR * deviation:
        return noise, blocks
    return replace(noise, hum=amplitude, hum_period_s=1.0 / beat.frequency_hz), without_beat(blocks, beat.frequency_hz)
