"""What looks wrong in a recording although every cell is in order: channels that stand still or at their end."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import Recording, extents
from kit.basis.records import Problem, Status

_FROZEN_SAMPLES: Final = 20  # house definition: identical values in a channel that flickers otherwise
_FROZEN_S: Final = 5.0
_MOVED_PCT: Final = 5.0  # what the other channel did meanwhile
_SATURATED_SAMPLES: Final = 5
_HIDES_S: Final = 10.0
_BESIDE: Final = 5  # house definition: samples to either side of a gap, whose medians are held against each other
_COMMAND_PCT: Final = 1.0  # house definition: a command that differs by less is the same
_TRAVEL_PCT: Final = 2.0  # house definition: likewise; a valve that hunts does not stand still
_MOST_BLANK: Final = 19  # told one by one
_LOST_COMMAND: Final = "The command is blank here: read as a loss of signal, which passes nothing."
_NO_TRAVEL: Final = "It is blank here: nothing is read into it."


def suspicions(file: str, recording: Recording, rows: NDArray[np.int64]) -> list[Problem]:
    """Channels that stand still while they should move, and channels at an extreme for five samples or more.

    Notes
    -----
    House definition: a channel is frozen where it repeats one value for 20 samples and 5 s while the command, or for
    a feedback the position, moves by 5 %; it is saturated where it stays at its greatest or least value for
    five samples while the position moves by 5 %.
    """
    found: list[Problem] = []
    mover = recording.command_pct if recording.position_pct is None else recording.position_pct
    channels = {
        "position": (recording.position_pct, recording.command_pct),
        "feedback": (recording.feedback_pct, mover),
    }
    for name, (channel, other) in channels.items():
        if channel is None or channel.size < _SATURATED_SAMPLES:
            continue
        runs = _same(channel)
        extremes = {float(np.nanmin(channel)), float(np.nanmax(channel))} if np.isfinite(channel).any() else set()
        for first, last in runs:
            moved = _moved(other[first : last + 1])
            lasted = float(recording.time_s[last] - recording.time_s[first])
            place = f"from {recording.time_s[first]:.4g} s to {recording.time_s[last]:.4g} s"
            value = f"{channel[first]:.4g} %"
            if moved < _MOVED_PCT:
                continue
            if float(channel[first]) in extremes:
                text = f"The {name} stays at its extreme {place} while it should move by {moved:.3g} %: saturated?"
            elif last - first + 1 >= _FROZEN_SAMPLES and lasted >= _FROZEN_S:
                text = f"The {name} stands still {place} while it should move by {moved:.3g} %: frozen?"
            else:
                continue
            found.append(Problem(file, int(rows[first]), name, value, text))
    blank = {"command": _LOST_COMMAND, "feedback" if recording.position_pct is None else "position": _NO_TRAVEL}
    values = {"command": recording.command_pct}
    if recording.signal_lost is None and not recording.has_command:  # no column of it
        del blank["command"]
    return found + [
        each
        for name, text in blank.items()
        for each in _blank(file, name, values.get(name, recording.travel_pct), text, recording, rows)
    ]


def gap_hides(recording: Recording, start_s: float, end_s: float) -> bool:
    """Whether a gap may hide a test that was asked for.

    Notes
    -----
    House definition: it lasts more than 10 s, and the command differs by 1 % or the travel by 2 % from one side to the
    other. Where both are as they were, a logger that stood still between two tests looks just so.
    """
    if end_s - start_s <= _HIDES_S:
        return False
    last = int(np.searchsorted(recording.time_s, start_s))
    before, after = slice(max(last - _BESIDE + 1, 0), last + 1), slice(last + 1, last + 1 + _BESIDE)
    channels = [(recording.travel_pct, _TRAVEL_PCT)]
    if recording.has_command:
        channels.append((recording.command_pct, _COMMAND_PCT))
    return any(not _are_alike(channel[before], channel[after], least) for channel, least in channels)


def _are_alike(before: NDArray[np.float64], after: NDArray[np.float64], least_pct: float) -> bool:
    sides = [each[np.isfinite(each)] for each in (before, after)]
    if not all(each.size for each in sides):
        return False
    return abs(float(np.median(sides[0]) - np.median(sides[1]))) < least_pct


def _same(channel: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Runs of one value of at least five samples."""
    repeats = np.concatenate((channel[1:] == channel[:-1], [False]))
    return [(first, last + 1) for first, last in extents(repeats) if last - first + 2 >= _SATURATED_SAMPLES]


def _moved(channel: NDArray[np.float64]) -> float:
    known = channel[np.isfinite(channel)]
    return float(np.ptp(known)) if known.size else 0.0


def _blank(
    file: str, name: str, channel: NDArray[np.float64], text: str, recording: Recording, rows: NDArray[np.int64]
) -> list[Problem]:
    """Extents of two blank samples and more, the first of them one by one.

    Notes
    -----
    House definition: what lasts longer than 10 s may hide a whole hold, and is open; a shorter one is an ordinary gap.
    """
    found = []
    for first, last in extents(np.isnan(channel)):
        if last - first + 1 >= 2:
            where = f"{recording.time_s[first]:.4g} s to {recording.time_s[last]:.4g} s"
            hides = recording.time_s[last] - recording.time_s[first] > _HIDES_S
            found.append(Problem(file, int(rows[first]), name, where, text, status="open" if hides else "flag"))
    if len(found) > _MOST_BLANK:
        more = f"{text} And {len(found) - _MOST_BLANK} more such places."
        status: Status = "open" if any(each.status == "open" for each in found[_MOST_BLANK:]) else "flag"
        found[_MOST_BLANK:] = [replace(found[_MOST_BLANK], problem=more, status=status)]
    return found
