"""Supply voltage while the motor runs."""

from __future__ import annotations

from math import hypot, isnan, sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.noise import Noise, noise_of
from kit.calculations.recordings.outages import outages_of
from kit.calculations.recordings.terms import noise
from kit.calculations.recordings.two_levels import two_levels

_IN_PART: Final = "the supply falls in too small a part of the motion to tell by how much: record faster"
_FEWEST: Final = 5  # House definition: samples of rest, and of motion
_MARGIN_S: Final = 0.1  # House definition: what the travel shows of the motor is late, or early, by less
_COAST_S: Final = 0.3  # House definition: the valve moves on without the motor for no longer
_COAST_SHARE: Final = 0.25  # House definition: of a motion, what is left out at each end at most
_LONG_SHARE: Final = 0.5  # House definition: of the longest motion; shorter ones may be all start and coast
_IDLE_MARGIN_S: Final = 0.5  # House definition: the supply has come back by then
_TRIMMED: Final = 10  # House definition: the part of the samples left out at each end
_RETURNS_S: Final = 2.0  # House definition: after a loss of supply it is charged up again by then
_RUNS_SHARE: Final = 0.25  # House definition: of the time in motion, in which the motor of a pulsed valve runs at least
_APART: Final = 6.0  # House definition: standard deviations between idle and running that tell their samples apart
_STANDS_SHARE: Final = 0.25  # House definition: of their difference, within which of idle a motor stands
_FEWEST_STRETCHES: Final = 3  # House definition: fewer have no scatter
_WITHIN: Final = (0.1, 0.9)  # House definition: the quantiles between which idle lies
_OF_TRIMMED: Final = 1.25  # House definition: what trimming costs at most, that of a median, root of pi / 2


def running_supply(recording: Recording, motion: Motion) -> tuple[Quantity, Quantity]:
    """Supply voltage with the motor running, and its fall from idle.

    Parameters
    ----------
    recording : Recording
    motion : Motion
        Of the recording.

    Returns
    -------
    tuple of Quantity
        Running voltage [V], and dip [% of idle], positive where the voltage falls. None without the column, or
        without five samples each of rest and motion. Seconds without supply, or without signal, are neither.

    Notes
    -----
    **House definition**: means of the middle four fifths of the samples in motion and at rest, 0.1 s and a sample
    away from each start
    and end, and 0.5 s more at rest, since the motor runs before and after the travel shows it. Of the motions only
    those half as long as the longest count, without their first and last 0.3 s, in which the valve may coast. Where
    idle and running lie six standard deviations apart, samples in motion within a quarter of that of idle (a motor in
    pulses), and samples at rest nearer to running (a motor within its play), are left out. Where samples in motion, or
    at rest, vary by more than noise still, the motor runs in part of them, and :func:`two_levels` tells idle and
    running from that. From three runs on their
    scatter is in the uncertainty where it is more than noise gives; and so is half of what lies between a tenth and
    nine tenths of the samples at rest, where that is more than six standard deviations.
    """
    supply = recording.supply_v
    if supply is None or not np.isfinite(supply).any():
        return Quantity(None, "the supply was not recorded"), Quantity(None, "the supply was not recorded")
    channel = noise_of(supply, recording.interval_s)
    running, idle = _told_apart(supply, *_running_and_idle(recording, supply, motion), channel)
    if np.count_nonzero(running) < _FEWEST or np.count_nonzero(idle) < _FEWEST:
        why_not = "the supply was not recorded both at rest and in motion"
        return Quantity(None, why_not), Quantity(None, why_not)
    (on, of_on), (off, of_off) = _levels(supply, running, idle, channel)
    if isnan(on):
        return Quantity(None, _IN_PART), Quantity(None, _IN_PART)
    if off <= 0.0:
        return Quantity(None, "the idle supply is not above 0 V"), Quantity(None, "the idle supply is not above 0 V")
    slope_on, slope_off = -100.0 / off, 100.0 * on / off**2
    total = ((slope_on * of_on) ** 2 + (slope_off * of_off) ** 2) ** 0.5
    dip = Quantity(
        100.0 * (off - on) / off,
        components=(noise(total, "% of idle", "running and idle supply"),),
        relies_on=(Reliance("supply", off, slope_off, 0), Reliance("supply", on, slope_on, 1)),
        beside={"idle_v": off, "running_v": on},
    )
    by_noise = (noise(of_on, "V", "running supply"),)
    return Quantity(on, components=by_noise, relies_on=(Reliance("supply", on, 1.0),)), dip


