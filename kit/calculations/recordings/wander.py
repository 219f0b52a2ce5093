"""What a channel at rest does so slowly that a mean over seconds does not lose it."""

from __future__ import annotations

from dataclasses import dataclass
from math import log2, sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.slow import Blocks, creeps_of

_LENGTHS: Final = (2, 4, 8, 11, 16, 22, 32, 44, 60)  # House definition: blocks in a mean, 1 to 30 s
_FEWEST_PAIRS: Final = 6.0  # House definition: independent pairs of means; of fewer no wander is told
_CLEAR: Final = 1.15  # House definition: times what noise leaves, and more of fewer pairs, what wander is
_OF_FEW: Final = 1.3  # House definition: of one over the root of the number of pairs, likewise
_LEAST_QUICK: Final = 0.8  # House definition: of the noise, what blocks show of it at least
_PAIRS_GROWING: Final = 12.0  # House definition: fewer do not show how it grows
_OCTAVE: Final = 2  # House definition: times the length, over which growth is taken
_MARGIN: Final = 0.15  # House definition: added to the exponent of growth, which few pairs show roughly
_LIKE_A_WALK: Final = 0.5  # exponent by which a random walk grows; what does not fall grows so at least
_LIKE_A_LINE: Final = 1.0  # exponent by which a straight line grows; taken where half the length shows no wander yet
_MINUTE_S: Final = 60.0  # House definition: up to which wander that grows goes on growing
_ROUGH: Final = 1.0  # House definition: of one over the root of the number of pairs, by which it is taken larger
_MOST_MEDIANS: Final = 3.0  # House definition: of the median, what a greater difference counts as
_CLIPPED_MEAN: Final = 0.7819417353405307  # mean magnitude of standard normal values, none above 3 times its median
_LEAST_PCT: Final = 0.002  # House definition: less shows in no figure


@dataclass(frozen=True, slots=True)
class _Apart:
    """What neighbouring means over so many blocks differ by."""

    length: int
    deviation: float  # of one mean, two-sample deviation [unit of the channel]
    pairs: float  # independent pairs that tell it


def wander_of(blocks: Blocks, noise: Noise, also_cut: BoolArray | None = None) -> float:
    """Standard deviation of what moves a mean over seconds at rest beyond noise and step; 0: not told from those.

    Parameters
    ----------
    blocks : Blocks
    noise : Noise
        Of single samples of the channel.
    also_cut : array of bool or None, shape (b - 1,)
        Where another channel moves, which this one follows.

    Notes
    -----
    **House definition**: from the mean difference (none counted above three times the median) of neighbouring means
    over 1 to 30 s at rest, in which no two blocks differ by more than 0.03 (% of range), one step of the recorder and
    six standard deviations, what is above the noise over the root of their number and what the recorder's step leaves;
    the greatest, or that of a minute, to which it goes on growing by the exponent that the longest means and those of
    half their length show, and 0.15, between that of a random walk and that of a line unless they fall. Since it is of
    few pairs it is taken larger by one over the root of their number.
    Wander slower than a minute shows in part only, and next to noise that is as great not at all.
    """
    cut = creeps_of(blocks, noise) if also_cut is None else creeps_of(blocks, noise) | also_cut
    cuts = np.concatenate(([0], np.cumsum(cut)))
    total = np.concatenate(([0.0], np.cumsum(blocks.mean - blocks.mean[0])))
    quick = noise.deviation / sqrt(blocks.count)
    quick = min(quick, max(_apart(total, cuts, 1).deviation, _LEAST_QUICK * quick))
    clear = list[_Apart]()
    for length in _LENGTHS:
        seen = _apart(total, cuts, length)
        if seen.pairs < _FEWEST_PAIRS:
            break
        left = sqrt(quick**2 / length + noise.of_step**2)
        if seen.deviation > (_CLEAR + _OF_FEW / sqrt(seen.pairs)) * left:
            clear.append(_Apart(length, sqrt(seen.deviation**2 - left**2), seen.pairs))
    if not clear:
        return 0.0
    of_a_minute = _grown(clear, float(np.median(np.diff(blocks.time_s))))
    wander = max(of_a_minute, *(each.deviation for each in clear)) * (1.0 + _ROUGH / sqrt(clear[-1].pairs))
    return wander if wander > _LEAST_PCT else 0.0


def _grown(clear: list[_Apart], block_s: float) -> float:
    """What the wander of the longest means is that of in a minute; 0 where too few show how it grows."""
    sure = [each for each in clear if each.pairs >= _PAIRS_GROWING]
    if not sure:
        return 0.0
    last = sure[-1]
    first = next((each for each in reversed(sure) if each.length * _OCTAVE <= last.length), None)
    exponent = _LIKE_A_LINE
    if first is not None:
        exponent = _MARGIN + log2(last.deviation / first.deviation) / log2(last.length / first.length)
    exponent = min(max(exponent, _LIKE_A_WALK), _LIKE_A_LINE) if exponent > 0.0 else 0.0
    return float(last.deviation * max(_MINUTE_S / (last.length * block_s), 1.0) ** exponent)


def _apart(total: FloatArray, cuts: IntArray, length: int) -> _Apart:
    """Of neighbouring means over ``length`` blocks in one rest, from the running sums of means and of cuts."""
    start = np.arange(max(total.size - 2 * length, 0))
    start = start[cuts[start + 2 * length - 1] == cuts[start]]
    if start.size == 0:
        return _Apart(length, 0.0, 0.0)
    rests = 1 + int(np.count_nonzero(np.diff(cuts[start])))
    pairs = start.size / (2.0 * length) + rests * (1.0 - 0.5 / length)
    apart = np.abs(total[start + 2 * length] - 2.0 * total[start + length] + total[start]) / length
    mean = float(np.minimum(apart, _MOST_MEDIANS * float(np.median(apart))).mean())
    return _Apart(length, mean / _CLIPPED_MEAN / sqrt(2.0), pairs)
