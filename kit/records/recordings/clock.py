"""The clock of a logger: several samples under one stamp, and times written more coarsely than they were taken."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import extents
from kit.basis.records import Problem
from kit.records.recordings.channels import RecordingColumns, extent_problem, open_problem

_REPEATED: Final = 0.2  # House definition: of the samples, under the stamp of the one before: stamps are coarse
_FEWEST_STAMPS: Final = 3  # House definition: whole stamps, to know how many samples there are under each
_UNEVEN: Final = 1  # House definition: samples more or less under a stamp than under others
_LONGEST_S: Final = 60.0  # House definition: most tests take no longer
_MOST_ODD: Final = 0.02  # House definition: of the stamps, under which samples were lost
_ALIKE: Final = 1e-3  # House definition: of a stamp's step, within which steps are alike
_SAME_S: Final = 1e-6  # House definition: times that are alike differ by rounding
_COARSE: Final = 0.2  # House definition: of the interval, from which on the last digit of times counts
_VARIED: Final = 0.1  # House definition: of the intervals, that differ from the usual one where times are rounded
_DIGITS: Final = (1.0, 0.1, 0.01, 0.001)  # s


def settle_times(file: str, columns: RecordingColumns) -> float:
    """Spread samples that share a stamp, and say how far a time may be off beside the others [s, half width].

    Notes
    -----
    House definition: where samples share stamps, and every whole stamp has as many as the others or one more, they are
    spread evenly over it: from the stamp on, those of the first stamp up to its end. Counts that differ by one leave an
    interval open; even counts one over the whole recording, and so of 60 s their share of it. Up to 2 % of the
    stamps may have lost samples: those that are left under them are set aside, as a gap is. Where more are uneven, all
    stay as they are, and times that repeat are set aside. A sample written twice is no such sample. Times whose last
    digit is 20 % of the interval or more are known to half of that digit where their intervals show it.
    """
    for place in columns.midnights:
        text = "The time of day passes midnight before this row: taken as the next day."
        columns.problems.append(Problem(file, int(columns.rows[place]), "time_s", "", text))
    kept = np.flatnonzero(np.isfinite(columns.time_s) & ~columns.bad)
    time = columns.time_s[kept]
    repeated = np.diff(time) == 0.0
    if time.size < 2:
        return 0.0
    if np.count_nonzero(repeated) < _REPEATED * time.size:
        return _rounding(time)
    if not _any_differ(columns, kept, repeated):
        return 0.0
    stamps = _Stamps(time)
    counts = stamps.whole
    if counts.size < _FEWEST_STAMPS:
        return 0.0
    usual = counts[~stamps.is_odd[stamps.is_whole]]
    if usual.size < (1.0 - _MOST_ODD) * counts.size or usual.max() - usual.min() > _UNEVEN:
        columns.problems.append(open_problem(file, _told_uneven(stamps), "time_s"))
        return 0.0
    settled = columns.time_s.copy()  # it may be shared, and not be writable
    settled[kept] = stamps.spread()
    columns.time_s = settled
    _set_odd_aside(file, columns, kept[np.repeat(stamps.is_odd, stamps.counts)], stamps)
    columns.problems.append(Problem(file, int(columns.rows[kept[0]]), "time_s", "", _told(stamps, usual)))
    interval = stamps.step_s / float(np.median(usual))
    length = float(time[-1] - time[0])
    return interval if usual.max() > usual.min() else interval * min(1.0, _LONGEST_S / length)


class _Stamps:
    """Samples by the stamp that they share."""

    def __init__(self, time: NDArray[np.float64]) -> None:
        self.first = np.concatenate(([0], np.flatnonzero(np.diff(time) != 0.0) + 1))
        self.counts = np.diff(np.concatenate((self.first, [time.size])))
        self.stamps = time[self.first]
        steps = np.diff(self.stamps)
        self.step_s = float(steps[steps > 0].min()) if (steps > 0).any() else 0.0
        linked = np.abs(steps - self.step_s) < _ALIKE * self.step_s
        self.has_next = np.append(linked, False)
        self.has_before = np.insert(linked, 0, False)

    @property
    def whole(self) -> NDArray[np.int64]:
        """How many samples stand under each stamp with a neighbour on either side, shape (stamps,)."""
        return np.asarray(self.counts[self.is_whole], dtype=np.int64)

    @property
    def is_whole(self) -> NDArray[np.bool_]:
        return self.has_next & self.has_before

    @property
    def is_odd(self) -> NDArray[np.bool_]:
        """Whole stamps with another number of samples than the others by more than one, shape (stamps,)."""
        usual = float(np.median(self.whole)) if self.whole.size else 0.0
        return self.is_whole & (np.abs(self.counts - usual) > _UNEVEN)

    def spread(self) -> NDArray[np.float64]:
        """A time for every sample."""
        typical = int(np.median(self.whole))
        apart = self.step_s / np.where(self.is_whole, self.counts, typical)
        begins = self.has_next & ~self.has_before
        start = self.stamps + np.where(begins, self.step_s - self.counts * apart, 0.0)
        place = np.arange(int(self.counts.sum())) - np.repeat(self.first, self.counts)
        found: NDArray[np.float64] = np.repeat(start, self.counts) + place * np.repeat(apart, self.counts)
        return found


def _set_odd_aside(file: str, columns: RecordingColumns, odd: NDArray[np.intp], stamps: _Stamps) -> None:
    places = np.zeros(len(columns), dtype=bool)
    places[odd] = True
    for place in extents(places):
        text = (
            f"{place[1] - place[0] + 1} samples within {stamps.step_s:g} s, some were lost: not used, as a gap is not."
        )
        columns.problems.append(
            extent_problem(file, columns.rows, place, "time_s", "", text, set_aside=True, is_open=False)
        )
    columns.bad |= places


def _told(stamps: _Stamps, counts: NDArray[np.int64]) -> str:
    even = counts.max() == counts.min()
    count = f"{counts.min()}" if even else f"{counts.min()} or {counts.max()}"
    sure = "" if even else " Each time may be off by one interval."
    return (
        f"{count} samples share each time of {stamps.step_s:g} s: spread evenly over it. The hour is known to "
        f"{stamps.step_s:g} s.{sure}"
    )


def _told_uneven(stamps: _Stamps) -> str:
    counts = stamps.whole
    return (
        f"{counts.min()} to {counts.max()} samples share each time of {stamps.step_s:g} s: when each was taken cannot "
        "be told, and all but the first of each time are set aside. Record again with fractions of a second."
    )


def _any_differ(columns: RecordingColumns, kept: NDArray[np.intp], repeated: NDArray[np.bool_]) -> bool:
    """Whether some sample under the stamp of the one before differs from it in some column."""
    later, before = kept[1:][repeated], kept[:-1][repeated]
    for values in columns.numbers.values():
        differ = values[later] != values[before]
        if (differ & ~(np.isnan(values[later]) & np.isnan(values[before]))).any():
            return True
    return False


def _rounding(time: NDArray[np.float64]) -> float:
    """Half of the last digit of times, where their intervals show that it is coarse; else 0 [s]."""
    steps = np.diff(time)
    usual = float(np.median(steps))
    if usual <= 0.0:
        return 0.0
    since = time - time[0]
    digit = next((each for each in _DIGITS if np.abs(since - np.round(since / each) * each).max() < _SAME_S), 0.0)
    varied = np.count_nonzero(np.abs(steps - usual) > digit / 2.0)
    return digit / 2.0 if digit >= _COARSE * usual and varied > _VARIED * steps.size else 0.0
