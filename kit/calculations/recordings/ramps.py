"""Ramps of the command that the travel follows evenly: dead band from the plateau at the turn."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.noise import noise_of
from kit.calculations.recordings.trials import Trial

_UNKNOWN_S: Final = 1.0  # House definition: what a delay is known to within, where no step response tells of it
_AROUND_S: Final = 0.5  # House definition: to either side, for the command or the plateau at a time
_FITTED: Final = (0.15, 0.85)  # House definition: of the travel beside the plateau, what the lines are fitted to
_FEWEST: Final = 4  # House definition: fewer samples make no line
_LOWEST: Final = 0.02  # House definition: the quantile of the travel that stands for its end
_END_PARTS: Final = 50  # House definition: the part of a ramp's samples that its ends are means of


@dataclass(frozen=True, slots=True)
class Delays:
    """How much later than its command the travel moves, from the step responses [s]; None: not known."""

    dead_time_s: float | None = None
    t63_s: float | None = None

    @property
    def jump_slack_s(self) -> float:
        """What the delay of a jump is known to within.

        Notes
        -----
        House definition: half of the dead time, or a second where it is not known.
        """
        return _UNKNOWN_S if self.dead_time_s is None else 0.5 * self.dead_time_s


def plateau_trials(recording: Recording, there: Segment, back: Segment, delays: Delays) -> list[Trial]:
    """Dead band of a valve that follows a ramp evenly: the width, in command, of the plateau at the turn.

    Parameters
    ----------
    recording : Recording
    there, back : Segment
        A ramp and the next, the other way.
    delays : Delays
        On a ramp the travel lags by the whole delay of a step response, of which T63 is the measure for a
        first-order lag (T63 = dead time + lag).

    Notes
    -----
    **House definition**: straight lines through the travel between 15 and 85 % of its way on either side meet the
    plateau where the travel stops and where it starts back; half of the difference between dead time and T63 is
    the slack of the delay.
    """
    start, end = there.from_s, back.to_s
    place = recording.place(start, end)
    usable = np.isfinite(recording.travel_pct[place])
    times, travel = recording.time_s[place][usable], recording.travel_pct[place][usable]
    rise, rate = travel_rise(recording, there), rate_of(recording, back)
    if rise is None or rate is None:
        return []
    heading, rate = np.sign(rise), abs(rate)
    turn_s = 0.5 * (there.to_s + back.from_s)
    along = heading * travel
    up, down = times <= turn_s, times > turn_s
    if min(np.count_nonzero(up), np.count_nonzero(down)) < _FEWEST:
        return []
    level = float(np.median(along[np.abs(times - turn_s) <= max(_AROUND_S, 2.0 * recording.interval_s)]))
    edges = [_meets(times[side], along[side], level) for side in (up, down)]
    if edges[0] is None or edges[1] is None:
        return []
    delay = delays.t63_s if delays.t63_s is not None else delays.dead_time_s or 0.0
    slack = _UNKNOWN_S if delays.t63_s is None else 0.5 * max(delays.t63_s - (delays.dead_time_s or 0.0), 0.0)
    commands = [command_at(recording, edge - delay) for edge in edges if edge is not None]
    width = abs(commands[1] - commands[0])
    loose = rate * (slack + recording.interval_s)
    deviation = 2.0 * noise_of(travel, recording.interval_s).deviation / sqrt(max(int(np.count_nonzero(down)), 1))
    low, at_s = max(width - loose, 0.0), float(edges[1])
    return [Trial("dead_band", "ramp", low, width + loose, at_s, commands[1], float(deviation), commands[0])]


def _meets(times: FloatArray, along: FloatArray, level: float) -> float | None:
    """When the line through the sloping part of one side of a plateau meets it."""
    least = float(np.quantile(along, _LOWEST))
    low, high = (least + share * (level - least) for share in _FITTED)
    sloping = (along > low) & (along < high)
    if level <= least or np.count_nonzero(sloping) < _FEWEST:
        return None
    base, slope = np.polynomial.polynomial.polyfit(times[sloping], along[sloping], 1)
    return float((level - base) / slope) if slope != 0.0 else None


def travel_rise(recording: Recording, ramp: Segment) -> float | None:
    """Change of the travel over a ramp, signed [% of travel]; None where it is not known.

    Notes
    -----
    **House definition**: the mean of the last fiftieth of its samples less that of the first.
    """
    place = recording.place(ramp.from_s, ramp.to_s)
    known = recording.travel_pct[place][np.isfinite(recording.travel_pct[place])]
    if known.size < 2:
        return None
    part = max(1, known.size // _END_PARTS)
    return float(known[-part:].mean() - known[:part].mean())


def command_at(recording: Recording, time_s: float) -> float:
    """Command at a time [% of command range]; nan where none was recorded within half a second.

    Notes
    -----
    **House definition**: from the least-squares line through what was recorded within half a second.
    """
    reach = max(_AROUND_S, 2.0 * recording.interval_s)
    place = recording.place(time_s - reach, time_s + reach)
    known = np.isfinite(recording.command_pct[place])
    times, command = recording.time_s[place][known], recording.command_pct[place][known]
    if times.size == 0:
        return float("nan")
    if times.size < _FEWEST:
        return float(np.interp(time_s, times, command))
    centred = times - times.mean()
    slope = float((centred * command).sum() / (centred * centred).sum())
    return float(command.mean()) + slope * (time_s - float(times.mean()))


def rate_of(recording: Recording, ramp: Segment) -> float | None:
    """Mean rate of a ramp of the command [% of command range per s]; None where it is not known.

    Notes
    -----
    **House definition**: from its first to its last recorded sample.
    """
    place = recording.place(ramp.from_s, ramp.to_s)
    known = np.isfinite(recording.command_pct[place])
    command, times = recording.command_pct[place][known], recording.time_s[place][known]
    if times.size < 2:
        return None
    return float((command[-1] - command[0]) / (times[-1] - times[0]))
