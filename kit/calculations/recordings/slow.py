"""What a channel does slowly at rest: means over half a second, and the beat of mains hum in them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.calculations.recordings.noise import JUST_OVER, Noise

_BLOCK_S: Final = 0.5  # House definition: means over which a channel is looked at
_ROUNDING: Final = 1e-6  # House definition: intervals that are alike differ by rounding
_MOVED_PCT: Final = 0.08  # House definition: between two blocks; less is rest
_CREEPS_PCT: Final = 0.03  # House definition: between two blocks; less may be wander
_SIGMAS: Final = 6.0  # House definition: what blocks differ by without moving
_OFF: Final = (-1, 0, 1)  # House definition: samples from where a clear step is seen, between which it may lie
_STRETCH: Final = 4  # House definition: blocks in two seconds
_FEWEST_PAIRS: Final = 6  # House definition: stretches; of fewer none is told
_LOOKED_AT_S: Final = 1500.0  # House definition: of a recording, long enough for every beat
_MOST_BLOCKS: Final = 750  # House definition: in which beats are looked for
_SHORTEST: Final = 4.0  # House definition: of such blocks, the shortest beat
_LONGEST: Final = 1.0  # House definition: of what is looked at, the longest beat
_GRID: Final = 0.5  # House definition: of a cycle over what is looked at, how far apart frequencies are tried
_FINER: Final = 0.1  # House definition: of that, from which they are tried once more
_PARTS: Final = 4  # House definition: parts of a recording in each of which hum is there
_ALIKE: Final = (0.5, 1.7)  # House definition: of the amplitude, what each part shows of it
_ONE_PHASE: Final = 0.9  # House definition: of one, what the mean of the parts' phases is for one sine
_LEAST_PCT: Final = 0.002  # House definition: less shows in no figure
_MOSTLY: Final = 0.5  # House definition: of what a channel does at rest, what a sine takes that is most of it
_OTHER_LEVEL_PCT: Final = 1.0  # House definition: of range, from one level to another
_MOST_PCT: Final = 0.45  # House definition: more is no hum but what a command or a valve does
_OVERTONES: Final = (2, 3, 4, 5)  # of a triangle, a staircase or a limit cycle; a sine has none
_MOST_OF_OVERTONES: Final = 0.07  # House definition: of a sine; those of the mains are less, of a triangle 0.11
_SHORTEST_OVERTONE: Final = 3.0  # House definition: of half-second blocks, the shortest of them that shows
_SURE: Final = 3.0  # House definition: deviations by which overtones are clear of noise
_FEWEST: Final = 24  # House definition: blocks at rest that tell a beat
_CHANCE: Final = 60.0  # House definition: of the noise's power; noise that is a little coloured does not reach it


@dataclass(frozen=True, slots=True, eq=False)
class Blocks:
    """Means of a channel over half a second, and where it rests."""

    time_s: FloatArray  # (b,) middle of each block [s]
    mean: FloatArray  # (b,) in the unit of the channel
    variance: FloatArray  # (b,) of the samples of a block about its mean
    cut: BoolArray  # (b - 1,) whether the channel moves between a block and the next
    count: int  # samples in a block


@dataclass(frozen=True, slots=True)
class Beat:
    """A sine that is there all the time."""

    frequency_hz: float
    amplitude: float
    in_step: bool  # its phase is one in each quarter


def blocks_of(time_s: FloatArray, values: FloatArray, noise: Noise, interval_s: float) -> Blocks | None:
    """Half-second means of a channel; None where there are too few.

    Notes
    -----
    **House definition**: the channel moves where neighbouring means differ by more than 0.08 (% of range), just over a
    step by which it flickers and six standard deviations, or where samples are missing.
    """
    count = max(1, int(_BLOCK_S / interval_s + _ROUNDING)) if interval_s > 0.0 else 1
    kept = np.flatnonzero(np.isfinite(values))
    size = kept.size // count
    if size < _FEWEST:
        return None
    shape = (size, count)
    times = time_s[kept[: size * count]].reshape(shape)
    samples = values[kept[: size * count]].reshape(shape)
    mean = samples.mean(axis=1)
    variance = np.einsum("bn,bn->b", samples, samples) / count - mean**2 if count > 1 else np.zeros(size)
    least = max(_MOVED_PCT, JUST_OVER * noise.flicker, _SIGMAS * noise.deviation * sqrt(2.0 / count))
    longest = 2.0 * count * interval_s
    cut = (np.abs(np.diff(mean)) > least) | (times[1:, -1] - times[:-1, 0] > longest)
    return Blocks(times.mean(axis=1), mean, np.maximum(variance, 0.0), cut, count)


def with_cuts(blocks: Blocks, steps: BoolArray) -> Blocks:
    """Blocks cut also where the channel steps clearly.

    Parameters
    ----------
    blocks : Blocks
    steps : array of bool, shape (n - 1,)
        Of the finite samples of the channel: where it steps between one and the next; noise moves that by a sample.

    Notes
    -----
    **House definition**: a block that a step lies in, or at an end of which one lies, is told from both its neighbours.
    """
    cut = blocks.cut.copy()
    last = blocks.mean.size * blocks.count - 2
    found = np.flatnonzero(steps[: last + 1])
    place = np.unique(np.clip(np.concatenate([found + off for off in _OFF]), 0, last))
    before, after = place // blocks.count, (place + 1) // blocks.count
    cut[before[before < cut.size]] = True
    inside = before[(before == after) & (before > 0)]
    cut[inside - 1] = True
    return replace(blocks, cut=cut)


def creeps_of(blocks: Blocks, noise: Noise) -> BoolArray:
    """Where a channel may move between a block and the next, shape (b - 1,). House definition."""
    least = max(_CREEPS_PCT, _SIGMAS * noise.deviation * sqrt(2.0 / blocks.count), JUST_OVER * noise.flicker)
    creeps: BoolArray = blocks.cut | (np.abs(np.diff(blocks.mean)) > least)
    return creeps


def deviation_of(blocks: Blocks, noise: Noise) -> float:
    """Standard deviation of single samples over two seconds at rest; 0 where there are too few such stretches.

    Notes
    -----
    **House definition**: the median over stretches of four blocks, no two of which differ by more than 0.03 (% of
    range), one step of the recorder and six standard deviations. Noise that a filter has slowed is in it, which second
    differences see too little of.
    """
    size = blocks.mean.size // _STRETCH
    inner = creeps_of(blocks, noise)[: size * _STRETCH - 1]
    whole = ~np.append(inner, False).reshape(size, _STRETCH)[:, :-1].any(axis=1) if size else np.zeros(0, dtype=bool)
    if np.count_nonzero(whole) < _FEWEST_PAIRS:
        return 0.0
    means = blocks.mean[: size * _STRETCH].reshape(size, _STRETCH)[whole]
    within = blocks.variance[: size * _STRETCH].reshape(size, _STRETCH)[whole].mean(axis=1)
    samples = _STRETCH * blocks.count
    return sqrt(float(np.median(within + means.var(axis=1))) * samples / (samples - 1))


def beat_of(blocks: Blocks) -> Beat | None:
    """A slow sine that a channel at rest shows throughout a recording; None where it shows none.

    Notes
    -----
    **House definition**: the frequency, from one cycle in 1,500 s to one in four blocks of 2 s, at which a sine takes
    most of what the channel does at rest, its levels apart. It counts where it takes 60 times the power of the noise,
    is there, with 0.5 to 1.7 of its amplitude, in each quarter of the recording, and is a sine: its overtones up to the
    fifth are 0.07 of it at most. Triangles, ramps and staircases have more.
    """
    coarse = _coarse(blocks)
    if coarse is None:
        return None
    time, mean, segment = coarse
    length = float(time[-1] - time[0])
    if length <= 0.0:
        return None
    step = length / time.size
    frequencies = np.arange(1.0 / (_LONGEST * length), 1.0 / (_SHORTEST * step), _GRID / length)
    if frequencies.size == 0:
        return None
    power = _powers(time, mean, segment, frequencies)
    frequency = float(frequencies[int(power.argmax())])
    for width in (_GRID, _FINER * _GRID):
        near = frequency + np.linspace(-1.0, 1.0, 11) * width / length
        fine = near[near > 0.0]
        frequency = float(fine[int(_powers(time, mean, segment, fine).argmax())])
    amplitude, deviation = amplitude_at(blocks, frequency)
    if not _LEAST_PCT < amplitude <= _MOST_PCT or amplitude**2 < _CHANCE * deviation**2:
        return None
    phases = _phases(time, mean, segment, frequency, amplitude)
    if phases is None or _has_overtones(blocks, frequency, amplitude):
        return None
    return Beat(frequency, amplitude, len(phases) == _PARTS and _are_one(phases))


def has_levels(blocks: Blocks) -> bool:
    """Whether a channel rests at levels of its own often enough to tell what goes on through all of them.

    House definition.
    """
    coarse = _coarse(blocks)
    if coarse is None:
        return False
    _, mean, segment = coarse
    levels = np.bincount(segment, mean) / np.bincount(segment)
    return int(np.count_nonzero(np.abs(np.diff(levels)) > _OTHER_LEVEL_PCT)) >= _PARTS


def is_steady(blocks: Blocks, frequency_hz: float, amplitude: float) -> bool:
    """Whether a channel does little else at rest than a sine of that frequency, throughout and in one phase.

    House definition.
    """
    coarse = _coarse(blocks)
    if coarse is None:
        return False
    time, mean, segment = coarse
    rest = _without_levels(mean, segment)
    if float(_powers(time, mean, segment, np.array([frequency_hz]))[0]) < _MOSTLY * float(rest @ rest):
        return False
    phases = _phases(time, mean, segment, frequency_hz, amplitude)
    return phases is not None and _are_one(phases)


def amplitude_at(blocks: Blocks, frequency_hz: float) -> tuple[float, float]:
    """Amplitude of a sine of a known frequency in a channel at rest, and its standard deviation by noise.

    Least squares (JCGM 100:2008, 5.1.2).
    """
    coarse = _coarse(blocks)
    if coarse is None:
        return 0.0, float("inf")
    time, mean, segment = coarse
    wave = np.exp(2.0j * np.pi * frequency_hz * time)
    cosine, sine, rest = (_without_levels(each, segment) for each in (wave.real, wave.imag, mean))
    found, residual = np.linalg.lstsq(np.stack((cosine, sine), axis=1), rest, rcond=None)[:2]
    spread = float(residual[0]) / max(rest.size - 2, 1) if residual.size else 0.0
    own = float(cosine @ cosine + sine @ sine)
    deviation = sqrt(2.0 * spread / own) if own > 0.0 else float("inf")
    flattened = float(np.sinc(frequency_hz * float(np.median(np.diff(time)))))
    return float(np.hypot(*found)) / flattened, deviation


def _has_overtones(blocks: Blocks, frequency_hz: float, amplitude: float) -> bool:
    """Whether what goes to and fro at a frequency is no sine."""
    bare = without_beat(blocks, frequency_hz)
    fastest = 1.0 / (_SHORTEST_OVERTONE * float(np.median(np.diff(blocks.time_s))))
    found = [amplitude_at(bare, times * frequency_hz) for times in _OVERTONES if times * frequency_hz < fastest]
    over = sqrt(sum(one**2 for one, _ in found))
    noise = max((deviation for _, deviation in found), default=0.0)
    return over > max(_MOST_OF_OVERTONES * amplitude, _SURE * noise)


def without_beat(blocks: Blocks, frequency_hz: float) -> Blocks:
    """Blocks less the sine of a known frequency in them: least squares. House definition that it is hum."""
    coarse = _coarse(blocks)
    if coarse is None:
        return blocks
    time, mean, segment = coarse
    wave = np.exp(2.0j * np.pi * frequency_hz * time)
    cosine, sine, rest = (_without_levels(each, segment) for each in (wave.real, wave.imag, mean))
    found = np.linalg.lstsq(np.stack((cosine, sine), axis=1), rest, rcond=None)[0]
    angle = 2.0 * np.pi * frequency_hz * blocks.time_s
    return replace(blocks, mean=blocks.mean - found[0] * np.cos(angle) - found[1] * np.sin(angle))


def _coarse(blocks: Blocks) -> tuple[FloatArray, FloatArray, IntArray] | None:
    """Times, means and number of the level, of blocks of 2 s that lie wholly in one; None where there are few."""
    inside = blocks.time_s - blocks.time_s[0] <= _LOOKED_AT_S
    size = int(np.count_nonzero(inside))
    width = max(1, -(-size // _MOST_BLOCKS))
    number = np.concatenate(([0], np.cumsum(blocks.cut)))[:size]
    count = size // width
    number = number[: count * width].reshape(count, width)
    whole = number[:, 0] == number[:, -1]
    time = blocks.time_s[: count * width].reshape(count, width).mean(axis=1)[whole]
    mean = blocks.mean[: count * width].reshape(count, width).mean(axis=1)[whole]
    segment = number[whole, 0]
    held = np.bincount(segment)[segment] > 2 if segment.size else np.zeros(0, dtype=bool)
    if np.count_nonzero(held) < _FEWEST:
        return None
    return time[held], mean[held], np.unique(segment[held], return_inverse=True)[1].astype(np.intp)


def _without_levels(values: FloatArray, segment: IntArray) -> FloatArray:
    """Values, shape (..., n), less the mean of each level."""
    starts = np.flatnonzero(np.diff(np.concatenate(([-1], segment))))
    counts = np.diff(np.append(starts, segment.size))
    means = np.add.reduceat(values, starts, axis=-1) / counts
    less: FloatArray = values - np.repeat(means, counts, axis=-1)
    return less


def _powers(time: FloatArray, mean: FloatArray, segment: IntArray, frequencies: FloatArray) -> FloatArray:
    """What a sine of each frequency takes of the sum of squares about the levels."""
    angle = 2.0 * np.pi * np.outer(frequencies, time - time[0])
    cosine, sine = _without_levels(np.cos(angle), segment), _without_levels(np.sin(angle), segment)
    rest = _without_levels(mean, segment)
    cc, ss, cs = (np.einsum("fn,fn->f", one, other) for one, other in ((cosine, cosine), (sine, sine), (cosine, sine)))
    cy, sy = cosine @ rest, sine @ rest
    whole = cc * ss - cs**2
    with np.errstate(divide="ignore", invalid="ignore"):
        power: FloatArray = np.where(whole > 0.0, (ss * cy**2 - 2.0 * cs * cy * sy + cc * sy**2) / whole, 0.0)
    return power


def _phases(
    time: FloatArray, mean: FloatArray, segment: IntArray, frequency_hz: float, amplitude: float
) -> list[complex] | None:
    """Phases of a sine in the parts of a recording; None: not all parts show it."""
    cycles = frequency_hz * float(time[-1] - time[0])
    low, high = (share * amplitude for share in _ALIKE)
    phases = []
    for part in np.array_split(np.arange(time.size), _PARTS if cycles >= 1.5 * _PARTS else 2):
        wave = np.exp(2.0j * np.pi * frequency_hz * time[part])
        cosine, sine, rest = (_without_levels(each, segment[part]) for each in (wave.real, wave.imag, mean[part]))
        found = np.linalg.lstsq(np.stack((cosine, sine), axis=1), rest, rcond=None)[0]
        if not 0.0 < low <= float(np.hypot(*found)) <= high:
            return None
        phases.append(complex(*found) / abs(complex(*found)))
    return phases


def _are_one(phases: list[complex]) -> bool:
    return abs(sum(phases)) > _ONE_PHASE * len(phases)
