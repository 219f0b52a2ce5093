"""Whether a travel was on its way before its command changed: then the two have no common clock."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.leaving import response_start
from kit.calculations.recordings.levels import Change
from kit.calculations.recordings.noise import Noise

_LEAST_PCT: Final = 0.3  # House definition: of travel; a valve creeps by less before a step
_LEAST_SHARE: Final = 0.02  # House definition: of the change, likewise
_UNDER_WAY: Final = 0.5  # House definition: of the change, up to which the travel must not turn back
_FEWEST: Final = 3  # House definition: samples at rest


def ahead_by(time_s: FloatArray, travel: FloatArray, change: Change, end: Rest, noise: Noise) -> float | None:
    """By how much a travel left for its end before its command changed [s]; None: it did not, or nothing tells.

    Parameters
    ----------
    time_s, travel : array, shape (n,)
        From up to 5 s before the change on, finite.
    change : Change
        Of the command.
    end : Rest
        Where the travel came to.
    noise : Noise
        Of the travel.

    Notes
    -----
    **House definition**: the travel was at rest in the first half of the time before the change, had left
    by more than twice the noise, 0.3 % of travel and 2 % of its change when the command changed, and went on the same
    way to half of its change. What hunts turns back, and what creeps goes less far.
    """
    before = time_s <= change.from_s
    half = time_s < 0.5 * (time_s[0] + change.from_s)
    if np.count_nonzero(half) < _FEWEST or not (before & ~half).any():
        return None
    start = rest_of(time_s[half], travel[half], noise)
    if start is None or end.value == start.value:
        return None
    size = abs(end.value - start.value)
    along = np.sign(end.value - start.value) * (travel - start.value)
    if along[before][-1] <= max(2.0 * noise.band, _LEAST_PCT, _LEAST_SHARE * size):
        return None
    way = along[: int((along >= _UNDER_WAY * size).argmax())]
    if (np.maximum.accumulate(way) - way > 2.0 * noise.band).any():
        return None
    found = response_start(time_s, along, size, noise)
    return None if found is None else change.half_way_s - found.time_s
