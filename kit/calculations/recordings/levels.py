"""Where the command stands still, and how it gets from one level to the next."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.recording import extents
from kit.calculations.recordings.noise import JUST_OVER, Noise
from kit.calculations.recordings.slides import without_slides
from kit.calculations.recordings.stairs import near_steps, steps_beyond_slow
from kit.calculations.recordings.windows import mean_change
from kit.calculations.recordings.zigzag import zigzag

ChangeKind = Literal["step", "ramp_up", "ramp_down", "jogs", "excursion", "unclear"]

LEAST_HOLD_S: Final = 2.0  # House definition: a shorter stand is a piece of a ramp
LONGEST_STEP_S: Final = 3.0  # House definition: a hand on a source turns no step more slowly
LEAST_CHANGE_PCT: Final = 0.05  # House definition: less than any source is set by
SAME_COMMAND_PCT: Final = 0.2  # House definition: a source creeps by less
LEAST_RAMP_PCT: Final = 1.0  # House definition: a shorter ramp tells nothing
_SIGMAS: Final = 6.0  # House definition: a difference beyond it is no noise, once in 500 million samples
_SCALES_S: Final = (0.5, 2.0, 8.0)  # House definition: windows, after that of one sample, that show ever slower ramps
BLINK_S: Final = 0.2  # House definition: a command that is elsewhere for less, or for one sample, moves no valve
_FEWEST: Final = 3  # House definition: samples in a level
_WANDERS: Final = 3.0  # House definition: standard deviations of a wander, beyond which a slow change is none of it
_WANDER_PCT: Final = 0.1  # House definition: what a wander may move a command by; more is the source's own
_KNOWN_PCT: Final = 0.5  # House definition: a level is known to within this, and wanders by less, or nothing rests
_PART_S: Final = 2.0  # House definition: means over so long, and so many samples, show a level that wanders
_FEWEST_OF_PART: Final = 5
_OFF: Final = 2  # House definition: samples by which noise moves where a clear step is seen
_CLEAR: Final = 50.0  # House definition: standard deviations that a ramp rises by; a lesser one is a wandering
_JOGS_SHARE: Final = 0.8  # House definition: of a slow change, what happens in jumps if it was jogged
_STILL_SHARE: Final = 0.5  # House definition: of its time, in which a jogged command stands still
_BEYOND_SHARE: Final = 0.2  # House definition: of a step, how far it may leave the range between its levels
_QUICK_S: Final = 1.0  # House definition: a change that is made in it, but for creeps beside either level, is a step
_BESIDE_SHARE: Final = 0.05  # House definition: of a change, within which of its ends it has not left or has arrived
_FLANK_DEVIATIONS: Final = 4.0  # House definition: a difference that stands out by less lies on the flank of another
_NEIGHBOURS: Final = 3  # House definition: runs on either side that may be the flank's peak
_JUMP_WIDTHS: Final = 1.3  # House definition: of the window; a jump's triangle is 1 wide at half height, a ramp's more
_SAME_LENGTH: Final = 1e-9  # House definition: times that are alike differ by rounding
_CREEP_PARTS: Final = 10  # House definition: parts of a slow change that show whether it went anywhere
TWO_INTERVALS: Final = 2.01  # House definition: two sampling intervals, with what their clock is off by
_SHORT_STEP: Final = 3  # samples of a step that has none between its levels, or one
_TURN_BLOCKS: Final = 400  # House definition: means that a command on its way is looked at in
_LEAST_TURN_PCT: Final = 0.5  # House definition: a lesser turn of a ramp is none
_TURN_SHARE: Final = 0.05  # House definition: of the whole way, likewise


@dataclass(frozen=True, slots=True)
class Level:
    """The command at rest: samples ``first`` to ``last``, both included."""

    first: int
    last: int
    from_s: float
    to_s: float
    command_pct: float

    @property
    def duration_s(self) -> float:
        return self.to_s - self.from_s


@dataclass(frozen=True, slots=True)
class Change:
    """The command on its way between two levels, or between a turning point and the next."""

    kind: ChangeKind
    from_s: float  # last sample before it left
    to_s: float  # first sample after it arrived
    from_pct: float
    to_pct: float
    half_way_s: float
    half_width_s: float  # the half-way time lies within this

    @property
    def change_pct(self) -> float:
        return self.to_pct - self.from_pct


Part = Level | Change


def command_parts(time_s: FloatArray, command_pct: FloatArray, noise: Noise) -> list[Part]:
    """Levels and changes of a command, in order.

    Parameters
    ----------
    time_s, command_pct : array, shape (n,)
        One unbroken stretch: time [s], strictly rising, and command [% of command range], finite.
    noise : Noise
        Of the command.

    Returns
    -------
    list of Level and Change

    Notes
    -----
    **House definition**: the command changes where the mean after a sample differs from the mean before it by
    more than six standard deviations of that difference, just over one step of the recorder, and 0.05 % of
    range; over one sample first, then, in what is quiet, over 0.5 s, 2 s and 8 s; what hum and wander
    bring within that comes on top, but not about a clear step
    (:func:`~kit.calculations.recordings.stairs.clear_steps`) where no hum beats within 30 s. What is quiet for 2 s
    and three samples is a level, if that many samples tell it to within 0.5 % and it wanders by no more; else nothing
    rests. A change that takes at most 3 s, or two sampling intervals, is a step, and an excursion if it leaves
    the range between its levels by more than a fifth of it. A longer one was jogged where four fifths of
    it happen in jumps between which the command stands still for half of the time; else it is cut at its turning
    points, and a piece of more than 1 % of range, and of 50 standard deviations of the noise, is a ramp. A creep
    of less than 0.2 % is no change, and neither is an excursion of one sample, or of less than 0.2 s, that comes back.

    Examples
    --------
    >>> time = np.arange(0.0, 20.0)
    >>> parts = command_parts(time, np.where(time < 10.0, 25.0, 50.0), Noise(0.0, 0.0))
    >>> [type(part).__name__ for part in parts], parts[1].kind, parts[1].half_way_s
    (['Level', 'Change', 'Level'], 'step', 9.5)
    """
    if time_s.size < _FEWEST:
        return []
    steps = steps_beyond_slow(time_s, command_pct, noise)
    quiet = quiet_stretches(time_s, command_pct, noise, steps)
    kept = [(first, last) for first, last in quiet if _is_level(time_s, command_pct, noise, first, last)]
    kept = without_slides(time_s, command_pct, noise, _joined(time_s, command_pct, noise, kept, steps))
    return _in_order(time_s, command_pct, noise, kept)


def quiet_stretches(
    time_s: FloatArray,
    command: FloatArray,
    noise: Noise,
    steps: BoolArray,
    scales_s: tuple[float, ...] = _SCALES_S,
) -> list[tuple[int, int]]:
    """Places (first, last) of the stretches of a command in which no scale sees a change.

    Notes
    -----
    **House definition**: as :func:`command_parts` tells them.
    """
    interval = float(np.median(np.diff(time_s)))
    widths = [1] + [round(scale / interval) for scale in scales_s if scale / interval >= 2.0]
    stretches = [(0, time_s.size - 1)]
    for width in widths:
        far = np.where(near_steps(steps, width), 0.0, 1.0)
        wander = far * (_wander(noise) if width > 1 else 0.0)
        swing = far * noise.swing_in(width * interval)
        pieces = []
        for first, last in stretches:
            inside = slice(first, last)
            pieces += (
                _cut(command[first : last + 1], width, noise, first, wander[inside], swing[inside])
                if last - first >= 2 * width
                else [(first, last)]
            )
        stretches = pieces
    return stretches


def _cut(
    values: FloatArray, width: int, noise: Noise, offset: int, wander: FloatArray, swing: FloatArray
) -> list[tuple[int, int]]:
    """The stretches between the changes that a window of ``width`` samples sees, beyond what hum and wander bring."""
    size = values.size
    difference, before, after = mean_change(values, width)
    least = np.maximum(
        _SIGMAS * noise.deviation * np.sqrt(1.0 / before + 1.0 / after),
        max(LEAST_CHANGE_PCT, JUST_OVER * noise.flicker),
    )
    least = np.hypot(least, wander) + swing
    active = np.abs(difference) > least
    if not active.any():
        return [(offset, offset + size - 1)]
    pieces, start = [], 0
    for first, last in _own_runs(active, np.abs(difference), width, noise):
        # samples first .. last + 1 lie on both sides of a seen difference
        left, right = _narrowed(np.abs(difference[first : last + 1]), width)
        pieces.append((offset + start, offset + first + left))
        start = first + right + 1
    pieces.append((offset + start, offset + size - 1))
    return [(first, last) for first, last in pieces if last >= first]


def _own_runs(active: BoolArray, seen: FloatArray, width: int, noise: Noise) -> list[tuple[int, int]]:
    """Runs of seen differences, without those on the flank of a greater one: noise parts a triangle into several."""
    runs = extents(active)
    if width == 1 or len(runs) < 2:
        return runs
    peaks = [first + int(seen[first : last + 1].argmax()) for first, last in runs]
    slack = _FLANK_DEVIATIONS * noise.deviation * (2.0 / width) ** 0.5
    kept = []
    for number, run in enumerate(runs):
        near = [
            each
            for each in (*peaks[max(number - _NEIGHBOURS, 0) : number], *peaks[number + 1 : number + 1 + _NEIGHBOURS])
            if abs(each - peaks[number]) < width and seen[each] > seen[peaks[number]]
        ]
        flank = max((seen[each] * (1.0 - abs(each - peaks[number]) / width) for each in near), default=-np.inf)
        if seen[peaks[number]] > flank + slack:
            kept.append(run)
    return kept


def _narrowed(seen: FloatArray, width: int) -> tuple[int, int]:
    """Where, within a run of seen differences, the change itself begins and ends."""
    if width == 1:
        return 0, int(seen.size - 1)
    peak = int(seen.argmax())
    wide = np.flatnonzero(seen > 0.5 * seen[peak])
    # a jump shows as a triangle as wide as the window at half height
    if wide[-1] - wide[0] <= _JUMP_WIDTHS * width + 2:
        return peak, peak
    shrink = min(width // 2, (seen.size - 1) // 2)
    return shrink, int(seen.size - 1 - shrink)


def _wander(noise: Noise) -> float:
    return min(_WANDERS * noise.wander, _WANDER_PCT)


def _is_level(time_s: FloatArray, command: FloatArray, noise: Noise, first: int, last: int) -> bool:
    """Whether a quiet stretch lasts, and has samples enough to show that it stands still."""
    size, lasts_s = last - first + 1, float(time_s[last] - time_s[first])
    if size < _FEWEST or lasts_s < LEAST_HOLD_S * (1 - _SAME_LENGTH):
        return False
    if _SIGMAS * noise.deviation > _KNOWN_PCT * size**0.5:
        return False
    parts = min(size // _FEWEST_OF_PART, int(lasts_s / _PART_S))
    if parts < 2:
        return True
    width = size // parts
    means = command[first : first + parts * width].reshape(parts, width).mean(axis=1)
    return float(np.ptp(means)) <= _KNOWN_PCT + 2.0 * noise.hum + _wander(noise)


def _joined(
    time_s: FloatArray, command: FloatArray, noise: Noise, levels: list[tuple[int, int]], steps: BoolArray
) -> list[tuple[int, int]]:
    """Levels without the changes between them that are none."""
    joined: list[tuple[int, int]] = []
    for first, last in levels:
        if joined:
            left, right = joined[-1]
            apart = abs(_mean(command, first, last, noise) - _mean(command, left, right, noise))
            took = float(time_s[first] - time_s[right])
            inside = first - right - 1
            blink = inside <= 1 or took * inside <= BLINK_S * (inside + 1) * (1.0 + _SAME_LENGTH)
            fuzz = _SIGMAS * noise.deviation * (1.0 / (last - first + 1) + 1.0 / (right - left + 1)) ** 0.5
            fuzz += noise.hum + _wander(noise)
            clear = steps[max(right - _OFF, 0) : first + _OFF].any()
            same = not clear and apart <= max(LEAST_CHANGE_PCT, JUST_OVER * noise.flicker, fuzz)
            creeps = took > LONGEST_STEP_S and apart < SAME_COMMAND_PCT
            if (blink and same) or (creeps and _is_creep(command, joined[-1], (first, last), noise)):
                joined[-1] = (left, last)
                continue
        joined.append((first, last))
    return joined


def _is_creep(command: FloatArray, before: tuple[int, int], after: tuple[int, int], noise: Noise) -> bool:
    between = command[before[1] : after[0] + 1]
    ends = (_mean(command, *before, noise), _mean(command, *after, noise))
    middle = np.array([part.mean() for part in np.array_split(between, min(_CREEP_PARTS, between.size))])
    return bool(middle.max() < max(ends) + SAME_COMMAND_PCT and middle.min() > min(ends) - SAME_COMMAND_PCT)


def _in_order(time_s: FloatArray, command: FloatArray, noise: Noise, levels: list[tuple[int, int]]) -> list[Part]:
    parts: list[Part] = []
    end, interval = 0, float(np.median(np.diff(time_s)))
    for number, (first, last) in enumerate(levels):
        if first > end:
            before = _mean(command, *levels[number - 1], noise) if number else None
            parts += _changes(
                time_s, command, noise, (end, first), interval, before, _mean(command, first, last, noise)
            )
        parts.append(Level(first, last, float(time_s[first]), float(time_s[last]), _mean(command, first, last, noise)))
        end = last
    if end < time_s.size - 1:
        before = _mean(command, *levels[-1], noise) if levels else None
        parts += _changes(time_s, command, noise, (end, time_s.size - 1), interval, before, None)
    return parts


def _changes(
    time_s: FloatArray,
    command: FloatArray,
    noise: Noise,
    place: tuple[int, int],
    interval: float,
    before: float | None,
    after: float | None,
) -> list[Part]:
    """What lies between two levels: a step, or the ramps between its turning points."""
    first, last = place
    start, stop = (
        float(command[first]) if before is None else before,
        float(command[last]) if after is None else after,
    )
    if before is not None and after is not None:
        quick = _quick_part(command, noise, place, (start, stop))
        for (left, right), longest_s in ((place, LONGEST_STEP_S), (quick, _QUICK_S)):
            if float(time_s[right] - time_s[left]) <= max(longest_s, TWO_INTERVALS * interval):
                return [_step(time_s[left : right + 1], command[left : right + 1], start, stop, noise)]
    if _is_jogged(time_s[first : last + 1], command[first : last + 1], noise):
        return [Change("jogs", *_times(time_s, place), start, stop, *_middle(time_s, place))]
    bounds = [first + each for each in _turning_points(command[first : last + 1], noise)]
    heights = [start, *(float(command[each]) for each in bounds[1:-1]), stop]
    return [
        _ramp(time_s, (left, right), (low, high), noise)
        for (left, right), (low, high) in zip(pairwise(bounds), pairwise(heights), strict=True)
    ]


def _quick_part(
    command: FloatArray, noise: Noise, place: tuple[int, int], ends: tuple[float, float]
) -> tuple[int, int]:
    """First and last sample of a change, without what lies beside either of its ends already, as under hum."""
    first, last = place
    start, stop = ends
    near = noise.reach + _BESIDE_SHARE * abs(stop - start)
    part = command[first : last + 1]
    left = np.flatnonzero(np.abs(part - start) > near)
    right = np.flatnonzero(np.abs(part - stop) > near)
    if left.size == 0 or right.size == 0 or left[0] == 0 or right[-1] == part.size - 1 or left[0] > right[-1] + 1:
        return place
    return first + int(left[0]) - 1, first + int(right[-1]) + 1


def _is_jogged(time_s: FloatArray, command: FloatArray, noise: Noise) -> bool:
    """Whether a slow change is one of jumps between which the command stands still."""
    differences = np.diff(command)
    least = max(_SIGMAS * noise.deviation * 2.0**0.5, LEAST_CHANGE_PCT, JUST_OVER * noise.flicker)
    jumps = np.abs(differences) > least
    still_s = float(np.diff(time_s)[~jumps].sum())
    way = float(np.abs(differences[jumps]).sum())
    return (
        len(extents(jumps)) > 1
        and still_s >= _STILL_SHARE * float(time_s[-1] - time_s[0])
        and way >= _JOGS_SHARE * float(np.ptp(command))
    )


def _times(time_s: FloatArray, place: tuple[int, int]) -> tuple[float, float]:
    return float(time_s[place[0]]), float(time_s[place[1]])


def _middle(time_s: FloatArray, place: tuple[int, int]) -> tuple[float, float]:
    """Half-way time of a slow change, and what it lies within."""
    from_s, to_s = _times(time_s, place)
    return 0.5 * (from_s + to_s), 0.5 * (to_s - from_s)


def _step(time_s: FloatArray, command: FloatArray, start: float, stop: float, noise: Noise) -> Change:
    share = (command - start) / (stop - start) if stop != start else np.linspace(0.0, 1.0, command.size)
    past = np.flatnonzero(share[1:] >= 0.5)
    high = int(past[0]) + 1 if past.size else command.size - 1
    rise = float(share[high] - share[high - 1])
    interval = float(time_s[high] - time_s[high - 1])
    jump = command.size == 2
    part = 0.5 if jump or rise <= 0.0 else min(max((0.5 - float(share[high - 1])) / rise, 0.0), 1.0)
    half_width = 0.5 * (interval if command.size <= _SHORT_STEP else float(time_s[-1] - time_s[0]))
    low, high_pct = sorted((start, stop))
    beyond = max(low - float(command.min()), float(command.max()) - high_pct)
    allowed = _BEYOND_SHARE * abs(stop - start) + max(noise.band, LEAST_CHANGE_PCT)
    kind: ChangeKind = "step" if beyond <= allowed else "excursion"
    half_way = float(time_s[high - 1]) + part * interval
    return Change(kind, float(time_s[0]), float(time_s[-1]), start, stop, half_way, half_width)


def _ramp(time_s: FloatArray, place: tuple[int, int], heights: tuple[float, float], noise: Noise) -> Change:
    from_s, to_s = _times(time_s, place)
    rise = heights[1] - heights[0]
    long_enough = to_s - from_s > LONGEST_STEP_S and abs(rise) >= max(LEAST_RAMP_PCT, _CLEAR * noise.deviation)
    kind: ChangeKind = "unclear" if not long_enough else "ramp_up" if rise > 0 else "ramp_down"
    return Change(kind, from_s, to_s, *heights, *_middle(time_s, place))


def _turning_points(command: FloatArray, noise: Noise) -> list[int]:
    """First, last and every turn of a command on its way."""
    blocks = min(_TURN_BLOCKS, command.size)
    edges = np.linspace(0, command.size, blocks + 1).astype(int)
    means = np.add.reduceat(command, edges[:-1]) / np.diff(edges)
    per_block = command.size / blocks
    least = max(_LEAST_TURN_PCT, _TURN_SHARE * float(np.ptp(means)), _SIGMAS * noise.deviation / per_block**0.5)
    turns = [int(0.5 * (edges[each] + edges[each + 1])) for each in zigzag(means, least)]
    return [0, *(each for each in turns if 0 < each < command.size - 1), command.size - 1]


def _mean(command: FloatArray, first: int, last: int, noise: Noise) -> float:
    """Height of a level, without the blinks in it."""
    values = command[first : last + 1]
    away = np.abs(values - np.median(values)) > noise.band + SAME_COMMAND_PCT
    return float(values[~away].mean()) if away.any() and not away.all() else float(values.mean())
