"""Ramps of the command, up and back: the dead band as the width of the loop that the travel goes round."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.noise import OF_UNIFORM, Noise
from kit.calculations.recordings.trials import Trial

_UNKNOWN_S: Final = 1.0  # House definition: what a delay is known to within, where no step response tells of it
_FITTED: Final = (0.1, 0.9)  # House definition: of the travel that both ramps cover, what the lines are fitted to
_ON_THE_WAY: Final = (0.05, 0.95)  # House definition: of a ramp's change, where its line is fitted
_FEWEST: Final = 4  # House definition: fewer samples make no line
_END_PARTS: Final = 50  # House definition: the part of a ramp's samples that its ends are means of
_LEAST_BANDS: Final = 15.0  # House definition: travel that both ramps cover, in deviations of its ends; less is no line
_REST_S: Final = 10.0  # House definition: of a hold, where the travel came to rest
_FLAT_S: Final = 0.1  # House definition: of a ramp's rate, what the halves of a hold may differ by
_WIDE: Final = 2.0  # House definition: standard deviations that stand for a half width
_ROUGH: Final = 1.05  # House definition: of the noise, what residuals scatter by without jumps
_TINY: Final = 1e-30  # House definition: a lesser variance is rounding
_FEWEST_ROUGH: Final = 4.0  # House definition: jumps that the travel of a line must hold, to be one
_UNEVEN: Final = 0.95  # House definition: the quantile of a command's distance from its line that is its step
_SLOPES: Final = 0.3  # House definition: of their mean, by which the slopes up and down may differ


@dataclass(frozen=True, slots=True)
class Delays:
    """How much later than its command the travel moves, from the step responses [s]; None: not known."""

    dead_time_s: float | None = None
    t63_s: float | None = None

    @property
    def of_ramp_s(self) -> tuple[float, float]:
        """How late the travel is on a ramp, and what that is known to within.

        Notes
        -----
        House definition: between the dead time and T63, which holds the lag of a valve of first order, and more than
        that where the motor's speed limits the step; up to 2 s where neither is known.
        """
        least = self.dead_time_s or 0.0
        most = max(self.t63_s, least) if self.t63_s is not None else least + 2.0 * _UNKNOWN_S
        return 0.5 * (least + most), 0.5 * (most - least)

    @property
    def of_jump_s(self) -> tuple[float, float]:
        """How late a jump is, and what that is known to within.

        Notes
        -----
        House definition: between the dead time and T63, but no more than a second after the dead time: T63 holds the
        travel of the step, too, which is none of a small jump's.
        """
        late, slack = self.of_ramp_s
        least = late - slack
        most = min(late + slack, least + _UNKNOWN_S) if self.dead_time_s is not None else late + slack
        return 0.5 * (least + most), 0.5 * (most - least)


@dataclass(frozen=True, slots=True)
class CommandLine:
    """A ramp of the command as the straight line through its samples."""

    from_s: float
    to_s: float
    centre_s: float
    height_pct: float
    rate_pct_s: float
    uneven_pct: float  # what its samples lie off the line by, beyond noise
    deviation_pct: float  # of its height

    def at(self, time_s: float) -> float:
        """Command at a time on the line, beyond the ramp's ends too [% of command range]."""
        return self.height_pct + self.rate_pct_s * (time_s - self.centre_s)


def command_line(recording: Recording, ramp: Segment, noise: Noise) -> CommandLine | None:
    """The straight line through a ramp of the command; None: fewer than four samples, or it does not rise.

    Parameters
    ----------
    recording, ramp
        The ramp lies in the recording.
    noise : Noise
        Of the command.

    Notes
    -----
    **House definition**: least squares between 5 and 95 % of its way, from where it leaves the first command to where
    it reaches the last; how uneven it is, as a staircase or a ramp by hand, is the 95 % quantile of the distances from
    it, less the noise.
    """
    place = recording.place(ramp.from_s, ramp.to_s)
    known = np.isfinite(recording.command_pct[place])
    times, command = recording.time_s[place][known], recording.command_pct[place][known]
    if times.size < _FEWEST:
        return None
    start, end = _ends(command)
    edges = start + _ON_THE_WAY[0] * (end - start), start + _ON_THE_WAY[1] * (end - start)
    first, last = _between(command, (min(edges), max(edges)))
    times, command = times[first : last + 1], command[first : last + 1]
    if times.size < _FEWEST:
        return None
    centre, height = float(times.mean()), float(command.mean())
    rate = float(((times - centre) * (command - height)).sum() / ((times - centre) ** 2).sum())
    if rate * (end - start) <= 0.0:
        return None
    off = np.abs(command - height - rate * (times - centre))
    uneven = max(float(np.quantile(off, _UNEVEN)) - max(2.0 * noise.deviation, 0.5 * noise.quantum), 0.0)
    from_s, to_s = (centre + (each - height) / rate for each in (start, end))
    return CommandLine(from_s, to_s, centre, height, rate, uneven, noise.of_mean(int(times.size)))


