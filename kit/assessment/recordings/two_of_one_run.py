"""Two files of one run, by whatever clocks and columns: one recording is made of them, so that no test counts twice."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording
from kit.basis.records import RecordingFile
from kit.calculations.recordings.same_run import CHANNELS, SameRun, same_run

Told = tuple[RecordingFile, str]

_OF_SIGNALS: Final = frozenset({"command_pct", "feedback_pct", "supply_v"})
_TOLD_S: Final = 1.0  # House definition: a shorter end that is not read is none
_READ_S: Final = 10.0  # House definition: a longer one may hold a test, and is read as a recording of its own
_FEWEST: Final = 3  # House definition: fewer samples tell nothing
_SAMPLES: Final = ("time_s", "command_pct", "travel_pct", "signal_lost", *CHANNELS)
_AWAY: Final = 3.0  # House definition: intervals; farther from any sample nothing is taken over
_HOLDS_SAME: Final = "another recording holds the same."
_MAY_BE: Final = "it shows what {file} shows from change to change: remove one of the two if they are of one run."
_TAKEN: Final = "its {words} come from {file}, which is of the same run."


def one_of_two(earlier: RecordingFile, source: RecordingFile) -> tuple[Told, Told] | None:
    """Both files with what is told of each, where they are of one run; None: they are not, or cannot be used as one.

    Notes
    -----
    House definition: the one that measured the position, else has the command, else was sampled faster, else has more
    channels, is kept (the first of equals), with the segments that a person set, and takes over what it lacks; the
    other is not read. The time of another recorder is known to its interval, and its command is not taken over. Where
    one recorder may have recorded a programme twice both are used; without a date on both, that is told.
    """
    one, two = earlier.recording, source.recording
    if one is None or two is None:
        return None
    found = same_run(one, two)
    if found is None:
        return None
    if not found.is_sure:
        if earlier.start and source.start:  # by one clock
            return None
        return (earlier, ""), (source, _MAY_BE.format(file=earlier.file))
    if _rank(source) > _rank(earlier):
        made = _made_of(source, earlier, replace(found, later_s=-found.later_s))
        return None if made is None else (made[1], made[0])
    return _made_of(earlier, source, found)


def _rank(source: RecordingFile) -> tuple[bool, bool, bool, float, int]:
    one = source.recording
    assert one is not None  # those without are never compared
    count = sum(getattr(one, name) is not None for name in CHANNELS)
    return source.segments is not None, one.position_pct is not None, one.has_command, -round(one.interval_s, 3), count


def _made_of(kept: RecordingFile, gone: RecordingFile, run: SameRun) -> tuple[Told, Told] | None:
    one, two = kept.recording, gone.recording
    assert one is not None  # those without are never compared
    assert two is not None
    lacks = [name for name in CHANNELS if getattr(one, name) is None and getattr(two, name) is not None]
    if not one.has_command and two.has_command:
        if not run.same_samples:
            return None
        lacks.insert(0, "command_pct")
    taken = _with_channels(one, two, lacks, run)
    begin_s, end_s = float(one.time_s[0]) - run.later_s, float(one.time_s[-1]) - run.later_s
    ends = {"first": begin_s - float(two.time_s[0]), "last": float(two.time_s[-1]) - end_s}
    reaches = any(length > _READ_S for length in ends.values())
    how = "a recording of their own" if reaches else "not read"
    beyond = "".join(f" Its {which} {length:.0f} s are {how}." for which, length in ends.items() if length > _TOLD_S)
    way = "holds samples of" if run.same_samples else "shows from change to change what is in"
    note = f"it {way} {kept.file}, which is of the same run: read there alone.{beyond}"
    words = ", ".join(name.removesuffix("_pct") for name in lacks)
    told = _TAKEN.format(words=words, file=gone.file) if lacks else ""
    rest = outside(gone, begin_s, end_s) if reaches else replace(gone, recording=None, why_not=_HOLDS_SAME)
    return (replace(kept, recording=taken), told), (rest, note)


def outside(source: RecordingFile, begin_s: float, end_s: float) -> RecordingFile:
    """What a file holds before one time and after another, where another file holds what lies between.

    The segments that a person set in what is left stay.
    """
    one = source.recording
    if one is None:
        return source
    before, after = one.time_s < begin_s, one.time_s > end_s
    kept = before | after
    if np.count_nonzero(kept) < _FEWEST:
        return replace(source, recording=None, why_not=_HOLDS_SAME)
    values = {name: getattr(one, name) for name in _SAMPLES}
    given: dict[str, Any] = {name: None if each is None else each[kept] for name, each in values.items()}
    gaps = [(start, end) for start, end in one.gaps if end <= begin_s or start >= end_s]
    gaps += [(float(one.time_s[before][-1]), float(one.time_s[after][0]))] if before.any() and after.any() else []
    segments = source.segments
    if segments is not None:
        segments = tuple(each for each in segments if each.to_s <= begin_s or each.from_s >= end_s)
    return replace(source, recording=replace(one, **given, gaps=tuple(sorted(gaps))), segments=segments)


def _with_channels(one: Recording, two: Recording, names: list[str], run: SameRun) -> Recording:
    """A recording with channels of another one of the same run."""
    if not names:
        return one
    at_s = one.time_s - run.later_s
    after = np.clip(np.searchsorted(two.time_s, at_s), 1, len(two) - 1)
    near = after - (at_s - two.time_s[after - 1] < two.time_s[after] - at_s)
    away = np.abs(two.time_s[near] - at_s) > _AWAY * two.interval_s
    taken: dict[str, Any] = {name: _taken(two, name, at_s, near, away, exact=run.same_samples) for name in names}
    if "position_pct" in taken:
        taken |= {"travel_pct": taken["position_pct"], "travel_is_feedback": False}
    if "command_pct" in taken and two.signal_lost is not None:
        taken["signal_lost"] = two.signal_lost[near] & ~away
    resolution_s = two.time_resolution_s if run.same_samples else max(one.interval_s, two.interval_s)
    return replace(one, **taken, time_resolution_s=max(one.time_resolution_s, resolution_s))


def _taken(
    two: Recording, name: str, at_s: FloatArray, near: NDArray[np.intp], away: NDArray[np.bool_], *, exact: bool
) -> FloatArray:
    values: FloatArray = getattr(two, name)
    known = np.isfinite(values)
    between = not exact and name in _OF_SIGNALS and known.any()
    found = np.interp(at_s, two.time_s[known], values[known]) if between else values[near]
    taken: FloatArray = np.where(away | ~known[near], np.nan, found)
    return taken
