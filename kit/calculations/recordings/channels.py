"""What the channels of a recording do at rest: one account, for every threshold and every uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.recording import Recording
from kit.calculations.recordings.noise import Noise, noise_of, quietest_noise

_HARDLY_AT_REST: Final = 0.4  # House definition: of the noise, what a valve that never rests has in its quietest part


@dataclass(frozen=True, slots=True)
class Channels:
    """Noise of a recording's command and travel, the latter also in its quietest stretch."""

    command: Noise
    travel: Noise
    quiet_travel: Noise


def channels_of(recording: Recording) -> Channels:
    """Noise of command and travel; the command while the signal was lost does not count.

    Notes
    -----
    **House definition**: where the quietest stretch of the travel has less than 0.4 of the noise of the whole, the
    valve is hardly ever at rest, and the quietest stretch stands.
    """
    lost = recording.signal_lost
    command = recording.command_pct if lost is None else np.where(lost, np.nan, recording.command_pct)
    travel = noise_of(recording.travel_pct, recording.interval_s)
    quiet = quietest_noise(recording.travel_pct, travel)
    if quiet.deviation < _HARDLY_AT_REST * travel.deviation:
        travel = quiet
    return Channels(noise_of(command, recording.interval_s), travel, quiet)
