"""Spells in which a travel at rest swings regularly, in means as short as noise lets them be."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.turns import Turns, least_seen_pct, turns_of

FEWEST_REVERSALS: Final = 3  # House definition: fewer may be a valve that settles
REGULAR: Final = 0.30  # House definition: coefficient of variation of the times one way
_OF_PERIOD: Final = 0.1  # House definition: of the whole period, what the shorter way may vary by
_SAMPLES_OFF: Final = 1.5  # House definition: samples by which a turn that is hardly sampled may be off
_BLOCKS_S: Final = (0.05, 0.1, 0.25, 1.0, 4.0)  # House definition: means that show ever slower swings under noise
QUICKEST_S: Final = 0.2  # House definition: no motor reverses as quickly; a swing of a shorter period is hum or noise
_OF_A_SWING: Final = 0.5  # House definition: of a swing, what means over a quarter of its period leave at least
_QUICK_S: Final = 0.25  # House definition: longer means would hide a quick swing
FEWEST_BLOCKS: Final = 8  # House definition: of samples, or of means over them
_APART: Final = 4.0  # House definition: of the usual time between turns; a longer one parts two spells of swinging
_DECAYS: Final = 1.2  # House definition: of the swings after it, what a swing is that the valve settles from
_AS_MANY: Final = 0.8  # House definition: of the turns in shorter means, what longer ones show that lose none
_MANY_SAMPLES: Final = 10.0  # House definition: a swing of fewer may be hum upon a slower one
_GREATER: Final = 1.5  # House definition: times a quick swing, what a slower one is that it lies upon
_STANDS_OUT: Final = 2.0  # House definition: of the least swing that shows in means, what all swings show in
SAME_PERIOD: Final = 0.1  # House definition: periods that differ by less are one


def _widths(interval_s: float, size: int) -> list[int]:
    """Samples in the means that swings are looked for in, shortest first."""
    if interval_s <= 0:
        return [1]
    widths = {max(1, round(each / interval_s)) for each in _BLOCKS_S} | {1}
    return sorted(each for each in widths if each == 1 or size >= FEWEST_BLOCKS * each)


def spells_of(
    times: FloatArray, travel: FloatArray, channel: Noise, interval_s: float
) -> tuple[Turns, list[Turns], int, float]:
    """Turns, the spells of swinging, the samples in the means that show them, and the least swing that those show [%].

    ``times`` and ``travel``, shape (n,): [s] and [% of travel], finite, after the travel has answered its command.

    Notes
    -----
    **House definition**: a spell is three turns or more whose times, each way for itself, agree to 30 %, and whose
    period is 0.2 s and more.
    The shortest means that show regular swings well clear of their noise; else those that show the most. Where a swing
    falls to less than half in means over a quarter of its period, it is the alias of hum, and what is left is looked
    for in means over 0.4 s, weighted by a raised cosine.
    """
    found = _spells_in(times, travel, channel, interval_s)
    if found[1] and _is_alias(travel, found[1], interval_s):
        found = _spells_in(times, _smooth(travel, interval_s), channel, interval_s)
    return found


def _is_alias(travel: FloatArray, spells: Sequence[Turns], interval_s: float) -> bool:
    """Whether what stands out at the turns is gone a little around them, as hum is that means take for a slow swing."""
    width = round(samples_a_period(spells, interval_s) / 4.0)
    if width < 2:
        return False
    smooth = np.convolve(travel - travel.mean(), np.full(width, 1.0 / width), mode="same")
    left = np.concatenate([np.abs(np.diff(smooth[each.at])) for each in spells])
    return float(left.mean()) < _OF_A_SWING * mean_swing_pct(spells)


def _smooth(travel: FloatArray, interval_s: float) -> FloatArray:
    """Without what is quicker than any motor reverses."""
    window = np.hanning(2 * max(1, round(QUICKEST_S / interval_s)) + 1)
    total = np.convolve(np.ones(travel.size), window, mode="same")
    smooth: FloatArray = travel.mean() + np.convolve(travel - travel.mean(), window, mode="same") / total
    return smooth


def _spells_in(
    times: FloatArray, travel: FloatArray, channel: Noise, interval_s: float
) -> tuple[Turns, list[Turns], int, float]:
    best: tuple[Turns, list[Turns], int] | None = None
    for width in _widths(interval_s, travel.size):
        turns, spells = _regular(times, travel, channel, width, interval_s)
        if not spells:
            continue
        is_clear = mean_swing_pct(spells) >= _STANDS_OUT * least_seen_pct(channel, width)
        if best is None or _shows_more(spells, best[1], is_clear=is_clear):
            best = turns, spells, width
        if is_clear and samples_a_period(spells, width * interval_s) >= _MANY_SAMPLES:
            break
    if best is None:
        width = quick_width(interval_s)
        turns = turns_of(times, travel, channel, width)
        return turns, _swinging(turns), width, least_seen_pct(channel, width)
    return _singly(times, travel, channel, interval_s, best)


def _shows_more(spells: Sequence[Turns], before: Sequence[Turns], *, is_clear: bool) -> bool:
    """Whether longer means show more turns, as many clear of noise, or a swing that a quicker one lay upon."""
    count, most = sum(map(len, spells)), sum(map(len, before))
    greater = mean_swing_pct(spells) > _GREATER * mean_swing_pct(before)
    return count > most or greater or (is_clear and count >= _AS_MANY * most)


def _singly(
    times: FloatArray, travel: FloatArray, channel: Noise, interval_s: float, best: tuple[Turns, list[Turns], int]
) -> tuple[Turns, list[Turns], int, float]:
    """The same in single samples, where a turn of half the swing finds as many: a quick swing looks like noise."""
    turns, spells, width = best
    if width > 1 and samples_a_period(spells, width * interval_s) < _MANY_SAMPLES:
        half_pct = 0.5 * mean_swing_pct(spells)
        again, own = _regular(times, travel, channel, 1, interval_s, least_pct=half_pct)
        count = sum(map(len, spells))
        if own and abs(sum(map(len, own)) - count) <= SAME_PERIOD * count:
            return again, own, 1, half_pct
    return turns, spells, width, least_seen_pct(channel, width)


def mean_swing_pct(spells: Sequence[Turns]) -> float:
    """Mean swing of all spells, peak to peak [% of travel]. House definition."""
    return float(np.concatenate([each.swings_pct for each in spells]).mean())


def quick_width(interval_s: float) -> int:
    """Samples in the means that show a quick swing. House definition."""
    return max(1, round(_QUICK_S / interval_s)) if interval_s > 0 else 1


def _regular(
    times: FloatArray,
    travel: FloatArray,
    channel: Noise,
    width: int,
    interval_s: float,
    *,
    least_pct: float | None = None,
) -> tuple[Turns, list[Turns]]:
    turns = turns_of(times, travel, channel, width, least_pct=least_pct)
    swinging = [each for each in _swinging(turns) if is_regular(each, interval_s)]
    return turns, [each for each in swinging if samples_a_period([each], interval_s) * interval_s >= QUICKEST_S]


def _swinging(turns: Turns) -> list[Turns]:
    """Spells of three turns or more, without the swings that a valve settles with."""
    if len(turns) < FEWEST_REVERSALS:
        return []
    apart = np.diff(turns.at_s)
    ends = np.flatnonzero(apart > _APART * float(np.median(apart)))
    edges = [0, *(ends + 1).tolist(), len(turns)]
    spells = [_unsettled(turns.kept(first, after - 1)) for first, after in pairwise(edges)]
    return [each for each in spells if len(each) >= FEWEST_REVERSALS]


def _unsettled(turns: Turns) -> Turns:
    swings, first = turns.swings_pct, 0
    while swings.size - first > 1 and swings[first] > _DECAYS * float(np.median(swings[first + 1 :])):
        first += 1
    fades = swings.size - first == 1 and first > 0
    return turns.kept(first + 1 if fades else first, len(turns) - 1)


def is_regular(turns: Turns, interval_s: float) -> bool:
    """Whether the times from crest to trough agree, and those back, as well as their sampling lets them.

    House definition.
    """
    inner = np.diff(turns.middle_s if len(turns) > FEWEST_REVERSALS + 1 else turns.at_s)
    allowed = max(_SAMPLES_OFF * interval_s, _OF_PERIOD * 2.0 * float(inner.mean()))
    ways = (inner[::2], inner[1::2])
    return all(own.size < 2 or float(own.std()) < max(REGULAR * float(own.mean()), allowed) for own in ways)


def samples_a_period(spells: Sequence[Turns], interval_s: float) -> float:
    """Samples, or means that lie ``interval_s`` apart [s], that a whole swing goes through. House definition."""
    halves = np.concatenate([np.diff(each.at_s) for each in spells])
    return 2.0 * float(halves.mean()) / interval_s if interval_s > 0 else float("inf")
