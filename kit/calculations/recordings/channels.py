"""What the channels of a recording do at rest: one account, for every threshold and every uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording
from kit.calculations.recordings.noise import Noise, noise_of, quietest_noise

_HARDLY_AT_REST: Final = 0.4  # House definition: of the noise, what a valve that never rests has in its quietest part
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
    valve is hardly ever at rest, and the quietest stretch stands. A channel whose own step does not show, or a command
    that does not flicker, so that its steps may be those of its source, has the greatest step of the other signals at
    most: one recorder took them all.
    """
    interval_s, lost = recording.interval_s, recording.signal_lost
    command = recording.command_pct if lost is None else np.where(lost, np.nan, recording.command_pct)
    found = {"command": noise_of(command, interval_s), "travel": noise_of(recording.travel_pct, interval_s)}
    found["feedback"] = found["travel"] if recording.travel_is_feedback else _of(recording.feedback_pct, interval_s)
    found = {name: _with_step(name, noise, found) for name, noise in found.items()}
    travel = found["travel"]
    quiet = quietest_noise(recording.travel_pct, travel)
    if quiet.deviation < _HARDLY_AT_REST * travel.deviation:
        travel = quiet
    return Channels(found["command"], travel, quiet, found["feedback"], _of(recording.supply_v, interval_s))


def _of(channel: FloatArray | None, interval_s: float) -> Noise:
    return _NONE if channel is None else noise_of(channel, interval_s)


def _with_step(name: str, noise: Noise, found: dict[str, Noise]) -> Noise:
    """A step that the channel does not show by itself is that of its neighbours."""
    others = max(each.quantum for other, each in found.items() if other != name)
    if noise.quantum == 0.0 and noise.deviation == 0.0:
        return replace(noise, quantum=others)
    if name == "command" and not noise.flickers and others > 0.0:
        return replace(noise, quantum=min(noise.quantum, others))
    return noise
