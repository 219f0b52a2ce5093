"""Jumps of the stem that the feedback take-off does not make: stick-slip between the two, on slow ramps."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.recording import Recording, Segment
from kit.calculations.lines import least_squares_line
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.noise import Noise

_RAMPS: Final = ("ramp_up", "ramp_down")
_BLOCK_S: Final = 1.0  # House definition: a stem that sticks stands for several; noise averages out
_FEWEST: Final = 12  # House definition: blocks on a ramp, fewer tell no saw from a line
_TAKEN_UP_PCT: Final = 1.0  # House definition: of travel; a stem that went so far has all play behind it
_OUT_OF_NOISE: Final = 2.0  # House definition: of what noise makes of a block's mean
_SAW: Final = sqrt(12.0)  # peak to peak of an even saw over its standard deviation


def stem_jump_pct(recording: Recording, segments: Sequence[Segment], channels: Channels) -> float | None:
    """How far the stem jumps at a time behind a feedback that goes evenly, over slow ramps of the command.

    Parameters
    ----------
    recording : Recording
        With a measured position and a feedback of its own.
    segments : sequence of Segment
        Its tests; ramps of the command are looked at.
    channels : Channels
        What its channels do at rest.

    Returns
    -------
    float or None
        Size of a jump [% of travel], 0 where none shows; None: no ramp tells.

    Notes
    -----
    **House definition**: on each ramp, from where the measured position has moved by 1 % of travel, so that play is
    taken up, means over 1 s of it are held against those of the feedback by a line; what is left is a saw where the
    stem sticks and slips, and nothing where play, dead band or friction of the whole drive parts up and down. The
    jump is the root of 12 times its standard deviation less that of the noise; below twice the noise there is none.
    The median of the ramps counts.
    """
    feedback = recording.feedback_pct
    if feedback is None or recording.travel_is_feedback or recording.interval_s <= 0.0:
        return None
    count = max(round(_BLOCK_S / recording.interval_s), 1)
    found = []
    for each in segments:
        if each.what in _RAMPS:
            place = recording.place(each.from_s, each.to_s)
            jump = _on_ramp(recording.travel_pct[place], feedback[place], count, channels.travel)
            found += [] if jump is None else [jump]
    return float(np.median(found)) if found else None


def _on_ramp(travel: FloatArray, feedback: FloatArray, count: int, noise: Noise) -> float | None:
    """The jumps on one ramp; None: too little of it is left once play is taken up, or the feedback stands."""
    stem, told = _means(travel, count), _means(feedback, count)
    known = np.isfinite(stem) & np.isfinite(told)
    stem, told = stem[known], told[known]
    if stem.size < _FEWEST:
        return None
    free = _beyond(stem)
    stem, told = stem[free], told[free]
    if stem.size < _FEWEST or np.ptp(told) <= _TAKEN_UP_PCT:
        return None
    line = least_squares_line(told, stem)
    left = stem - (line.intercept + line.slope * told)
    of_noise = noise.of_mean(count)
    deviation = float(left.std(ddof=2))
    return _SAW * sqrt(deviation**2 - of_noise**2) if deviation > _OUT_OF_NOISE * of_noise else 0.0


def _means(values: FloatArray, count: int) -> FloatArray:
    """Means of so many samples in a row, shape (n // count,); nan where one is lost."""
    whole = values.size // count * count
    means: FloatArray = values[:whole].reshape(-1, count).mean(axis=1)
    return means


def _beyond(stem: FloatArray) -> BoolArray:
    """From where the stem has moved on by more than the play can hide, to the end, shape as given."""
    moved = np.abs(stem - stem[0]) >= _TAKEN_UP_PCT
    beyond: BoolArray = np.arange(stem.size) >= (int(moved.argmax()) if moved.any() else stem.size)
    return beyond
