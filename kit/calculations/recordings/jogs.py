"""Where a command that is jogged stands still between two jogs, too shortly for a level."""

from __future__ import annotations

from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording
from kit.calculations.recordings.levels import LEAST_CHANGE_PCT, Change, Level, quiet_stretches
from kit.calculations.recordings.noise import Noise

_WINDOW_S: Final = 0.5  # House definition: means over so long show a jog that noise hides from single samples
_SHORTEST_S: Final = 0.5  # House definition: a shorter stand shows neither where the command nor where the travel is
_FEWEST: Final = 4  # House definition: samples of a stand, two in each half
_DEVIATIONS: Final = 4.0  # House definition: halves that differ by more hide a jog
_ALIKE: Final = 0.5  # House definition: of the least change, or of the recorder's step, likewise


def stands_of_jogs(recording: Recording, change: Change, noise: Noise) -> list[Level]:
    """The stands of a command that is jogged from one level to another.

    Parameters
    ----------
    recording : Recording
    change : Change
        One of kind "jogs".
    noise : Noise
        Of the command.

    Returns
    -------
    list of Level
        In order of time.

    Notes
    -----
    **House definition**: what neither single samples nor means over 0.5 s see a change in, for half a second and four
    samples, where both halves are alike: a jog that noise hides does not pass for a stand.

    Examples
    --------
    >>> time = np.arange(0.0, 7.0, 0.1)
    >>> command = 50.0 + 0.25 * (time // 1.4)
    >>> change = Change("jogs", 0.0, 7.0, 50.0, 51.0, 3.5, 3.5)
    >>> stands = stands_of_jogs(Recording(time, command, command), change, Noise(0.001, 0.0))
    >>> [round(each.command_pct, 2) for each in stands]
    [50.0, 50.25, 50.5, 50.75, 51.0]
    """
    place = recording.place(change.from_s, change.to_s)
    known = place.start + np.flatnonzero(np.isfinite(recording.command_pct[place]))
    if known.size < 2 * _FEWEST:
        return []
    times, command = recording.time_s[known], recording.command_pct[known]
    nowhere = np.zeros(known.size - 1, dtype=bool)
    own = [each for each in quiet_stretches(times, command, noise, nowhere, (_WINDOW_S,)) if _lasts(times, *each)]
    return [
        Level(int(known[first]), int(known[last]), float(times[first]), float(times[last]), float(values.mean()))
        for first, last in own
        if _is_even(values := command[first : last + 1], noise, float(times[last] - times[first]))
    ]


def _lasts(time_s: FloatArray, first: int, last: int) -> bool:
    return last - first + 1 >= _FEWEST and float(time_s[last] - time_s[first]) >= _SHORTEST_S


def _is_even(values: FloatArray, noise: Noise, lasts_s: float) -> bool:
    """Whether no jog hides in a stand: its halves are alike."""
    half = values.size // 2
    by_noise = _DEVIATIONS * sqrt(2.0 * noise.deviation**2 / half + 2.0 * noise.wander**2)
    least = max(by_noise, _ALIKE * LEAST_CHANGE_PCT, _ALIKE * noise.flicker)
    return abs(float(values[half:].mean() - values[:half].mean())) <= least + noise.swing_in(0.5 * lasts_s)