def _levels(
    supply: FloatArray, running: BoolArray, idle: BoolArray, channel: Noise
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Running and idle supply, each with its standard deviation [V]; nan: it cannot be told."""
    of_on, of_off = (_deviation(supply, each, channel) for each in (running, idle))
    of_off = hypot(of_off, _unsteady(supply[idle], channel))
    levels = two_levels(supply[idle], supply[running])
    if levels is None:
        return (_middle(supply[running]), of_on), (_middle(supply[idle]), of_off)
    return (levels.upper - levels.fall, hypot(of_on, levels.deviation)), (levels.upper, of_off)


def _running_and_idle(recording: Recording, supply: FloatArray, motion: Motion) -> tuple[BoolArray, BoolArray]:
    """Which samples are in motion, and which at rest."""
    known = np.isfinite(supply)
    for each in outages_of(recording):
        after = float(recording.time_s[each.to_place]) + _RETURNS_S
        known[max(each.from_place - 1, 0) : int(np.searchsorted(recording.time_s, after, side="right"))] = False
    margin = _MARGIN_S + recording.interval_s
    length = motion.to_s - motion.from_s
    long_enough = length >= _LONG_SHARE * float(length.max(initial=0.0))
    inset = np.maximum(margin, np.minimum(_COAST_S, _COAST_SHARE * length))[long_enough]
    running = known & _between(recording, motion.from_s[long_enough] + inset, motion.to_s[long_enough] - inset)
    margin += _IDLE_MARGIN_S
    idle = known & ~_between(recording, motion.from_s - margin, motion.to_s + margin)
    return running, idle


def _told_apart(supply: FloatArray, running: BoolArray, idle: BoolArray, channel: Noise) -> tuple[BoolArray, BoolArray]:
    """The samples in motion and at rest, without those that are nearer to the other where the two lie apart."""
    if not running.any() or not idle.any():
        return running, idle
    on, off = float(np.quantile(supply[running], _RUNS_SHARE)), float(np.median(supply[idle]))
    if off - on <= max(_APART * channel.deviation, channel.quantum):
        return running, idle
    with np.errstate(invalid="ignore"):
        stands, runs = supply > off - _STANDS_SHARE * (off - on), supply < 0.5 * (on + off)
    return running & ~stands, idle & ~runs


def _unsteady(idle: FloatArray, channel: Noise) -> float:
    """Standard deviation of what idle is, where it is not one: mains that drift, or a motor that nothing shows [V]."""
    low, high = np.quantile(idle, _WITHIN)
    return float(high - low) / 2.0 / sqrt(3.0) if high - low > _APART * channel.deviation else 0.0


def _deviation(supply: FloatArray, chosen: BoolArray, channel: Noise) -> float:
    """Standard deviation of the middle of the chosen samples [V]."""
    by_noise = _OF_TRIMMED * channel.of_mean(int(np.count_nonzero(chosen)))
    parts = [(first, last + 1) for first, last in extents(chosen) if last - first + 1 >= _FEWEST]
    if len(parts) < _FEWEST_STRETCHES:
        return by_noise
    means = np.array([supply[first:end].mean() for first, end in parts])
    return max(by_noise, float(means.std(ddof=1)) / sqrt(len(parts)))


def _middle(volts: FloatArray) -> float:
    cut = volts.size // _TRIMMED
    return float(np.sort(volts)[cut : volts.size - cut].mean())


def _between(recording: Recording, from_s: FloatArray, to_s: FloatArray) -> BoolArray:
    """The samples in any of several stretches of time."""
    starts = np.searchsorted(recording.time_s, from_s, side="left")
    ends = np.searchsorted(recording.time_s, to_s, side="right")
    long_enough = ends > starts
    change = np.zeros(len(recording) + 1, dtype=int)
    np.add.at(change, starts[long_enough], 1)
    np.add.at(change, ends[long_enough], -1)
    inside: BoolArray = np.cumsum(change[:-1]) > 0
    return inside