@dataclass(frozen=True, slots=True)
class Branch:
    """The travel on its way along one ramp, as a line over the command of the same time."""

    command_pct: float  # centre
    travel_pct: float
    slope: float  # [% of travel per % of command]
    deviation_pct: float  # of the travel at the centre
    rough_pct: float  # scatter about the line beyond noise [% of travel]

    def meets(self, travel_pct: float) -> float:
        """Command at which it passes a travel."""
        return self.command_pct + (travel_pct - self.travel_pct) / self.slope


def loop_trial(
    recording: Recording,
    lines: tuple[CommandLine, CommandLine],
    delays: Delays,
    noise: Noise,
    holds: tuple[Segment | None, Segment | None] = (None, None),
) -> Trial | None:
    """Dead band of a valve from a ramp and the one back: the width, in command, of the loop.

    Parameters
    ----------
    recording : Recording
    lines : pair of CommandLine
        A ramp and the next, the other way.
    delays : Delays
        From the step responses.
    noise : Noise
        Of the travel.
    holds : pair of Segment or None
        What follows on each ramp with the command at rest, which shows how late the travel was.

    Returns
    -------
    Trial or None
        None where both ramps do not cover the same travel by more than noise hides, or one is no straight line.

    Notes
    -----
    **House definition**: straight lines through the travel over the command on either ramp, between 10 and 90 % of
    the travel that both cover; their distance at the middle, less what the travel lags by on both ramps. What is left
    open: the delay, one interval, and how uneven the commands are. Jumps too small to be told apart show as scatter
    about the lines beyond noise.
    """
    sides = [_side(recording, each) for each in lines]
    if any(times.size < _FEWEST for times, _ in sides):
        return None
    ends = [_ends(travel) for _, travel in sides]
    low = max(min(pair) for pair in ends)
    high = min(max(pair) for pair in ends)
    fewest = min(times.size for times, _ in sides)
    if high - low <= _LEAST_BANDS * noise.of_mean(2 * (fewest // _END_PARTS) + 1):
        return None
    edges = (low + _FITTED[0] * (high - low), low + _FITTED[1] * (high - low))
    branches = [_branch(side, line, edges, noise) for side, line in zip(sides, lines, strict=True)]
    there, back = branches
    if there is None or back is None or not _alike(there.slope, back.slope):
        return None
    heading = float(np.sign(lines[0].rate_pct_s))
    middle = 0.5 * (low + high)
    late, slack = _lateness(recording, lines, (there, back), holds, noise) or delays.of_ramp_s
    rates = abs(lines[0].rate_pct_s) + abs(lines[1].rate_pct_s)
    last, first = there.meets(middle), back.meets(middle)
    width = heading * (last - first) - rates * late
    loose = rates * (slack + 0.5 * recording.interval_s) + lines[0].uneven_pct + lines[1].uneven_pct
    deviation = sqrt(
        sum((each.deviation_pct / each.slope) ** 2 for each in (there, back))
        + sum(each.deviation_pct**2 for each in lines)
    )
    rough = sqrt(OF_UNIFORM) * max(there.rough_pct, back.rough_pct)
    if high - low < _FEWEST_ROUGH * rough:
        return None
    jump = rough / min(abs(there.slope), abs(back.slope))
    if width < -loose:
        return None
    at_s = lines[1].from_s + (first - lines[1].at(lines[1].from_s)) / lines[1].rate_pct_s
    command = first - 0.5 * heading * (rates * late)
    return Trial(
        "dead_band",
        "ramp",
        max(width - loose, 0.0),
        width + loose,
        min(max(at_s, lines[1].from_s), lines[1].to_s),
        command,
        deviation,
        command + heading * width,
        jump_pct=jump,
        gain=0.5 * abs(there.slope + back.slope),
    )


def _lateness(
    recording: Recording,
    lines: tuple[CommandLine, CommandLine],
    branches: tuple[Branch, Branch],
    holds: tuple[Segment | None, Segment | None],
    noise: Noise,
) -> tuple[float, float] | None:
    """How late the travel was on ramps that end in a hold, and what that is known to within [s]; None: on neither.

    Notes
    -----
    House definition: the command at which the line through the travel meets where it came to rest lies as far
    beyond the ramp's end as the travel is late.
    """
    found = []
    for line, branch, hold in zip(lines, branches, holds, strict=True):
        if hold is None:
            continue
        middle_s, reach_s = 0.5 * (hold.from_s + hold.to_s), min(0.25 * hold.duration_s, 0.5 * _REST_S)
        place = recording.place(middle_s - reach_s, middle_s + reach_s)
        travel, command = recording.travel_pct[place], recording.command_pct[place]
        rest, held = travel[np.isfinite(travel)], command[np.isfinite(command)]
        if min(rest.size, held.size) < _FEWEST or not _is_flat(held, line):
            continue
        beyond = branch.meets(float(rest.mean())) - float(held.mean())
        open_pct = sqrt(branch.deviation_pct**2 + noise.of_mean(int(rest.size)) ** 2) / abs(branch.slope)
        slack = _WIDE * open_pct / abs(line.rate_pct_s) + 0.5 * recording.interval_s
        found.append((beyond / line.rate_pct_s, slack))
    if not found:
        return None
    late, slack = min(found, key=lambda pair: pair[1])
    return (late, slack) if late > -slack else None


def _is_flat(held: FloatArray, line: CommandLine) -> bool:
    """Whether the command of a hold stands, beside the ramp before it and its own noise."""
    half = held.size // 2
    off = abs(float(held[half:].mean() - held[:half].mean()))
    return off <= _FLAT_S * abs(line.rate_pct_s) + 2.0 * float(held.std()) / sqrt(half)


def _side(recording: Recording, line: CommandLine) -> tuple[FloatArray, FloatArray]:
    place = recording.place(line.from_s, line.to_s)
    known = np.isfinite(recording.travel_pct[place])
    return recording.time_s[place][known], recording.travel_pct[place][known]


def _ends(travel: FloatArray) -> tuple[float, float]:
    part = max(1, travel.size // _END_PARTS)
    return float(travel[:part].mean()), float(travel[-part:].mean())


def _alike(one: float, other: float) -> bool:
    return one * other > 0.0 and abs(one - other) <= _SLOPES * 0.5 * abs(one + other)


def _branch(
    side: tuple[FloatArray, FloatArray], line: CommandLine, edges: tuple[float, float], noise: Noise
) -> Branch | None:
    """The line through what lies between two travels, from where it is first to where it is last within them."""
    times, travel = side
    first, last = _between(travel, edges)
    if last - first + 1 < _FEWEST:
        return None
    kept = travel[first : last + 1]
    command = line.height_pct + line.rate_pct_s * (times[first : last + 1] - line.centre_s)
    centre, height = float(command.mean()), float(kept.mean())
    spread = float(((command - centre) ** 2).sum())
    slope = float(((command - centre) * (kept - height)).sum()) / spread
    if slope == 0.0:
        return None
    off = kept - height - slope * (command - centre)
    scatter = float(np.sqrt((off**2).sum() / max(kept.size - 2, 1)))
    carried = max(float((off[1:] * off[:-1]).mean()), 0.0)  # of a sample into the next: no white noise does that
    alike = min(carried / max(scatter**2, _TINY), 0.99)
    own = max(kept.size * (1.0 - alike) / (1.0 + alike), 1.0)
    deviation = max(scatter / sqrt(own), noise.of_mean(int(kept.size)))
    by_chance = noise.deviation**2 / sqrt(kept.size)
    rough = sqrt(max(scatter**2 - (_ROUGH * noise.deviation) ** 2, carried - by_chance, 0.0))
    return Branch(centre, height, slope, deviation, rough)


def _between(travel: FloatArray, edges: tuple[float, float]) -> tuple[int, int]:
    """First and last place of the way from one of two travels to the other, as means of neighbours show it."""
    width = max(travel.size // _END_PARTS, 1)
    total = np.concatenate(([0.0], np.cumsum(travel - travel[0])))
    place = np.arange(travel.size)
    low, high = np.maximum(place - width, 0), np.minimum(place + width + 1, travel.size)
    smooth = (total[high] - total[low]) / (high - low) + travel[0]
    if smooth[-1] < smooth[0]:
        smooth, edges = -smooth, (-edges[1], -edges[0])
    beyond = np.flatnonzero(smooth >= edges[1])
    last = int(beyond[0]) - 1 if beyond.size else travel.size - 1
    below = np.flatnonzero(smooth[: last + 1] <= edges[0])
    return (int(below[-1]) + 1 if below.size else 0), last
